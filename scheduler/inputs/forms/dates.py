"""Dates, days of the week and months as they are written, in cells and options."""

from __future__ import annotations

import contextlib
import datetime
import itertools
import re
from collections.abc import Sequence
from typing import Any

from scheduler.calendar import FULL_MONTHS, FULL_WEEKDAYS, WEEKDAYS
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.alike import MisspeltError, folded, quoted

EARLIEST, LATEST = 1950, 2100
"""Years in which time zones and sunrises are known well enough."""
_AS_WRITTEN = "dates are written year-month-day"

ITEMS = re.compile(r"[;,\s]+")
"""What parts the items of a list in one cell."""
_SPAN = re.compile(r"\s*(?:[-–…]|\.\.\.|\bto\b)\s*")
"""What stands between the two ends of a span."""

_DAY_OF_YEAR = re.compile(
    r"(\d{1,2})\.?\s*([A-Za-z]{3,})\.?|([A-Za-z]{3,})\.?\s*(\d{1,2})"
    r"|(?:\d{4}-)?(\d{1,2})-(\d{1,2})",
    re.ASCII,
)
_LEAP_YEAR = 2028


def read_date(written: str) -> datetime.date:
    """Date of the option; raises InputError where it is none, or too far from today."""
    accepted, wrong, hint = f"a date from {EARLIEST} to {LATEST}", "", ""
    date = None
    try:
        date = datetime.datetime.strptime(written.strip(), "%Y-%m-%d").date()
    except ValueError:
        wrong = f"{quoted(written)} is not a date"
        hint = "dates are written year-month-day, as 2026-07-13"
    if date is not None and not EARLIEST <= date.year <= LATEST:
        wrong = f"{quoted(written)} is too far from today"
    if date is None or wrong:
        raise InputError([Problem("scheduler", None, "--date", wrong, accepted, hint)])
    return date


def read_night_date(written: str, month: int) -> datetime.date:
    """Date in a month, of the option; raises InputError where it is none."""
    wrong, hint = "", ""
    date = None
    try:
        date = datetime.datetime.strptime(written.strip(), "%Y-%m-%d").date()
    except ValueError:
        wrong = f"{quoted(written)} is not a date"
        hint = _AS_WRITTEN
    accepted = f"a date of month {month}, as 2026-{month:02d}-05"
    if date is not None and date.month != month:
        wrong = f"{quoted(written)} is not in month {month}"
        hint = f"write --month {date.month}, or another date"
    elif date is not None and not EARLIEST <= date.year <= LATEST:
        wrong = f"{quoted(written)} is too far from today"
        accepted = f"a date from {EARLIEST} to {LATEST}"
    if date is None or wrong:
        raise InputError([Problem("scheduler", None, "--date", wrong, accepted, hint)])
    return date


def month_of_date(written: str) -> int:
    """Month of a date in years of days; raises InputError where it is none."""
    date = _date(written)
    if date is None:
        wrong = f"{quoted(written)} is not a date"
        raise InputError([Problem("scheduler", None, "--date", wrong, "", _AS_WRITTEN)])
    return date.month


def _date(written: str) -> datetime.date | None:
    """Date of any year from 1 on, or None."""
    parts = written.strip().split("-")
    if len(parts) == 3 and all(part.isascii() and part.isdigit() for part in parts):
        with contextlib.suppress(ValueError):
            return datetime.date(*map(int, parts))
    return None


def read_played_date(written: str, month: int, years: Sequence[int]) -> tuple[int, int]:
    """Row of the year and of the day in it, 0 to 364, of a date in years of days.

    `years` are the years that there are, 1 to 30 where they are invented; their days
    are those of a common year. Raises InputError for a date that is not among them.
    """
    wrong, hint, date = "", "", _date(written)
    if date is None:
        wrong, hint = f"{quoted(written)} is not a date", _AS_WRITTEN
    elif date.month == 2 and date.day == 29:
        wrong = f"{quoted(written)} is not played: years of days have 365"
        hint = "what fell on 29 February is counted on the 28th"
    elif date.month != month:
        wrong = f"{quoted(written)} is not in month {month}"
        hint = f"write --month {date.month}, or another date"
    elif date.year not in years:
        wrong = f"{quoted(written)} is in no year that was played"
        gone = sorted(set(range(years[0], years[-1])) - set(years))
        hint = f"years are {years[0]} to {years[-1]}"
        hint += f" without {', '.join(map(str, gone))}" if gone else ""
    if date is None or wrong:
        accepted = f"a date of month {month}, as {years[0]:04d}-{month:02d}-05"
        raise InputError([Problem("scheduler", None, "--date", wrong, accepted, hint)])
    common = date.replace(year=1)
    return years.index(date.year), common.timetuple().tm_yday - 1


def read_days(cell: Any) -> Any:
    """Watering days of a cell: any, odd, even or weekdays; ValueError for others."""
    if isinstance(cell, str):
        if folded(cell) in ("any", "odd", "even"):
            return folded(cell)
        cell = _items(cell)
    if not isinstance(cell, list) or not cell:
        raise ValueError("no day is named" if cell == [] else "")
    found = set()
    for item in itertools.chain.from_iterable(map(_weekdays, cell)):
        day = folded(item)[:3] if isinstance(item, str) else ""
        full = dict(zip(WEEKDAYS, FULL_WEEKDAYS, strict=True))
        if day not in full or folded(item) not in (day, full[day]):
            raise MisspeltError(f"{quoted(item)} is not a weekday", item, FULL_WEEKDAYS)
        found.add(day)
    return tuple(day for day in WEEKDAYS if day in found)


def _items(text: str) -> list[str]:
    """Items of a list in one cell; from one to another is one item: `Apr - Oct`."""
    joined = _SPAN.sub("-", text)
    return [item for item in ITEMS.split(joined) if item]


def _weekdays(item: Any) -> list[Any]:
    """Weekdays from one to another, `mon-fri`; else the item as it is."""
    known = dict(zip(WEEKDAYS, FULL_WEEKDAYS, strict=True))
    ends = item.split("-") if isinstance(item, str) else []
    days = [folded(end)[:3] for end in ends]
    if len(days) != 2 or any(
        day not in known or folded(end) not in (day, known[day])
        for day, end in zip(days, ends, strict=True)
    ):
        return [item]
    first, last = map(WEEKDAYS.index, days)
    count = (last - first) % len(WEEKDAYS) + 1
    return [WEEKDAYS[(first + k) % len(WEEKDAYS)] for k in range(count)]


def month_by_name(text: str) -> float | None:
    """Number of a month by its name; None where it is none."""
    try:
        return float(_month(text))
    except ValueError:
        return None


def read_months(cell: Any) -> tuple[int, ...]:
    """Months of a cell, by number or name; ValueError for others."""
    items = [cell] if isinstance(cell, int) else cell
    if isinstance(cell, str):
        items = _items(cell)
    if isinstance(cell, bool) or not isinstance(items, list):
        raise ValueError
    if not items:
        raise ValueError("no month is named")
    found: set[int] = set()
    for item in items:
        if isinstance(item, bool) or not isinstance(item, (int, str)):
            raise ValueError(f"{quoted(item)} is not a month")
        ends = re.split("[-–]", str(item))
        if len(ends) > 2:
            raise ValueError(f"{quoted(item)} is not a month")
        if len({end.strip().isdecimal() for end in ends}) == 2:
            raise ValueError(f"{quoted(item)} may be a date that a spreadsheet made")
        first, last = _month(ends[0]), _month(ends[-1])
        found.update((first + k - 1) % 12 + 1 for k in range((last - first) % 12 + 1))
    return tuple(sorted(found))


def read_day_of_year(cell: Any) -> tuple[int, int]:
    """Month and day of a cell, as 1 Nov, Nov 1, 11-01 or a date; ValueError else."""
    if isinstance(cell, datetime.date):
        return cell.month, cell.day
    match = _DAY_OF_YEAR.fullmatch(cell.strip()) if isinstance(cell, str) else None
    if match is None:
        raise ValueError
    day, name, other_name, other_day, number, of_month = match.groups()
    month = _month(name or other_name or number)
    date = month, int(day or other_day or of_month)
    try:
        datetime.date(_LEAP_YEAR, *date)
    except ValueError:
        raise ValueError(f"{quoted(cell)} is no day of the calendar") from None
    return date


def read_month(text: str) -> int:
    """Month of an option, by number or name; raises InputError."""
    try:
        return _month(text)
    except ValueError as error:
        accepted = "a number from 1 to 12, or a name such as jul"
        hint = getattr(error, "hint", "")
        problem = Problem("--month", None, "", str(error), accepted, hint)
        raise InputError([problem]) from None


def _month(text: str) -> int:
    name = folded(text)
    if len(name) >= 3:
        for number, full in enumerate(FULL_MONTHS, 1):
            if full.startswith(name):
                return number
    if not re.fullmatch(r"[0-9]{1,2}", name) or not 1 <= int(name) <= 12:
        raise MisspeltError(f"{quoted(text)} is not a month", name, FULL_MONTHS)
    return int(name)
