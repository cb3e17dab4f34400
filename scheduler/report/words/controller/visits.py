"""Visits a year in words: what each number costs, and why a card cannot be held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.plan.card.controllers import ROOMY
from scheduler.plan.card.settings import Obstacle
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.counting import counted, named, spelled, verb
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "visits": "visits\na year",
        "extra_water": "extra water\na year",
        "extra_water_percent": "extra\n%",
        "bound_extra_percent": "at least\n%",
        "worst_shortfall_percent": "worst month\nshort %",
        "visit_months": "visits by the 1st of",
    }
)
NOT_HELD = "the controller cannot hold it"
NO_CONTROLLER = (
    f"Not even {ROOMY['programs']:g} programs of {ROOMY['starts']:g} starts, "
    "with cycle and soak built in, were found to hold it: the hours or "
    "days are too few. Longer hours, more days or a shorter soak would help."
)
_ABILITIES = {
    "programs": "{:g} programs",
    "starts": "{:g} start times a program",
    "percent_by": "a percent for each program",
    "intervals": "intervals in days",
    "soak_built_in": "cycle and soak built in",
    "longest_run_min": "runs of up to {:g} min",
    "percent_most": "percents up to {:g} %",
    "percent_step": "percents in steps of {:g} %",
}


def title(site: str) -> str:
    """Heading of the comparison."""
    return f"Visits to the controller: {site}"


def extra(need_l: float, units: str) -> str:
    """What the zones need, and what the columns of the comparison count."""
    need = shown.quantity(need_l, "volume", units)
    return (
        f"The zones need {need} a year. Extra is what a card gives above that: between "
        "two visits only the percents change. At least: what no card with as many "
        "visits can go below. Fewer visits are shown where more save next to nothing."
    )


def not_set_for(visits: int) -> str:
    """The controller cannot be set for so many visits."""
    return f"This controller cannot be set for {spelled(visits, 'visit')} a year."


def enough(visits: int) -> str:
    """Visits with which the controller holds a card."""
    return f"With {counted(visits, 'visit')} a year it can."


def smallest(changes: Sequence[tuple[str, Any]]) -> str:
    """What a controller would have to do."""
    wanted = shown.listed([_ABILITIES[name].format(value) for name, value in changes])
    return f"The smallest controller found that holds it has {wanted}."


def obstacle(
    plan: SitePlan, found: Obstacle, stretches: Sequence[tuple[int, ...]]
) -> str:
    """A limit, with the months (0 to 11) in which it binds."""
    names = [plan.site.zones.zone[row] for row in found.zones]
    zones, when = named("zone", names), _when(stretches)
    controller = plan.site.controller
    programs = counted(int(controller.programs), "program")
    starts = counted(int(controller.starts), "start time")
    if found.why == "zone":
        return (
            f"{when}: {zones}: {starts} in {programs}, within the runoff limit, the "
            "longest run and the percents, do not give the need."
        )
    if found.why == "programs":
        return (
            f"{when}: {programs} cannot hold zones that differ so much in days, starts "
            "and percents."
        )
    return (
        f"{when}: the permitted hours do not hold all programs: {zones} "
        f"{verb(len(names), 'are')} left over with {found.minutes_over} min."
    )


def _when(stretches: Sequence[tuple[int, ...]]) -> str:
    """Months that fail alone, else the shortest stretch that one setting fails."""
    single = sorted({months[0] + 1 for months in stretches if len(months) == 1})
    if single:
        return shown.months_text(single)
    shortest = min(stretches, key=len)
    return f"one setting for {shown.months_text([month + 1 for month in shortest])}"
