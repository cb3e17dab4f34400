"""The controller card to key in from: blocks, a table for CSV, and data."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import Any

from scheduler.calendar import ALL_WEEK, PARITIES, weekday_names
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
from scheduler.report.frames import Column, Table
from scheduler.report.words import frost, sentences

FROST_CODES = ("frost-month", "frost-nights")
"""Cautions that people have to know at the controller."""


def blocks(plan: SitePlan, card: Card, units: str) -> list[Block]:
    """The card to be read once, top to bottom, while it is keyed in."""
    title = f"Controller card: {plan.site.name}"
    parts: list[Block] = [
        Heading(title, 1, [facts(plan, card, units)]),
        Notes(how_to(plan)),
    ]
    for row, visit in enumerate(card.visits):
        parts.append(Heading(visit_title(card, row), 2))
        parts += [
            Entry(
                f"Program {program.name}",
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
            ("Cautions", hard_cautions(plan, units)),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def hard_cautions(plan: SitePlan, units: str) -> list[str]:
    """What the watering table cannot promise, and so no card can."""
    hard = [caution for caution in plan.cautions if caution.code in HARD_LIMITS]
    return sentences.grouped(hard, units)


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


def facts(plan: SitePlan, card: Card, units: str) -> str:
    """What the card gives and what it wastes, in a few sentences."""
    visits = len(card.visits)
    water = shown.quantity(water_l(plan, card), "volume", units)
    bound = f"{card.bound_extra_percent:.1f} %"
    least = f"no card with as many visits can go below {bound}"
    if card.exact:
        least = "no card with as many visits wastes less"
    return (
        f"{'One visit' if visits == 1 else f'{visits} visits'} a year. The zones get "
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


def water_l(plan: SitePlan, card: Card) -> float:
    """Water that the card gives in a year, in liters."""
    a_mm_l = 60 * plan.inputs.valve.flow_l_min / plan.inputs.valve.rate_mm_h
    return float((card.applied_mm.sum(axis=1) * a_mm_l).sum())


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


def visit_title(card: Card, row: int) -> str:
    """Heading of a visit: when, and for which months."""
    months = shown.months_text(list(card.visits[row].months))
    by = shown.MONTH_LABELS[visit_month(card, row) - 1]
    return f"Visit {row + 1} of {len(card.visits)}: by 1 {by}, for {months}"


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
    starts = ", ".join(clock_text(start) for start in program.starts_min)
    lines = [
        ("Days", days_text(program)),
        ("Starts", f"{starts} (each takes up to {program.minutes} min)"),
    ]
    if plan.site.controller.percent_by == "none":
        return lines
    return [*lines, ("Percent", percents_text(program))]


def days_text(program: Program) -> str:
    """Watering days in words."""
    pattern, first = program.pattern, program.first_date
    if first is not None:
        day = weekday_names(1 << first.weekday())[0].capitalize()
        return f"every {pattern.every_days} days, first on {day} {first.isoformat()}"
    if pattern.parity and pattern.weekdays != ALL_WEEK:
        only = shown.days_text(pattern.weekdays, 0, 0)
        return f"{PARITIES[pattern.parity]} dates, only on {only}"
    return shown.days_text(pattern.weekdays, pattern.parity, 0)


def percents_text(program: Program) -> str:
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


def off_zones(plan: SitePlan, visit: Visit) -> list[str]:
    """A sentence on zones that are in no program until the next visit, if any."""
    zones = plan.site.zones
    runs = {row for program in visit.programs for row in program.zones}
    off = [zone for row, zone in enumerate(zones.zone) if row not in runs]
    if not visit.programs:
        return ["Nothing runs: turn the controller off, and on at the next visit."]
    if not off:
        return []
    are = "zones" if len(off) > 1 else "zone"
    return [f"In no program until the next visit: {are} {shown.listed(off)}."]


def run_times(plan: SitePlan, program: Program) -> Table:
    """Run times of a program, a row for each of its zones, in the order they run."""
    zones = plan.site.zones
    rows = list(program.zones)
    columns = [
        Column("station", "station", [int(zones.station[row]) for row in rows]),
        Column("zone", "zone", [zones.zone[row] for row in rows]),
        Column("name", "name", [zones.name[row] for row in rows]),
        Column("base_minutes", "run min", program.base_min, text=shown.minutes),
    ]
    if any(program.cycle_min):
        columns += [
            Column("cycle_minutes", "cycle min", program.cycle_min, text=_or_blank),
            Column("soak_minutes", "soak min", program.soak_min, text=_or_blank),
        ]
    return Table(tuple(columns))


def _or_blank(value: float) -> str:
    return shown.minutes(value) if value else ""


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

    columns = [
        Column("visit", "visit", [number for number, *_ in rows]),
        Column("months", "months", [" ".join(map(str, v.months)) for _, v, *_ in rows]),
        Column("program", "program", of(lambda p: p.name)),
        Column("days", "days",
               of(lambda p: " ".join(weekday_names(p.pattern.weekdays)))),
        Column("parity", "parity", of(lambda p: PARITIES[p.pattern.parity])),
        Column("every_days", "every days", of(lambda p: p.pattern.every_days or "")),
        Column("first_date", "first date",
               of(lambda p: p.first_date or "")),
        Column("starts", "starts",
               of(lambda p: " ".join(clock_text(start) for start in p.starts_min))),
        Column("station", "station", of_zone(zones.station.tolist())),
        Column("zone", "zone", of_zone(zones.zone)),
        Column("name", "name", of_zone(zones.name)),
        Column("base_minutes", "run min", of_place(lambda p: p.base_min),
               text=_minutes_or_blank),
        Column("cycle_minutes", "cycle min", of_place(lambda p: p.cycle_min),
               text=_minutes_or_blank),
        Column("soak_minutes", "soak min", of_place(lambda p: p.soak_min),
               text=_minutes_or_blank),
    ]  # fmt: skip
    for month, label in enumerate(shown.MONTH_LABELS, 1):
        percents = [program.percent.get(month, "") for _, _, program, _ in rows]
        name = f"{label.lower()}_percent"
        columns.append(Column(name, f"{label} %", percents, text=_minutes_or_blank))
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
