"""Climate files into monthly arrays in SI."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler import units
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.errors import Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.fields import FILES


@dataclass(frozen=True, slots=True, eq=False)
class Climate:
    """Twelve months, January first, of what a climate file gives; NaN for the rest.

    Temperatures, dew point, humidity and wind are means of the month, radiation and
    sunshine a day's mean, rain the month's total, `rain_days` its days of 1 mm or more.
    """

    source: str
    et0_mm_day: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    dew_point_c: np.ndarray
    humidity_percent: np.ndarray
    wind_m_s: np.ndarray
    solar_mj_m2_day: np.ndarray
    sunshine_h: np.ndarray
    rain_mm: np.ndarray
    rain_days: np.ndarray

    def has(self, name: str) -> bool:
        """Whether the file gave this quantity."""
        return bool(np.isfinite(getattr(self, name)).all())


@dataclass(frozen=True, slots=True, eq=False)
class MonthlyRain:
    """Rain of the twelve months, (12,), and days of 1 mm or more, NaN if not known."""

    rain_mm: np.ndarray
    rain_days: np.ndarray


NO_RAIN = MonthlyRain(np.zeros(12), np.full(12, np.nan))
RAIN_WITHOUT_DAYS_MM = 5.0
"""Least rain of a month that some day of 1 mm must have brought (our choice)."""

LEAST_WARM_C, WARM_ET0_MM_DAY = 8.0, 3.0
MOST_TMIN_C, MOST_TMAX_C = 36.0, 50.0
LEAST_ET0_MM, MOST_ET0_MM = 100.0, 5000.0
LEAST_WET_DAY_MM = 0.5
"""What no place that is watered passes: the mean maximum of its warmest month, ET0 a
day that freezing nights do not go with, mean minimum and maximum of its hottest month,
ET0 of a year, rain of a day of rain (common practice, with a margin; a day of rain has
1 mm by definition)."""


def monthly_climate(
    table: csvfiles.RawTable, problems: list[Problem]
) -> Climate | None:
    """Climate of the rows of a monthly CSV, or None with Problems."""
    found: list[Problem] = []
    rows = _monthly_rows(table, "monthly climate", found)
    if rows is None:
        problems += found
        return None
    order = _in_month_order(rows, found)
    _check_whole_columns(rows, found)
    check_temperatures(rows, found, "were the two columns swapped?")
    _check_one_et0(rows, found)
    _check_rain_days(rows, found)
    if table.whole and not found:
        _check_meant(rows, found)
    if table.whole and not found and not _enough_for_et0(rows):
        columns = "et0_in_day or et0_mm_day, et0_month_in or et0_month_mm"
        found.append(no_et0(table.file, columns))
    problems += found
    if found or not table.whole:
        return None
    values = {name: column[order] for name, column in rows.values.items()}
    of_month = values.pop("et0_month_mm")
    if "et0_month" in rows.filled:
        values["et0_mm_day"] = of_month / DAYS_IN_MONTH
    del values["month"]
    return Climate(table.file, **values)


def no_et0(file: str, columns: str) -> Problem:
    """Problem of a file without ET0, in one of the columns, or what it stands on."""
    return Problem(
        file,
        None,
        "",
        "has neither ET0 nor tmin and tmax",
        f"{columns}, or tmin_* and tmax_*",
        "ET0 is computed from temperatures, better with dew point, wind and solar",
    )


def read_monthly_rain(
    path: Path, file: str, problems: list[Problem]
) -> MonthlyRain | None:
    """Rain of the twelve months of a CSV, or None with Problems."""
    found: list[Problem] = []
    table = csvfiles.read_table(path, file, found)
    rows = None if table is None else _monthly_rows(table, "monthly rain", found)
    if rows is None:
        problems += found
        return None
    order = _in_month_order(rows, found)
    if not found and "rain" not in rows.filled:
        found.append(Problem(file, None, "rain_in or rain_mm", "column is missing"))
    _check_whole_columns(rows, found)
    _check_rain_days(rows, found)
    problems += found
    if found:
        return None
    return MonthlyRain(rows.values["rain_mm"][order], rows.values["rain_days"][order])


def _monthly_rows(
    table: csvfiles.RawTable, what: str, problems: list[Problem]
) -> csvfiles.Rows | None:
    if any(folded(header) == "date" for header in table.headers):
        problems.append(
            Problem(table.file, table.header_line, "date", "holds days, not months",
                    "a monthly CSV: a column month, and a row for each of 12 months")
        )  # fmt: skip
        return None
    return csvfiles.read_rows(table, FILES[what], problems)


def _in_month_order(rows: csvfiles.Rows, problems: list[Problem]) -> np.ndarray:
    """Row of each month; zeros with Problems where a month is missing or twice."""
    order = np.zeros(12, dtype=np.intp)
    seen: dict[int, int] = {}
    months = rows.values["month"]
    unsure = bool(np.isnan(months).any()) or not rows.complete
    for row in np.flatnonzero(np.isfinite(months)).tolist():
        month = int(months[row])
        if month in seen:
            first = rows.where(seen[month])
            problems.append(
                rows.problem(
                    row,
                    "month",
                    f"month {month} is there twice (first in {first})",
                )
            )
        seen.setdefault(month, row)
        order[month - 1] = row
    missing = [str(month) for month in range(1, 13) if month not in seen]
    if missing and not unsure:
        problems.append(
            Problem(
                rows.file, None, "month",
                f"has {len(seen)} months; missing: {', '.join(missing)}",
                "a row for each of 12 months",
            )
        )  # fmt: skip
    return order


def _check_whole_columns(rows: csvfiles.Rows, problems: list[Problem]) -> None:
    for field in FILES["monthly climate"]:
        if field.name in rows.filled and field.name != "month":
            blank = np.isnan(rows.values[field.si_name]) & ~rows.faulty
            problems.extend(
                rows.problem(
                    row, field.si_name, "is blank",
                    "a value in all 12 months, or in none",
                )
                for row in np.flatnonzero(blank).tolist()
            )  # fmt: skip


def _check_one_et0(rows: csvfiles.Rows, problems: list[Problem]) -> None:
    """Problems where a day's mean and the month's total stand side by side."""
    both = rows.values["et0_mm_day"] + rows.values["et0_month_mm"]
    for row in np.flatnonzero(np.isfinite(both)).tolist():
        problems.append(
            rows.problem(row, "et0_month_mm",
                         f"{rows.headers['et0_mm_day']} is filled in too",
                         "one of the two: a day's mean or the month's total")
        )  # fmt: skip


def _check_meant(rows: csvfiles.Rows, problems: list[Problem]) -> None:
    """Problems where numbers make sense in no place that is watered: a wrong unit.

    Limits are wider than any such place (common practice).
    """
    tmin, tmax = rows.values["tmin_c"], rows.values["tmax_c"]
    et0 = rows.values["et0_mm_day"]
    if "et0_month" in rows.filled:
        et0 = rows.values["et0_month_mm"] / DAYS_IN_MONTH
    year_mm = float((et0 * DAYS_IN_MONTH).sum())
    if "tmax" in rows.filled and tmax.max() < LEAST_WARM_C:
        row = int(np.argmax(tmax))
        problems.append(_wrong_degrees(rows, row, "tmax", "the warmest month has"))
    elif "tmin" in rows.filled and np.max(et0) >= WARM_ET0_MM_DAY:
        row = int(np.argmax(tmin))
        if tmin[row] < 0:
            told = "the warmest month has a mean minimum of"
            problems.append(_wrong_degrees(rows, row, "tmin", told))
    for name, most in (("tmin", MOST_TMIN_C), ("tmax", MOST_TMAX_C)):
        if name in rows.filled and rows.values[f"{name}_c"].max() > most:
            row = int(np.argmax(rows.values[f"{name}_c"]))
            problems.append(_wrong_degrees(rows, row, name, "no month's mean is"))
    if np.isfinite(year_mm) and not LEAST_ET0_MM <= year_mm <= MOST_ET0_MM:
        header = rows.headers["et0_month_mm" if "et0_month" in rows.filled
                              else "et0_mm_day"]  # fmt: skip
        problems.append(
            Problem(rows.file, None, header,
                    f"comes to {year_mm:.3g} mm "
                    f"({year_mm / units.MM_PER_IN:.3g} in) a year, as in no place that "
                    "is watered",
                    "et0_mm_day or et0_in_day for a day's mean, et0_month_mm or "
                    "et0_month_in for the month's total")
        )  # fmt: skip
    days, rain = rows.values["rain_days"], rows.values["rain_mm"]
    if "rain_days" in rows.filled and rain.sum() < LEAST_WET_DAY_MM * days.sum():
        each = float(rain.sum() / days.sum())
        problems.append(
            Problem(rows.file, None, rows.headers["rain_mm"],
                    f"{days.sum():.0f} days of rain a year would bring {each:.2g} mm "
                    f"({each / units.MM_PER_IN:.2g} in) each",
                    "the month's total; rain_days counts days of 1 mm (0.04 in) or "
                    "more",
                    "a day's mean times the days of the month is its total")
        )  # fmt: skip


def _wrong_degrees(rows: csvfiles.Rows, row: int, name: str, told: str) -> Problem:
    """Temperatures that are hardly in the unit of their column."""
    header = rows.headers[f"{name}_c"]
    written = "°F" if header.casefold().endswith("_f") else "°C"
    other = {"°F": "°C", "°C": "°F"}[written]
    value = float(rows.values[f"{name}_c"][row])
    number = value * units.F_PER_C + units.F_AT_0_C if written == "°F" else value
    return rows.problem(
        row, f"{name}_c", f"{told} {number:.3g} {written}",
        "monthly means of a place where plants are watered",
        f"for {number:.3g} {other} write {name}_{other[1].lower()}",
    )  # fmt: skip


def _check_rain_days(rows: csvfiles.Rows, problems: list[Problem]) -> None:
    """Problems where rain and the days that brought it do not go together."""
    if "rain_days" in rows.filled and "rain" not in rows.filled:
        problems.append(
            Problem(rows.file, None, rows.headers["rain_days"],
                    "days of rain, but no rain is given", "a column rain_in or rain_mm")
        )  # fmt: skip
        return
    months = rows.values["month"]
    length = DAYS_IN_MONTH[np.where(np.isfinite(months), months, 1).astype(int) - 1]
    days, rain_mm = rows.values["rain_days"], rows.values["rain_mm"]
    for row in np.flatnonzero(np.isfinite(days)).tolist():
        wrong, accepted = "", ""
        if np.isfinite(months[row]) and days[row] > length[row]:
            wrong = f"{days[row]:g} days of rain in a month of {length[row]}"
            accepted = f"a number from 0 to {length[row]}"
        elif days[row] >= 0.5 and rain_mm[row] == 0:
            wrong = f"{days[row]:g} days of rain in a month without rain"
            accepted = "0, or the month's rain"
        elif days[row] == 0 and rain_mm[row] >= RAIN_WITHOUT_DAYS_MM:
            wrong = "no day of rain in a month with rain"
            accepted = "the days of 1 mm (0.04 in) or more"
        if wrong:
            problems.append(rows.problem(row, "rain_days", wrong, accepted))


def check_temperatures(
    rows: csvfiles.Rows, problems: list[Problem], swapped: str
) -> None:
    """Problems where tmin or dew point pass tmax; `swapped` is the hint for tmin."""
    tmin, tmax, dew = (rows.values[n] for n in ("tmin_c", "tmax_c", "dew_point_c"))
    for row in np.flatnonzero(tmin > tmax):
        problems.append(
            rows.problem(int(row), "tmin_c", "tmin is above tmax",
                         hint=swapped)
        )  # fmt: skip
    for row in np.flatnonzero(dew > tmax):
        problems.append(
            rows.problem(int(row), "dew_point_c", "dew point is above tmax",
                         "a dew point up to the day's maximum temperature")
        )  # fmt: skip


def _enough_for_et0(rows: csvfiles.Rows) -> bool:
    return (
        not rows.filled.isdisjoint({"et0", "et0_month"})
        or {"tmin", "tmax"} <= rows.filled
    )
