"""New plantings on the card: the program of their steps, as they are keyed in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from scheduler.plan.card.plan import Card
from scheduler.plan.plantings.steps import Planting
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph
from scheduler.report.frames import Table
from scheduler.report.views.plantings.table import planting_data
from scheduler.report.words import plantings as words


def blocks(plan: SitePlan, card: Card) -> Iterator[Block]:
    """How the steps of new plantings are keyed in, before what grown-in zones get."""
    if plan.plantings:
        yield Heading(words.TITLE, 2)
    for group in programs(plan, card):
        yield Paragraph([words.in_short(plan, new) + "." for new in group.plantings])
        yield Paragraph(list(group.told))
        if group.plantings[0].steps:
            yield _steps(plan, group)


@dataclass(frozen=True, slots=True)
class NewProgram:
    """Zones planted alike, the program that is free for their steps, what is told."""

    plantings: tuple[Planting, ...]
    name: str
    told: tuple[str, ...]


def programs(plan: SitePlan, card: Card) -> list[NewProgram]:
    """New plantings by the program that their steps are keyed into; "": by hand."""
    controller = plan.site.controller
    groups: dict[int, list[Planting]] = {}
    for new in plan.plantings:
        groups.setdefault(new.program, []).append(new)
    found: list[NewProgram] = []
    for group in groups.values():
        first, told, name = group[0], [], ""
        if first.steps:
            zones = [new.zone for new in group]
            dates = [date for step in first.steps for date in step.dates]
            months = {date.month for date in dates}
            free = card.free_programs(controller.programs, zones, months)
            taken = {program.name for program in found}
            name = next((one for one in free if one not in taken), "")
            told.append(words.keyed(plan, zones, name, first.grown_in))
            most = max(len(step.starts_min) for step in first.steps)
            if name and most > controller.starts:
                told.append(words.too_many_starts(int(controller.starts)))
            if others := _running_then(card, first, name):
                told.append(words.runs_into(others))
        told += list(words.after(first, plan.site.units))
        found.append(NewProgram(tuple(group), name, tuple(told)))
    return found


def _running_then(card: Card, new: Planting, name: str) -> list[str]:
    """Other programs with a start at the hour of a step, in one of its months."""
    found = {
        program.name
        for step in new.steps
        for visit in card.visits
        if not {*visit.months}.isdisjoint(date.month for date in step.dates)
        for program in visit.programs
        for begins in program.starts_min
        for start in step.starts_min
        if program.name != name
        and begins < start + step.run_min
        and start < begins + program.minutes
    }
    return sorted(found)


def _steps(plan: SitePlan, group: NewProgram) -> Table:
    """Steps as they are keyed in, a row for each zone of each."""
    rows = [
        (step, new.zone)
        for steps in zip(*(new.steps for new in group.plantings), strict=True)
        for step, new in zip(steps, group.plantings, strict=True)
    ]
    zones, column = plan.site.zones, words.COLUMNS.column
    return Table(
        (
            column("from", [shown.date_text(step.first) for step, _ in rows]),
            column("to", [shown.date_text(step.last) for step, _ in rows]),
            column("program", [group.name or words.BY_HAND for _ in rows]),
            column("days", [words.days(step) for step, _ in rows]),
            column("starts", [words.starts(step) for step, _ in rows]),
            column("station", [int(zones.station[zone]) for _, zone in rows]),
            column("zone", [zones.zone[zone] for _, zone in rows]),
            column(
                "minutes",
                [step.minutes * bool(step.starts_min) for step, _ in rows],
                text=shown.minutes_or_blank,
            ),
        )
    )


def lines(plan: SitePlan, card: Card) -> Iterator[str]:
    """New plantings in lines, for the door: how they are keyed in, and their steps."""
    for group in programs(plan, card):
        for new in group.plantings:
            yield f"{words.in_short(plan, new)}."
        yield from group.told
        for new in group.plantings:
            for step in new.steps:
                yield words.step_line(step, plan.site.zones.zone[new.zone])


def to_data(plan: SitePlan, card: Card) -> dict[str, Any]:
    """New plantings with the program of each, null where it is by hand."""
    if not plan.plantings:
        return {}
    return {
        "new_plantings": [
            {"zone": plan.site.zones.zone[new.zone], "program": group.name or None,
             **planting_data(new)}
            for group in programs(plan, card)
            for new in group.plantings
        ]
    }  # fmt: skip
