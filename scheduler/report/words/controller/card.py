"""The controller card in words: what to key in, and what it gives."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from scheduler.calendar import ALL_WEEK, PARITIES, weekday_names
from scheduler.plan.card.plan import Card, Program
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.counting import named, spelled
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "visit": "visit",
        "months": "months",
        "program": "program",
        "days": "days",
        "parity": "parity",
        "every_days": "every days",
        "first_date": "first date",
        "starts": "starts",
        "station": "station",
        "zone": "zone",
        "name": "name",
        "base_minutes": "run min",
        "cycle_minutes": "cycle min",
        "soak_minutes": "soak min",
        **{f"{month.lower()}_percent": f"{month} %" for month in shown.MONTH_LABELS},
    }
)
DAYS, STARTS, PERCENT = "Days", "Starts", "Percent"
"""Labels of what is keyed into a program."""
NOTHING_RUNS = "Nothing runs: turn the controller off, and on at the next visit."


def title(site: str) -> str:
    """Heading of the card, and of why there is none."""
    return f"Controller card: {site}"


def program_title(name: str) -> str:
    """Heading of a program."""
    return f"Program {name}"


def facts(plan: SitePlan, card: Card, water_l: float, units: str) -> str:
    """What the card gives and what it wastes, in a few sentences."""
    visits = spelled(len(card.visits), "visit")
    water = shown.quantity(water_l, "volume", units)
    bound = f"{card.bound_extra_percent:.1f} %"
    least = f"no card with as many visits can go below {bound}"
    if card.exact:
        least = "no card with as many visits wastes less"
    return (
        f"{visits[:1].upper()}{visits[1:]} a year. The zones get "
        f"{water}, {card.extra_water_percent:.1f} % more than they need; {least}. "
        f"In its driest month a zone is up to {card.worst_shortfall_percent:.1f} % "
        f"short, over the year none is.{_if_seconds_kept(plan, card)}"
    )


def _if_seconds_kept(plan: SitePlan, card: Card) -> str:
    """What changes on a controller that does not round; "" where it has no percents."""
    if plan.site.controller.percent_by == "none":
        return ""
    kept = card.if_seconds_kept
    told = (
        " On a controller that keeps the seconds of a run at a percent, a zone is up "
        f"to {kept.month_shortfall_percent:.1f} % short in a month and "
        f"{kept.year_shortfall_percent:.1f} % over the year"
    )
    if kept.longer_s >= 1:
        told += f", and a start takes up to {math.ceil(kept.longer_s)} s longer"
    return f"{told}."


def how_to(plan: SitePlan) -> list[str]:
    """What to do at a visit, and between visits."""
    by = plan.site.controller.percent_by
    step = plan.site.controller.minute_step
    at = "" if by == "none" else " at 100 %"
    whole = "minute" if step == 1 else f"{shown.minutes(step)} min"
    lines = [
        "At a visit: clear every program, then key in the block below, top to bottom.",
        f"Run times are those of one start{at}; a start runs all zones in order.",
        "Clock times count from 00:00, midnight as the day begins.",
    ]
    if by == "none":
        return lines
    all_ = " (one for the whole controller)" if by == "controller" else ""
    return [
        *lines,
        "On the first of each month until the next visit: set the "
        f"percents{all_}, no more.",
        "The card counts on a controller that rounds a run at a percent to the nearest "
        f"{whole}, a half up: see whether this one does.",
    ]


def visit_title(number: int, visits: int, month: int, months: Sequence[int]) -> str:
    """Heading of a visit: its number, by the first of which month, for which months."""
    by, told = shown.MONTH_LABELS[month - 1], shown.months_text(list(months))
    return f"Visit {number} of {visits}: by 1 {by}, for {told}"


def starts(program: Program) -> str:
    """Start times of a program, and how long each may take."""
    told = ", ".join(clock_text(start) for start in program.starts_min)
    return f"{told} (each takes up to {program.minutes} min)"


def days(program: Program) -> str:
    """Watering days of a program."""
    pattern, first = program.pattern, program.first_date
    if first is not None:
        day = weekday_names(1 << first.weekday())[0].capitalize()
        return f"every {pattern.every_days} days, first on {day} {first.isoformat()}"
    if pattern.parity and pattern.weekdays != ALL_WEEK:
        only = shown.days_text(pattern.weekdays, 0, 0)
        return f"{PARITIES[pattern.parity]} dates, only on {only}"
    return shown.days_text(pattern.weekdays, pattern.parity, 0)


def percents(program: Program) -> str:
    """Month percents in the order of the months; months that are off together."""
    parts = []
    for off, months in itertools.groupby(
        program.percent, lambda m: not program.percent[m]
    ):
        if off:
            parts.append(f"{shown.months_text(list(months))} 0 % (off)")
        else:
            parts += [f"{shown.MONTH_LABELS[month - 1]} {program.percent[month]:g} %"
                      for month in months]  # fmt: skip
    return ", ".join(parts)


def off_zones(zones: Sequence[str]) -> str:
    """Zones that no program runs until the next visit."""
    return f"In no program until the next visit: {named('zone', zones)}."
