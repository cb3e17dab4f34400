"""When it waters and who comes, as an owner is told."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from scheduler.inputs.site import Window
from scheduler.report.counting import counted, listed
from scheduler.report.shown import date_text as date_text
from scheduler.report.shown import hours_text
from scheduler.report.words.pages import spoken

HEADING = "When it waters, and who comes"


_AFTER_MIDNIGHT = "Hours after midnight belong to the new day, itself permitted or not."
_FEW_DATES = 2
"""Dates that are named one by one."""
COLUMNS = ("Program", "Days", "Hours", "What")


def when(months: Sequence[int]) -> str:
    """Months over what runs in them."""
    told = spoken.months(months)
    return f"{told[:1].upper()}{told[1:]}"


def whose(zones: str, off: Sequence[int]) -> str:
    """Zones, and the months in which they do not run."""
    return f"{zones}; not in {spoken.months(off)}" if off else zones


def span(opens: str, closes: str) -> str:
    """From one clock time to another."""
    return f"{opens}-{closes}"


def once(today: str) -> str:
    """That programs are keyed in on a day and then stay."""
    return f"Programs are keyed in once, {today}, and hold all year."


def nothing_until(date: str, later: Sequence[str]) -> str:
    """That there is nothing to key in before a date."""
    then = f", then by {listed(later)}" if later else ""
    return f"Nothing runs before {date}: new programs are keyed in by then{then}."


def visits(today: str, later: Sequence[str], again: str) -> str:
    """When somebody comes to key in, and from when on a new sheet is wanted."""
    return (
        f"New programs are keyed in {today}, then by {listed(later)}; by {again} from "
        "a sheet made anew."
    )


def percents(
    months: Sequence[int],
    filled: Sequence[datetime.date] = (),
    off: Sequence[int] = (),
) -> str:
    """Months, 1 to 12, on whose first day the percents change by the door's page.

    `filled` are days on which they are set once dry ground is filled by hand, `off`
    the months that begin with all of them off.
    """
    dates = [f"on the first of {spoken.each(months)}"] if months else []
    if filled:
        days = listed([date_text(day) for day in filled])
        dates.append(f"on {days}, once dry ground is filled")
    if off:
        dates.append(f"all off on the first of {spoken.each(off)}")
    return (
        f"Percents, by the page in the door: set {'; '.join(dates)}. Forgotten, plants "
        "get as much as in the month before."
    )


def by_hand(
    filled: Sequence[datetime.date], runs: Sequence[tuple[str, Sequence[int]]]
) -> str:
    """Days on which dry ground is filled by hand, and zones' runs with their months."""
    told = []
    if len(filled) > _FEW_DATES:
        ends = f"{date_text(filled[0])} to {date_text(filled[-1])}"
        told.append(f"{counted(len(filled), 'date')} from {ends}, to fill dry ground")
    elif filled:
        told.append(f"{listed(list(map(date_text, filled)))}, to fill dry ground")
    told += [f"{spoken.months(months)}, {zones}" for zones, months in runs]
    return f"Started by hand, by the page in the door: {'; '.join(told)}."


def permitted(windows: Sequence[tuple[Window, str]]) -> str:
    """Hours in which programs may run, by hand too, each with its zones; "" for all."""
    told = []
    for window, zones in windows:
        hours = hours_text([window])
        told.append(f"{hours} for {zones}" if zones else hours)
    return f"Permitted hours, by hand too: {'; '.join(told)}. {_AFTER_MIDNIGHT}"


ALL_ZONES = "all zones"
BLANK = "____"
"""Where a name and a number are written by pen; a page draws it long enough."""
WHO_KEYS_IN = f"Who keys in, phone: {BLANK}"
WHO_SETS = f"Who sets percents, phone: {BLANK}"
WHO_STARTS = f"Who starts by hand, phone: {BLANK}"
WHO_DRAINS = f"Who drains and fills lines, phone: {BLANK}"
