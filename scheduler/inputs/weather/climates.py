"""Any climate file by its kind: monthly or daily CSV, or a year of hours."""

from __future__ import annotations

from pathlib import Path

from scheduler.errors import Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.weather.daily import (
    DailyWeather,
    check_every_month,
    daily_climate,
)
from scheduler.inputs.weather.hourly import kind_of_hours, read_hours
from scheduler.inputs.weather.monthly import Climate, monthly_climate

_PACKED = {b"\x1f\x8b": "gzip", b"PK": "zip"}


def read_climate(
    path: Path, file: str, problems: list[Problem], whole_year: bool = True
) -> Climate | DailyWeather | None:
    """Climate of a file of any kind, or None with Problems.

    Days have to fill each month of the twelve, unless `whole_year` is False.
    """
    packed = _packed(path)
    if packed:
        problems.append(
            Problem(file, None, "", f"is packed ({packed})",
                    hint="unpack it, and name the file that comes out")
        )  # fmt: skip
        return None
    kind = kind_of_hours(path)
    if kind:
        hours = read_hours(path, file, kind, problems)
        if hours is not None and whole_year:
            check_every_month(hours, problems)
        return hours
    table = csvfiles.read_table(path, file, problems)
    return None if table is None else climate_of_table(table, problems, whole_year)


def climate_of_table(
    table: csvfiles.RawTable, problems: list[Problem], whole_year: bool = True
) -> Climate | DailyWeather | None:
    """Climate of a table of months or of days, or None with Problems."""
    names = {folded(header) for header in table.headers}
    if "date" in names and "month" not in names:
        weather = daily_climate(table, problems)
        if weather is not None and whole_year:
            check_every_month(weather, problems)
        return weather
    return monthly_climate(table, problems)


def _packed(path: Path) -> str:
    """Kind of packing of a file, by its first bytes; "" where it is none."""
    try:
        if not path.is_file():
            return ""
        with path.open("rb") as stream:
            return _PACKED.get(stream.read(2), "")
    except (OSError, ValueError):
        return ""
