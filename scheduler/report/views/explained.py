"""A working as blocks, a table and data."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from scheduler.balance.years import Years
from scheduler.plan.ladder import Ladder
from scheduler.report import shown
from scheduler.report.blocks import Block, Formula, Formulas, Heading, Notes, Paragraph
from scheduler.report.frames import Column, Table
from scheduler.report.views.steps import Step
from scheduler.report.words import ladder as words
from scheduler.report.words import sentences


def blocks(
    title: str, steps: Sequence[Step], ladder: Sequence[Block] = ()
) -> list[Block]:
    """The working, and that it is a starting point."""
    return [*working_blocks(title, steps, ladder), Paragraph(sentences.WATCH)]


def working_blocks(
    title: str, steps: Sequence[Step], ladder: Sequence[Block] = ()
) -> list[Block]:
    """Steps by section: the formula in words, then with the numbers put in."""
    by_section = itertools.groupby(steps, lambda step: step.section)
    return [
        Heading(title, 1),
        *(Formulas(section, [*map(_formula, part)]) for section, part in by_section),
        *ladder,
        Notes(origins(steps), "Where the tables' values come from", indent="    "),
    ]


def ladder_blocks(found: Ladder, years: Years) -> list[Block]:
    """The ladder of a month, and why one rung was kept."""
    rungs = found.rungs
    days = [
        shown.days_text(rung.weekdays, rung.parity, rung.every_days) or "off"
        for rung in rungs
    ]
    cycles = [
        f"{rung.cycles:.0f} x {shown.minutes(rung.cycle_min)}" if rung.cycles else ""
        for rung in rungs
    ]
    minutes = [rung.cycles * rung.cycle_min for rung in rungs]
    table = Table(
        (
            Column("kept", "", ["*" if rung.kept else "" for rung in rungs]),
            Column("days", "watering days", days),
            Column("minutes_per_day", "min\na day", minutes, text=shown.minutes),
            Column("cycles", "cycles\nx min", cycles),
            Column("water", "water\na month", [r.water_mm for r in rungs], "depth"),
            Column("dry_days_percent", "dry of\n100 d", [100 * r.dry for r in rungs],
                   text="{:.1f}".format),
            Column("left_dry_percent", "left dry\n%", [100 * r.left_dry for r in rungs],
                   text="{:.0f}".format),
        )
    )  # fmt: skip
    return [
        Heading(words.TITLE, 2),
        Paragraph([words.how_played(years)]),
        table,
        Paragraph([words.why_kept(found)]),
    ]


def _formula(step: Step) -> Formula:
    value = f"{step.value} {step.unit}".rstrip()
    return Formula(step.name, value, step.source, step.words, step.numbers)


def origins(steps: Sequence[Step]) -> list[str]:
    """Sources of the tables' values that a working uses, each once."""
    return list(
        dict.fromkeys(f"{step.source}: {step.origin}" for step in steps if step.origin)
    )


def to_table(steps: Sequence[Step]) -> Table:
    """Steps as a table, for CSV."""
    return Table(
        tuple(
            Column(name, name, [getattr(step, name) for step in steps])
            for name in (
                "section",
                "name",
                "words",
                "numbers",
                "value",
                "unit",
                "source",
            )
        )
    )


def to_data(zone: str, month: int, steps: Sequence[Step]) -> dict[str, Any]:
    """Steps for programs; values and units as shown."""
    return {
        "zone": zone,
        "month": month,
        "steps": [
            {
                "section": s.section,
                "name": s.name,
                "formula": s.words,
                "numbers": s.numbers,
                "value": s.value,
                "unit": s.unit,
                "source": s.source,
                "origin": s.origin,
            }
            for s in steps
        ],
    }
