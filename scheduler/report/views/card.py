"""The controller card to key in from: blocks, a table for CSV, and data."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from scheduler.calendar import PARITIES, weekday_names
from scheduler.cautions import HARD_LIMITS
from scheduler.plan.card.plan import Card, Program, Visit
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.blocks import (
    Block,
    Entry,
    Heading,
    Notes,
    Paragraph,
    sections,
)
from scheduler.report.frames import Table
from scheduler.report.words import frost, sentences
from scheduler.report.words.controller import card as words

FROST_CODES = ("frost-month", "frost-nights")
"""Cautions that people have to know at the controller."""


def blocks(plan: SitePlan, card: Card, units: str) -> list[Block]:
    """The card to be read once, top to bottom, while it is keyed in."""
    facts = words.facts(plan, card, water_l(plan, card), units)
    parts: list[Block] = [
        Heading(words.title(plan.site.name), 1, [facts]),
        Notes(words.how_to(plan)),
    ]
    for row, visit in enumerate(card.visits):
        parts.append(Heading(visit_title(card, row), 2))
        parts += [
            Entry(
                words.program_title(program.name),
                program_lines(plan, program),
                run_times(plan, program),
            )
            for program in visit.programs
        ]
        off = off_zones(plan, visit)
        if off:
            parts.append(Paragraph(off))
    parts += sections(
        [
            (frost.TITLE, frost_lines(plan, units)),
            (sentences.CAUTIONS, hard_cautions(plan, units)),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def hard_cautions(plan: SitePlan, units: str, coded: bool = True) -> list[str]:
    """What the watering table cannot promise, and so no card can."""
    hard = [caution for caution in plan.cautions if caution.code in HARD_LIMITS]
    return sentences.grouped(hard, units, coded)


def frost_lines(plan: SitePlan, units: str) -> list[str]:
    """All that is known of frost, and what to do about it."""
    cold = [c for c in plan.cautions if c.code in FROST_CODES]
    told = [*sentences.grouped(cold, units), *frost.climate_lines(plan.months, units)]
    season = plan.months.frost_season
    if season is None:
        return told
    if not any(caution.code == "frost-nights" for caution in cold):
        told.append(frost.to_do(season))
    return [*told, frost.FORECAST]


def water_l(plan: SitePlan, card: Card) -> float:
    """Water that the card gives in a year, in liters."""
    a_mm_l = 60 * plan.inputs.valve.flow_l_min / plan.inputs.valve.rate_mm_h
    return float((card.applied_mm.sum(axis=1) * a_mm_l).sum())


def visit_title(card: Card, row: int) -> str:
    """Heading of a visit: when, and for which months."""
    visits, by = card.visits, visit_month(card, row)
    return words.visit_title(row + 1, len(visits), by, visits[row].months)


def visit_month(card: Card, row: int) -> int:
    """Month, 1 to 12, by whose first a visit is to be made.

    A visit can wait for the first month in which something runs, where the one before
    it left the controller with nothing to run.
    """
    months, before = card.visits[row].months, card.visits[row - 1]
    waits = [not _runs(card.visits[row], month) for month in months]
    if _runs(before, before.months[-1]) or all(waits):
        return months[0]
    return months[waits.index(False)]


def _runs(visit: Visit, month: int) -> bool:
    return any(program.percent[month] for program in visit.programs)


def program_lines(plan: SitePlan, program: Program) -> list[tuple[str, str]]:
    """Days, start times and percents of a program, each with its label.

    No percents where the controller has none to set.
    """
    lines = [
        (words.DAYS, words.days(program)),
        (words.STARTS, words.starts(program)),
    ]
    if plan.site.controller.percent_by == "none":
        return lines
    return [*lines, (words.PERCENT, words.percents(program))]


def off_zones(plan: SitePlan, visit: Visit) -> list[str]:
    """A sentence on zones that are in no program until the next visit, if any."""
    zones = plan.site.zones
    runs = {row for program in visit.programs for row in program.zones}
    off = [zone for row, zone in enumerate(zones.zone) if row not in runs]
    if not visit.programs:
        return [words.NOTHING_RUNS]
    return [words.off_zones(off)] if off else []


def run_times(plan: SitePlan, program: Program) -> Table:
    """Run times of a program, a row for each of its zones, in the order they run."""
    zones, column = plan.site.zones, words.COLUMNS.column
    rows = list(program.zones)
    columns = [
        column("station", [int(zones.station[row]) for row in rows]),
        column("zone", [zones.zone[row] for row in rows]),
        column("name", [zones.name[row] for row in rows]),
        column("base_minutes", program.base_min, text=shown.minutes),
    ]
    if any(program.cycle_min):
        columns += [
            column("cycle_minutes", program.cycle_min, text=shown.minutes_or_blank),
            column("soak_minutes", program.soak_min, text=shown.minutes_or_blank),
        ]
    return Table(tuple(columns))


def to_table(plan: SitePlan, card: Card) -> Table:
    """A row for each visit, program and zone, for CSV."""
    zones = plan.site.zones
    rows = [
        (number, visit, program, place)
        for number, visit in enumerate(card.visits, 1)
        for program in visit.programs
        for place in range(len(program.zones))
    ]

    def of(function: Callable[[Program], Any]) -> list[Any]:
        return [function(program) for _, _, program, _ in rows]

    def of_zone(values: Sequence[Any]) -> list[Any]:
        return [values[program.zones[place]] for _, _, program, place in rows]

    def of_place(function: Callable[[Program], Sequence[float]]) -> list[Any]:
        return [function(program)[place] or "" for _, _, program, place in rows]

    column = words.COLUMNS.column
    columns = [
        column("visit", [number for number, *_ in rows]),
        column("months", [" ".join(map(str, v.months)) for _, v, *_ in rows]),
        column("program", of(lambda p: p.name)),
        column("days", of(lambda p: " ".join(weekday_names(p.pattern.weekdays)))),
        column("parity", of(lambda p: PARITIES[p.pattern.parity])),
        column("every_days", of(lambda p: p.pattern.every_days or "")),
        column("first_date", of(lambda p: p.first_date or "")),
        column(
            "starts",
            of(lambda p: " ".join(clock_text(start) for start in p.starts_min)),
        ),
        column("station", of_zone(zones.station.tolist())),
        column("zone", of_zone(zones.zone)),
        column("name", of_zone(zones.name)),
        column("base_minutes", of_place(lambda p: p.base_min), text=_minutes_or_blank),
        column(
            "cycle_minutes", of_place(lambda p: p.cycle_min), text=_minutes_or_blank
        ),
        column("soak_minutes", of_place(lambda p: p.soak_min), text=_minutes_or_blank),
    ]
    for month, label in enumerate(shown.MONTH_LABELS, 1):
        percents = [program.percent.get(month, "") for _, _, program, _ in rows]
        name = f"{label.lower()}_percent"
        columns.append(column(name, percents, text=_minutes_or_blank))
    return Table(tuple(columns))


def _minutes_or_blank(value: float | str) -> str:
    return value if isinstance(value, str) else shown.minutes(value)


def to_data(plan: SitePlan, card: Card) -> dict[str, Any]:
    """The card for programs."""
    return {
        "visits": [
            {
                "months": list(visit.months),
                "programs": [_program_data(plan, p) for p in visit.programs],
            }
            for visit in card.visits
        ],
        "extra_water_percent": card.extra_water_percent,
        "worst_shortfall_percent": card.worst_shortfall_percent,
        "bound_extra_percent": card.bound_extra_percent,
    }


def _program_data(plan: SitePlan, program: Program) -> dict[str, Any]:
    pattern = program.pattern
    first = program.first_date
    return {
        "program": program.name,
        "days": list(weekday_names(pattern.weekdays)),
        "parity": PARITIES[pattern.parity] or None,
        "every_days": pattern.every_days or None,
        "first_date": first.isoformat() if first else None,
        "starts": [clock_text(start) for start in program.starts_min],
        "zones": _zones_data(plan, program),
        "month_percent": {str(m): p for m, p in program.percent.items()},
    }


def _zones_data(plan: SitePlan, program: Program) -> Sequence[dict[str, Any]]:
    """Zones in the order they run; cycle and soak where the controller splits runs."""
    zones: list[dict[str, Any]] = [
        {"zone": plan.site.zones.zone[row], "base_minutes": base}
        for row, base in zip(program.zones, program.base_min, strict=True)
    ]
    if plan.site.controller.soak_built_in:
        for zone, cycle, soak in zip(
            zones, program.cycle_min, program.soak_min, strict=True
        ):
            zone["cycle_minutes"] = cycle or None
            zone["soak_minutes"] = soak or None
    return zones
