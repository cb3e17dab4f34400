"""The weather that was: days before a date from a daily file, or one week's totals."""

from __future__ import annotations

import dataclasses
import datetime
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler.calendar import WEEK
from scheduler.errors import InputError, Problem
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather, read_daily_climate
from scheduler.inputs.weather.hourly import kind_of_hours
from scheduler.units import MM_PER_IN

MOST_BRIDGED_DAYS = WEEK
"""Days in a row without weather that the month's mean may stand for."""
MOST_PLAYED_DAYS = 366
"""Days before the date that are played: ground does not remember a year."""
MOST_ET0_WEEK_MM, MOST_RAIN_WEEK_MM = 150.0, 1500.0
"""Most that a week may have: 21 mm of ET0 a day, and what storms have brought."""
ET0_OPTION, RAIN_OPTION = "et0-week", "rain-week"


@dataclass(frozen=True, slots=True)
class WeekTotals:
    """ET0 and rain of the seven days before a date; rain None where it is not told."""

    et0_mm: float
    rain_mm: float | None


def read_lately(
    path: Path, date: datetime.date | None
) -> tuple[DailyWeather, datetime.date]:
    """Weather of the days before a date, and the date; raises InputError.

    Without a date it is the day after the last one. Before a gap of more than a week
    the weather is left out.
    """
    problems: list[Problem] = []
    if path.is_file() and kind_of_hours(path):
        _refuse(path.name, "", "holds a typical year, not the weather that was",
                "a daily file of the last weeks")  # fmt: skip
    weather = read_daily_climate(path, path.name, problems)
    if weather is None or problems:
        raise InputError(problems)
    useful = _tells(weather)
    if not useful.any():
        _refuse(path.name, "date", "no day has ET0, nor tmin and tmax to compute it",
                "a day counts that has ET0, or tmin and tmax")  # fmt: skip
    days = weather.date[useful]
    last = days[-1].item()
    if date is None:
        date = last + datetime.timedelta(days=1)
    before = np.datetime64(date, "D")
    if days[0] >= before:
        _refuse(path.name, "--date", f"the weather begins on {days[0]}, not before "
                f"{date}", "weather of the days before the date")  # fmt: skip
    days = days[days < before]
    ends = np.append(days, before)
    missing = np.diff(ends).astype(int) - 1
    if missing[-1] > MOST_BRIDGED_DAYS:
        _refuse(path.name, "--date", f"the weather before {date} ends on {days[-1]}, "
                f"{missing[-1]} days short of it",
                f"weather to the day before the date; {MOST_BRIDGED_DAYS} days may be "
                "missing", "add the last days, or give an earlier --date")  # fmt: skip
    long = np.flatnonzero(missing > MOST_BRIDGED_DAYS)
    first = days[long[-1] + 1] if len(long) else days[0]
    first = max(first, before - np.timedelta64(MOST_PLAYED_DAYS, "D"))
    kept = (weather.date >= first) & (weather.date < before)
    values = {name: getattr(weather, name)[kept] for name in ("date", *QUANTITIES)}
    return dataclasses.replace(weather, **values), date


def week_totals(
    et0_mm: float | None,
    et0_in: float | None,
    rain_mm: float | None,
    rain_in: float | None,
) -> WeekTotals | None:
    """Totals of the options, None where none is given; raises InputError."""
    problems: list[Problem] = []
    et0 = _total(ET0_OPTION, et0_mm, et0_in, MOST_ET0_WEEK_MM, problems)
    rain = _total(RAIN_OPTION, rain_mm, rain_in, MOST_RAIN_WEEK_MM, problems)
    if rain is not None and et0 is None and not problems:
        problems.append(
            Problem("scheduler", None, f"--{ET0_OPTION}-mm", "is missing",
                    f"ET0 of the week, as --{ET0_OPTION}-mm 42 or --{ET0_OPTION}-in "
                    "1.65")
        )  # fmt: skip
    if problems:
        raise InputError(problems)
    return None if et0 is None else WeekTotals(et0, rain)


def _total(
    name: str,
    mm: float | None,
    inches: float | None,
    most_mm: float,
    problems: list[Problem],
) -> float | None:
    """One total in mm; Problems where it is given twice or out of range."""
    if mm is not None and inches is not None:
        problems.append(
            Problem("scheduler", None, f"--{name}-mm", f"--{name}-in is given too",
                    "one of the two")
        )  # fmt: skip
        return None
    unit, given, most = "mm", mm, most_mm
    if inches is not None:
        unit, given, most = "in", inches, most_mm / MM_PER_IN
    if given is None:
        return None
    if not 0 <= given <= most:
        problems.append(
            Problem("scheduler", None, f"--{name}-{unit}",
                    f"{given:g} is no total of a week",
                    f"a number from 0 to {most:.0f}")
        )  # fmt: skip
        return None
    return given * MM_PER_IN if unit == "in" else given


def _tells(weather: DailyWeather) -> np.ndarray:
    """Days from which ET0 can be had."""
    return np.isfinite(weather.et0_mm) | np.isfinite(weather.tmin_c + weather.tmax_c)


def _refuse(
    file: str, field: str, wrong: str, accepted: str = "", hint: str = ""
) -> None:
    raise InputError([Problem(file, None, field, wrong, accepted, hint)])
