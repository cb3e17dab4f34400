"""New plantings on the card: the program of their steps, as they are keyed in."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scheduler.calendar import DAY_MIN, ONE_DAY
from scheduler.inputs.site import Window
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program
from scheduler.plan.plantings.steps import Planting, Step
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
            yield _steps(plan, group, card.today)


def sheets(plan: SitePlan, card: Card) -> list[tuple[str, Table]]:
    """Steps of new plantings as they are keyed in, a sheet for those planted alike."""
    groups = [one for one in programs(plan, card) if one.plantings[0].steps]
    return [
        (words.sheet(number, len(groups)), _steps(plan, group, card.today))
        for number, group in enumerate(groups, 1)
    ]


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
            told += _all_held(plan, card, group, name, months)
            told += _by_exception(plan, first.steps)
            others, dates = _running_then(plan, card, group, name)
            if others:
                told.append(words.runs_into(others, dates))
        told += dict.fromkeys(
            line for new in group for line in words.after(plan, new, plan.site.units)
        )
        told += _by_hand(plan, card, group)
        found.append(NewProgram(tuple(group), name, tuple(told)))
    return found


def _by_exception(plan: SitePlan, steps: Sequence[Step]) -> Iterator[str]:
    """Windows of new plantings alone that steps stand on, and until when."""
    windows: dict[Window, datetime.date] = {}
    for step in steps:
        if step.window is not None and step.window in plan.site.exceptions:
            windows[step.window] = step.last
    if windows:
        yield words.by_exception([*windows], max(windows.values()))


def still_new(group: NewProgram, date: datetime.date) -> bool:
    """Whether something is done for a group on a date or after it."""
    return any(
        max(new.grown_in, new.established or new.grown_in) > date
        for new in group.plantings
    )


def by_hand_on(group: NewProgram, date: datetime.date) -> bool:
    """Whether a hand gives a group some of its water on a date or after it."""
    return any(
        (not group.name and new.grown_in > date)
        or (new.established is not None and new.established > date)
        for new in group.plantings
    )


def _by_hand(plan: SitePlan, card: Card, group: Sequence[Planting]) -> Iterator[str]:
    """The weeks, while trees root, in which the card does not run their station.

    Weeks begin on the day from which the card counts, or on which the steps end.
    """
    today = card.today
    for new in group:
        stands = new.established
        if stands is None or not new.planted.is_tree:
            continue
        first = max(today, new.grown_in)
        weeks = [first + 7 * k * ONE_DAY for k in range((stands - first).days // 7 + 1)]
        dry = [
            week
            for week in weeks
            if week < stands
            and not any(
                new.zone in program.zones
                for day in range(7)
                for program in _programs_on(card, week + day * ONE_DAY)
            )
        ]
        if first < stands:
            yield words.by_hand_weeks(int(plan.site.zones.station[new.zone]), dry)


def _all_held(
    plan: SitePlan, card: Card, group: Sequence[Planting], name: str, months: set[int]
) -> Iterator[str]:
    """What to do in months that are off, where one percent is all the controller's."""
    off = {
        month
        for visit in card.visits
        for month in {*visit.months} & months
        if not visit.runs(month)
    }
    if name and off and plan.site.controller.percent_by == "controller":
        stations = [str(int(plan.site.zones.station[new.zone])) for new in group]
        yield words.all_held(stations, sorted(off), group[0].grown_in)


def _running_then(
    plan: SitePlan, card: Card, group: Sequence[Planting], name: str
) -> tuple[list[str], list[datetime.date]]:
    """Other programs that run at the clock time of a step, and the step's dates then.

    Zones that have steps are out of their programs until these end.
    """
    until = {new.zone: new.grown_in for new in plan.plantings if new.steps}
    found = {
        (program.name, date)
        for step in group[0].steps
        for date in step.dates
        if date >= card.today
        for before in (0, 1)
        for program in _programs_on(card, date - before * ONE_DAY)
        if program.name != name
        and _overlap(step, program, date - before * ONE_DAY, before, until)
    }
    return sorted({name for name, _ in found}), sorted({date for _, date in found})


def _programs_on(card: Card, date: datetime.date) -> Iterator[Program]:
    """Programs that water on a date."""
    for visit in card.visits:
        if date.month in visit.months:
            yield from (p for p in visit.programs if p.waters(date))


def _overlap(
    step: Step,
    program: Program,
    date: datetime.date,
    days_before: int,
    until: Mapping[int, datetime.date],
) -> bool:
    """Whether a run of a program lies over a start of a step, some days later."""
    alone = [
        base
        for zone, base in zip(program.zones, program.base_min, strict=True)
        if until.get(zone, date) <= date
    ]
    percent = program.percent
    share = sum(alone) / sum(program.base_min)
    takes = program.minutes * share * percent[date.month] / max(percent.values())
    if any(program.cycle_min) and alone:
        takes = program.minutes
    return any(
        begins - days_before * DAY_MIN < start + step.run_min
        and start < begins - days_before * DAY_MIN + takes
        for begins in program.starts_min * bool(alone)
        for start in step.starts_min
    )


def title(plan: SitePlan, group: NewProgram) -> str:
    """Heading of a program of steps: what it is for."""
    new = "; ".join(words.in_short(plan, new) for new in group.plantings)
    return words.program(group.name, new) if group.plantings[0].steps else new


_ON_DOOR = ("from", "to", "days", "starts", "station", "minutes")


def steps_on_door(plan: SitePlan, group: NewProgram, since: datetime.date) -> Table:
    """Steps of one program, whose zones and name stand above them."""
    columns = _steps(plan, group, since).columns
    return Table(tuple(c for c in columns if c.name in _ON_DOOR))


def _steps(plan: SitePlan, group: NewProgram, since: datetime.date) -> Table:
    """Steps as they are keyed in on a date, a row for each zone of each."""
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
            column("days", [words.days(step, since) for step, _ in rows]),
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
                zone = plan.site.zones.zone[new.zone]
                yield words.step_line(step, zone, card.today)


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
