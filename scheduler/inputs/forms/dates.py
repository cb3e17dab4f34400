"""The date of a night, as it is written on the command line."""

from __future__ import annotations

import datetime

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.columns import quoted

EARLIEST, LATEST = 1950, 2100
"""Years in which time zones and sunrises are known well enough."""


def read_night_date(written: str, month: int) -> datetime.date:
    """Date in a month, of the option; raises InputError where it is none."""
    wrong, hint = "", ""
    date = None
    try:
        date = datetime.datetime.strptime(written.strip(), "%Y-%m-%d").date()
    except ValueError:
        wrong = f"{quoted(written)} is not a date"
        hint = "dates are written year-month-day"
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
