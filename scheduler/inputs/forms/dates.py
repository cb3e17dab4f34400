"""Dates as they are written on the command line: of a night, of a day played."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Sequence

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.columns import quoted

EARLIEST, LATEST = 1950, 2100
"""Years in which time zones and sunrises are known well enough."""
_AS_WRITTEN = "dates are written year-month-day"


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
