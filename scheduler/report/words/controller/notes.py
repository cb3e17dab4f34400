"""What a visit is told beside its programs: common dates, hours, and what waits."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence

from scheduler.plan.card.midnight import MIDDAY_MIN
from scheduler.plan.card.settings import Program, Visit
from scheduler.plan.times.windows import clock_text
from scheduler.report.counting import counted, listed, named
from scheduler.report.shown import MONTH_LABELS, date_text, day_text


def meetings(visit: Visit) -> list[str]:
    """Programs at an interval that share dates with others, and the first of them."""
    told = []
    for name, pairs in itertools.groupby(visit.meetings(), lambda pair: pair[0].name):
        by_date: dict[datetime.date, list[str]] = {}
        for _, other, date in pairs:
            by_date.setdefault(date, []).append(other.name)
        others = [f"{named('program', names)} (first on {day_text(date)})"
                  for date, names in by_date.items()]  # fmt: skip
        told.append(
            f"Program {name} shares some dates with {', with '.join(others)}. Their "
            "starts leave room for that."
        )
    return told


def never_above(visit: Visit) -> list[str]:
    """Programs whose percents never reach 100: there their runs would be too long."""
    most: dict[float, list[str]] = {}
    for program in visit.programs:
        highest = program.highest_with_room
        if highest is not None:
            most.setdefault(highest, []).append(program.name)
    return [
        f"Set {named('program', names)} never above {percent:g} %: longer runs have no "
        "room there."
        for percent, names in most.items()
    ]


def at_midday(visit: Visit) -> list[str]:
    """Programs that run at midday, and why."""
    names = [program.name for program in visit.at_midday()]
    if not names:
        return []
    begin, end = map(clock_text, MIDDAY_MIN)
    verb, them = ("runs", "it") if len(names) == 1 else ("run", "them")
    told = named("program", names)
    return [
        f"{told[:1].upper()}{told[1:]} {verb} between {begin} and {end}, the hours of "
        f"most wind and heat: no others were found for {them}."
    ]


def off_zones(zones: Sequence[str]) -> str:
    """Zones that no program runs until the next visit."""
    return f"In no program until the next visit: {named('zone', zones)}."


def not_this_month(visit: Visit) -> list[str]:
    """Programs that no longer run in the month in which they are keyed in."""
    names = [program.name for program in visit.not_this_month()]
    if not names:
        return []
    month = MONTH_LABELS[visit.date.month - 1]
    return [
        f"Of {named('program', names)} nothing runs in {month} any more: the percent "
        f"of {month} moves nothing there."
    ]


def resumes(programs: Sequence[Program], month: int | None = None) -> list[str]:
    """Dates on which intervals go on after months at 0 %; of one month, if named."""
    found = [
        f"{program.name} on {date_text(date)}"
        for program in programs
        for date in program.resumes()
        if month in (None, date.month)
    ]
    if not found:
        return []
    whose = "program" if len(found) == 1 else "programs"
    return [
        f"After months at 0 % see that the next day is that of the card ({whose} "
        f"{listed(found)}); else key it in again."
    ]


def due_soon(visit: Visit, number: int, days: int) -> str:
    """That the next visit is due in some days, and how to come once only."""
    month = MONTH_LABELS[visit.date.month - 1]
    return (
        f"Visit {number} is due in {counted(days, 'day')}: key it in now, in place of "
        f"visit {number - 1}, at its percents of {month}, and come once."
    )
