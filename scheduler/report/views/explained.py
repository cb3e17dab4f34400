"""A working as text, markdown, a table and data."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from scheduler.report import shown
from scheduler.report.frames import Column, Table
from scheduler.report.views.steps import Step
from scheduler.report.words import sentences


def to_text(title: str, steps: Sequence[Step]) -> str:
    """Steps for reading: the formula in words, then with the numbers put in."""
    lines = [title, "=" * len(title)]
    section = ""
    for step in steps:
        if step.section != section:
            section = step.section
            lines += ["", section, "-" * len(section)]
        value = f"{step.value} {step.unit}".rstrip()
        source = f"[{step.source}]"
        if step.numbers:
            lines += _wrapped(f"{step.name} = {step.words}", "      ")
            lines += _wrapped(f"    = {step.numbers} = {value}  {source}", "      ")
        else:
            lines += _wrapped(f"{step.name}: {value}  {source}", "      ")
    lines += ["", "Where the tables' values come from", "-" * 34]
    for line in origins(steps):
        lines += _wrapped(line, "    ")
    return "\n".join([*lines, "", *sentences.WATCH]) + "\n"


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text, 100, subsequent_indent=indent, break_on_hyphens=False,
        break_long_words=False,
    )  # fmt: skip


def origins(steps: Sequence[Step]) -> list[str]:
    """Sources of the tables' values that a working uses, each once."""
    return list(
        dict.fromkeys(f"{step.source}: {step.origin}" for step in steps if step.origin)
    )


def to_markdown(title: str, steps: Sequence[Step]) -> str:
    """Steps as markdown lists."""
    lines = [f"# {shown.for_markdown(title)}"]
    section = ""
    for step in steps:
        if step.section != section:
            section = step.section
            lines += ["", f"## {section}", ""]
        value = f"{step.value} {step.unit}".rstrip()
        text = f"{step.words} = {step.numbers} = " if step.numbers else ""
        source = shown.for_markdown(step.source)
        lines.append(f"- {step.name} = {text}**{value}** ({source})")
    lines += ["", "## Where the tables' values come from", ""]
    lines += [f"- {shown.for_markdown(line)}" for line in origins(steps)]
    return "\n".join(lines) + "\n"


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
