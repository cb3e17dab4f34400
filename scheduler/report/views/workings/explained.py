"""A working as blocks, a table and data."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

from scheduler.report.blocks import Block, Formula, Formulas, Heading, Notes
from scheduler.report.frames import Column, Table
from scheduler.report.views.workings.steps import Step
from scheduler.report.words import workings as words


def blocks(
    title: str, steps: Sequence[Step], ladder: Sequence[Block] = ()
) -> list[Block]:
    """Steps by section: the formula in words, then with the numbers put in.

    The ladder, where there is one, stands before the setting kept.
    """
    parts: list[Block] = []
    for section, part in itertools.groupby(steps, lambda step: step.section):
        if section == words.SETTING_KEPT:
            parts += ladder
        parts.append(Formulas(section, [*map(_formula, part)]))
    told = origins(steps)
    origin = Notes(told, words.ORIGINS, indent="    ")
    return [Heading(title, 1), *parts, *([origin] if told else [])]


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
