"""What the calendar's reminders say."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.report.shown import MONTH_LABELS, minutes, months_text

OFF_UNTIL_VISIT = "Nothing runs: turn the controller off."
STAYS_OFF = "Nothing runs: the controller stays off."
KEY_IN = "Clear every program, then key in:"


def title(site: str, what: str) -> str:
    """Title of a reminder: the site, and what is to be done."""
    return f"{site}: {what}"


def visit(number: int, visits: int, months: Sequence[int]) -> str:
    """A visit: its number, and for which months."""
    return f"visit {number} of {visits}, for {months_text(list(months))}"


def percents_for(month: int) -> str:
    """What is to be done on the first of a month, 1 to 12."""
    return f"month percents for {MONTH_LABELS[month - 1]}"


def by_hand_in(month: int) -> str:
    """What is to be done by hand in a month, 1 to 12."""
    return f"start by hand in {MONTH_LABELS[month - 1]}"


def program(name: str, days: str, starts: Sequence[str]) -> str:
    """A program as it is keyed in."""
    return f"Program {name}: {days}; starts {', '.join(starts)}"


def run_time(
    station: int, zone: str, name: str, base_min: float, cycle_min: float, soak: float
) -> str:
    """Run time of a station; `cycle_min` is 0 where the controller splits no runs."""
    split = f", cycle {minutes(cycle_min)} min, soak {minutes(soak)} min"
    return (
        f"  station {station}, zone {zone} {name}: {minutes(base_min)} min"
        f"{split if cycle_min else ''}"
    )


def every_days(every: int, weekdays: Sequence[str], month: int) -> str:
    """An interval that starts on the first of some weekdays, or day, of its month."""
    day = " or ".join(name.capitalize() for name in weekdays) or "day"
    return f"every {every} days, first on the first {day} of {MONTH_LABELS[month - 1]}"


def percent(program: str, number: float) -> str:
    """A program's percent of a month."""
    return f"Program {program}: {number:g} %{'' if number else ' (off)'}"
