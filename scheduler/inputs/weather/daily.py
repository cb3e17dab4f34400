"""Daily weather of any number of years into arrays in SI, and which months it fills."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from scheduler.errors import Problem
from scheduler.inputs.forms import columns, csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import Cell
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.weather.monthly import MonthlyRain, check_temperatures, no_et0

LEAST_SHARE_OF_DAYS = 0.8
"""Share of its days that a month needs to count (rule of this program)."""

QUANTITIES = (
    "et0_mm", "tmin_c", "tmax_c", "dew_point_c", "humidity_percent", "wind_m_s",
    "solar_mj_m2_day", "sunshine_h", "rain_mm",
)  # fmt: skip
"""What a day may hold, in the order that tables show it."""

_MISSING = frozenset({"na", "n/a", "nan", "null", "none", "m", "-9999", "-9999.0",
                      "-999", "-999.0", "-99.9", "-99.99"})  # fmt: skip
_TRACE = frozenset({"t", "trace"})
_SHOWN_PROBLEMS = 3
_TIME_OF_DAY = re.compile(r"\d{4}-\d{2}-\d{2}[T ]+\d{1,2}:\d{2}.*", re.ASCII)
_MARKS_OF_MISSING_MM = (999.0, 999.9)


def _twelve_unknown() -> np.ndarray:
    return np.full(12, np.nan)


@dataclass(frozen=True, slots=True, eq=False)
class DailyWeather:
    """Days of a weather file in order of date; NaN where a value is missing.

    `date` is datetime64[D], with no day twice. `notes` are sentences on what the
    reader took for granted. A typical year is pieced together from months of
    several years and dated 2001. `latitude_deg`, `elevation_m` and `wind_height_m` are
    what the file itself tells, else NaN. `rain_of_months_mm` is twelve totals from
    another file, which go before the rain of days; NaN where there is none, as is
    `rain_days_of_months`, its days of 1 mm or more.
    `no_rain_because` says why rain that the file holds is not taken.
    """

    source: str
    date: np.ndarray
    et0_mm: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    dew_point_c: np.ndarray
    humidity_percent: np.ndarray
    wind_m_s: np.ndarray
    solar_mj_m2_day: np.ndarray
    sunshine_h: np.ndarray
    rain_mm: np.ndarray
    rain_of_months_mm: np.ndarray
    notes: tuple[str, ...] = ()
    typical_year: bool = False
    latitude_deg: float = float("nan")
    elevation_m: float = float("nan")
    wind_height_m: float = float("nan")
    no_rain_because: str = ""
    rain_days_of_months: np.ndarray = field(default_factory=_twelve_unknown)

    def __len__(self) -> int:
        return len(self.date)

    def has(self, name: str) -> bool:
        """Whether the file gave this quantity on any day, rain for every month."""
        if name == "rain_mm" and np.isfinite(self.rain_of_months_mm).all():
            return True
        return bool(np.isfinite(getattr(self, name)).any())

    @property
    def month(self) -> np.ndarray:
        """Row of the month, 0 to 11, of each day."""
        return self.date.astype("datetime64[M]").astype(np.int64) % 12

    @property
    def year(self) -> np.ndarray:
        """Calendar year of each day."""
        return self.date.astype("datetime64[Y]").astype(np.int64) + 1970

    @property
    def day_of_year(self) -> np.ndarray:
        """Day of the year of each day, 1 for 1 January."""
        first = self.date.astype("datetime64[Y]").astype("datetime64[D]")
        return (self.date - first).astype(np.int64) + 1


@dataclass(frozen=True, slots=True, eq=False)
class WholeMonths:
    """Months of a daily series that count.

    `years` are those with any day; `days` (year, month) counts the days that hold
    what is needed and `length` the days of the calendar; `counts` marks the months
    with enough of them; `cell` is the (year, month) of each day as one flat row.
    """

    years: np.ndarray
    days: np.ndarray
    length: np.ndarray
    counts: np.ndarray
    cell: np.ndarray


def whole_months(weather: DailyWeather, useful: np.ndarray) -> WholeMonths:
    """Months with at least 80 % of their days useful; `useful` (day,) marks days."""
    years = np.unique(weather.year)
    cell = np.searchsorted(years, weather.year) * 12 + weather.month
    shape = len(years), 12
    days = np.bincount(cell[useful], minlength=len(years) * 12).reshape(shape)
    firsts = (years[:, None] - 1970) * 12 + np.arange(13)
    length = np.diff(firsts.astype("datetime64[M]").astype("datetime64[D]")).astype(int)
    return WholeMonths(
        years, days, length, days >= LEAST_SHARE_OF_DAYS * length - 1e-9, cell
    )


def useful_days(weather: DailyWeather) -> np.ndarray:
    """Days with ET0, or with temperatures to compute it; and with rain, if any has."""
    temperatures = np.isfinite(weather.tmin_c) & np.isfinite(weather.tmax_c)
    useful = np.isfinite(weather.et0_mm) | temperatures
    rain = np.isfinite(weather.rain_mm)
    by_month = np.isfinite(weather.rain_of_months_mm).all()
    return useful & rain if rain.any() and not by_month else useful


def read_daily_climate(
    path: Path, file: str, problems: list[Problem]
) -> DailyWeather | None:
    """Weather of a daily CSV, or None with Problems."""
    table = csvfiles.read_table(path, file, problems)
    return None if table is None else daily_climate(table, problems)


def daily_climate(
    table: csvfiles.RawTable, problems: list[Problem]
) -> DailyWeather | None:
    """Weather of the rows of a daily CSV, or None with Problems."""
    found: list[Problem] = []
    if _hourly(table, found):
        problems.extend(found)
        return None
    table, notes = _without_marks(table)
    rows = csvfiles.read_rows(table, FILES["daily climate"], found)
    dates = rows.values["date"]
    _check_dates(rows, dates, found)
    _check_values(rows, found)
    if not found and not ("et0" in rows.filled or {"tmin", "tmax"} <= rows.filled):
        found.append(no_et0(table.file, "et0_in or et0_mm"))
    if found:
        problems.extend(_first_of_each(found, "row" if table.in_sheet else "line"))
    if found or not table.whole:
        return None
    date = np.array(dates, dtype="datetime64[D]")
    order = np.argsort(date, kind="stable")
    if np.any(np.diff(order) < 0):
        notes.append("rows were not in the order of their dates: put in order")
    values = {name: rows.values[name][order] for name in QUANTITIES}
    weather = DailyWeather(
        table.file, date[order], **values, rain_of_months_mm=np.full(12, np.nan),
        notes=tuple(notes),
    )  # fmt: skip
    return weather


def check_every_month(weather: DailyWeather, problems: list[Problem]) -> None:
    """Problem where some month of the twelve is whole in no year."""
    whole = whole_months(weather, useful_days(weather))
    empty = np.flatnonzero(~whole.counts.any(axis=0)) + 1
    if len(empty):
        listed = ", ".join(map(str, empty.tolist()))
        problems.append(
            Problem(
                weather.source, None, "date",
                f"no year fills month {listed}",
                "each month of the twelve with at least 80 % of its days in some year",
                "a day counts that has ET0, or tmin and tmax, and rain where the file "
                "has rain",
            )
        )  # fmt: skip


def with_rain_of_months(weather: DailyWeather, rain: MonthlyRain) -> DailyWeather:
    """The same days with twelve totals of rain from elsewhere, and days of rain."""
    return dataclasses.replace(
        weather, rain_of_months_mm=rain.rain_mm, rain_days_of_months=rain.rain_days
    )


def _hourly(table: csvfiles.RawTable, problems: list[Problem]) -> bool:
    """Whether a date has a time of day; a Problem then."""
    place = next((k for k, h in enumerate(table.headers) if folded(h) == "date"), 0)
    for row, line in zip(table.rows[:2], table.lines, strict=False):
        if _TIME_OF_DAY.fullmatch(str(row[place])):
            problems.append(
                Problem(
                    table.file, line, table.headers[place],
                    f"{columns.quoted(row[place])} has a time of day",
                    "daily weather: a row a day, and the date alone, as 2026-07-31",
                    "make days of the hours first: least and highest temperature, mean "
                    "dew point, wind and solar, sum of rain",
                )
            )  # fmt: skip
            return True
    return False


def _without_marks(table: csvfiles.RawTable) -> tuple[csvfiles.RawTable, list[str]]:
    """Table with blanks for marks of missing values, and 0 for a trace of rain."""
    present = {str(cell).casefold() for row in table.rows for cell in row}
    missing, traces = present & _MISSING, present & _TRACE
    if not missing and not traces:
        return table, []
    rain = {k for k, h in enumerate(table.headers) if folded(h).startswith("rain")}
    counted = {"missing": 0, "trace": 0}

    def mended(place: int, cell: Cell) -> Cell:
        if str(cell).casefold() in missing:
            counted["missing"] += 1
            return ""
        if place in rain and str(cell).casefold() in traces:
            counted["trace"] += 1
            return "0"
        return cell

    rows = tuple(tuple(mended(k, cell) for k, cell in enumerate(r)) for r in table.rows)
    notes = []
    if counted["missing"]:
        marks = ", ".join(sorted(missing))
        notes.append(f"{counted['missing']} cells with {marks}: taken as missing")
    if counted["trace"]:
        notes.append(f"{counted['trace']} days with a trace of rain: taken as none")
    return dataclasses.replace(table, rows=rows), notes


def _check_dates(
    rows: csvfiles.Rows, dates: Sequence[object], problems: list[Problem]
) -> None:
    seen: dict[object, int] = {}
    for row, date in enumerate(dates):
        if date is None:
            continue
        if date in seen:
            first = rows.where(seen[date])
            problems.append(
                rows.problem(
                    row, "date", f"{date} is there twice (first in {first})",
                    "a row for a day", "hourly weather has to be made daily first",
                )
            )  # fmt: skip
        seen.setdefault(date, row)


def _check_values(rows: csvfiles.Rows, problems: list[Problem]) -> None:
    check_temperatures(rows, problems, "if only some days are wrong, blank both values")
    for row in np.flatnonzero(np.isin(rows.values["rain_mm"], _MARKS_OF_MISSING_MM)):
        problems.append(
            rows.problem(int(row), "rain_mm", "a rain of 999 mm is a mark for missing",
                         "rain of the day, or blank where it is missing")
        )  # fmt: skip


def _first_of_each(problems: list[Problem], line: str) -> list[Problem]:
    """The first few Problems of each kind, and how many more there are."""
    kinds: dict[tuple[str, str, str], list[Problem]] = {}
    for problem in problems:
        kind = problem.field, problem.accepted, problem.hint
        kinds.setdefault(kind, []).append(problem)
    shown: list[Problem] = []
    for alike in kinds.values():
        shown += alike[:_SHOWN_PROBLEMS]
        more = len(alike) - _SHOWN_PROBLEMS
        if more > 0:
            file, last = alike[0].file, alike[-1].line
            shown.append(
                Problem(file, alike[_SHOWN_PROBLEMS].line, alike[0].field,
                        f"and {more} more like these, the last in {line} {last}")
            )  # fmt: skip
    return shown
