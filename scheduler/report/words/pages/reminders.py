"""What the calendar's reminders say."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence

from scheduler.report.shown import MONTH_LABELS, date_text, minutes, months_text

OFF_UNTIL_VISIT = "Nothing runs: turn the controller off."
KEY_IN = "Clear every program, then key in:"
PERCENTS = "Percents of this month:"
FILLED = "The dry ground is filled: programs go on."
FILL = "Fill dry ground, programs at 0"
TURN_OFF = "Turn the controller off"
ALL_OFF = "Set every percent to 0 (off)"
MAKE_ANEW = "Make the card and its calendar anew"
MADE_UP_TO = "Reminders end here. Make them again, and import them over these."
ALL_PROGRAMS = "All programs"
_MOST_IN_TITLE = 4


def title(site: str, what: str) -> str:
    """Title of a reminder: what is to be done, then where: phones cut the end off."""
    return f"{what[:1].upper()}{what[1:]}: {site}"


def visit(number: int, visits: int, months: Sequence[int]) -> str:
    """A visit: its number, and for which months."""
    return f"Key in visit {number} of {visits}, for {months_text(list(months))}"


def filling(visit: str) -> str:
    """A visit whose programs wait while dry ground is filled."""
    return f"{visit}, at 0 %; first fill dry ground"


def percents_for(month: int, percents: Mapping[str, float]) -> str:
    """Percents of a month, 1 to 12; the numbers too where they are few."""
    if not any(percents.values()):
        return ALL_OFF
    told = f"Set percents for {MONTH_LABELS[month - 1]}"
    if len(percents) > _MOST_IN_TITLE:
        return told
    return f"{told}, {', '.join(f'{name} {p:g}' for name, p in percents.items())}"


def percents_from(date: datetime.date) -> str:
    """Heading of percents that are set once the dry ground is filled."""
    return f"Percents of this month, from {date_text(date)} on; 0 until then:"


def by_hand_in(month: int) -> str:
    """What is to be done by hand in a month, 1 to 12."""
    return f"Start by hand in {MONTH_LABELS[month - 1]}"


def nothing_for(month: int) -> str:
    """That a month, 1 to 12, changes nothing: in place of what it asked for before."""
    return f"Nothing to key in for {MONTH_LABELS[month - 1]}"


def nothing_until(date: datetime.date) -> str:
    """That nothing runs until a date."""
    return f"Controller off: nothing to key in until {date_text(date)}"


def program(title: str, days: str, starts: Sequence[str]) -> str:
    """A program as it is keyed in, under its title."""
    return f"{title}: {days}; starts {', '.join(starts)}"


def run_time(
    station: int, zone: str, name: str, base_min: str, cycle_min: float, soak: float
) -> str:
    """Run time of a station; `cycle_min` is 0 where the controller splits no runs."""
    split = f", cycle {minutes(cycle_min)} min, soak {minutes(soak)} min"
    return (
        f"  station {station}, zone {zone} {name}: {base_min} min"
        f"{split if cycle_min else ''}"
    )


def percent(program: str, number: float) -> str:
    """A program's percent of a month."""
    whose = program if program == ALL_PROGRAMS else f"Program {program}"
    return f"{whose}: {number:g} %{'' if number else ' (off)'}"
