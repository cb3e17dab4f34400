"""When it waters and who comes, as an owner is told."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.report.counting import listed
from scheduler.report.shown import date_text as date_text
from scheduler.report.words.pages import spoken

HEADING = "When it waters, and who comes"


def hours(months: Sequence[int], runs: Sequence[tuple[str, Sequence[str], str]]) -> str:
    """Months with their days, each with its hours at the most, and the zones."""
    told = [f"{days} {' and '.join(spans)} ({whose})" for days, spans, whose in runs]
    when = spoken.months(months)
    return f"{when[:1].upper()}{when[1:]}: {'; '.join(told)}."


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


def visits(today: str, later: Sequence[str]) -> str:
    """When somebody comes to key in."""
    return f"New programs are keyed in {today}, then by {listed(later)}."


ALL_ZONES = "all zones"
PERCENTS = "Agree who sets the percents on the first of each month."
