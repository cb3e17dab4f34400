"""Climate files into monthly arrays in SI."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.errors import Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.columns import folded
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


def read_monthly_climate(
    path: Path, file: str, problems: list[Problem]
) -> Climate | None:
    """Climate of a monthly CSV, or None with Problems."""
    table = csvfiles.read_table(path, file, problems)
    return None if table is None else monthly_climate(table, problems)


def monthly_climate(
    table: csvfiles.RawTable, problems: list[Problem]
) -> Climate | None:
    """Climate of the rows of a monthly CSV, or None with Problems."""
    file = table.file
    found = sum(problem.file != file for problem in problems)
    rows = _monthly_rows(table, "monthly climate", problems)
    if rows is None:
        return None
    faulty = rows.faulty_lines(problems)
    order = _in_month_order(rows, problems)
    _check_whole_columns(rows, rows.filled, faulty, problems)
    check_temperatures(rows, problems, "were the two columns swapped?")
    _check_rain_days(rows, problems)
    if len(problems) == found and not _enough_for_et0(rows):
        problems.append(no_et0(file, "et0_in_day or et0_mm_day"))
    if len(problems) > found:
        return None
    values = {name: column[order] for name, column in rows.values.items()}
    del values["month"]
    return Climate(file, **values)


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
) -> np.ndarray | None:
    """Rain of the twelve months of a CSV, mm, or None with Problems."""
    found = len(problems)
    table = csvfiles.read_table(path, file, problems)
    if table is None:
        return None
    rows = _monthly_rows(table, "monthly rain", problems)
    if rows is None:
        return None
    order = _in_month_order(rows, problems)
    if len(problems) == found and "rain" not in rows.filled:
        problems.append(Problem(file, None, "rain_in or rain_mm", "column is missing"))
    faulty = rows.faulty_lines(problems)
    _check_whole_columns(rows, rows.filled, faulty, problems)
    rain: np.ndarray = rows.values["rain_mm"]
    return rain[order] if len(problems) == found else None


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
    unsure = bool(np.isnan(months).any()) or rows.incomplete(problems)
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


def _check_whole_columns(
    rows: csvfiles.Rows,
    names: Collection[str],
    faulty: Collection[int | None],
    problems: list[Problem],
) -> None:
    for field in FILES["monthly climate"]:
        if field.name in names and field.name != "month":
            blank = np.flatnonzero(np.isnan(rows.values[field.si_name]))
            problems.extend(
                rows.problem(
                    int(row), field.si_name, "is blank",
                    "a value in all 12 months, or in none",
                )
                for row in blank
                if rows.lines[row] not in faulty
            )  # fmt: skip


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


def _check_rain_days(rows: csvfiles.Rows, problems: list[Problem]) -> None:
    """Problems where it rains on more days than there are, or without any rain."""
    if "rain_days" not in rows.filled:
        return
    for row, wet in enumerate(rows.values["rain_days"].tolist()):
        month, rain = rows.values["month"][row], rows.values["rain_mm"][row]
        if not np.isfinite(month) or not wet > 0:
            continue
        length = int(DAYS_IN_MONTH[int(month) - 1])
        if wet > length:
            problems.append(
                rows.problem(row, "rain_days",
                             f"{wet:g} is more than the days of the month",
                             f"days of 1 mm or more, 0 to {length}")
            )  # fmt: skip
        elif not rain > 0:
            problems.append(
                rows.problem(row, "rain_days", f"{wet:g} days of rain, but no rain",
                             "the month's rain in rain_in or rain_mm")
            )  # fmt: skip


def _enough_for_et0(rows: csvfiles.Rows) -> bool:
    return "et0" in rows.filled or {"tmin", "tmax"} <= rows.filled
