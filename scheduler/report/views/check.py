"""Findings of `check`, worst first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.cautions import Caution
from scheduler.findings.check import Finding
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Notes, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.views.heads import supply
from scheduler.report.words import sentences

_NOTHING = "Nothing to mend was found."


def blocks(plan: SitePlan, found: Sequence[Finding], units: str) -> list[Block]:
    """Findings by number, the supply, and what was assumed."""
    worth = [f for f in found if f.caution.code not in sentences.ONLY_TOLD]
    lines = _finding_lines(worth, units)
    told = sentences.assumptions(plan.cautions, len(plan.site.zones), units)
    return [
        Heading(f"Check: {plan.site.name}", 1),
        Notes(lines, numbered=True) if lines else Paragraph([_NOTHING]),
        *sections(
            [
                ("Supply", supply.lines(plan.supply, plan.points.curve, units)),
                ("Assumed", told),
            ]
        ),
        Paragraph(sentences.WORK_SAFELY),
        Paragraph(sentences.WATCH),
    ]


def _finding_lines(found: Sequence[Finding], units: str) -> list[str]:
    """A line each for what costs something; alike ones that cost nothing together."""
    lines: list[str] = []
    free: list[Caution] = []
    for finding in found:
        cost = _cost(finding, units)
        if cost:
            lines += sentences.grouped(free, units)
            free = []
            lines.append(f"{sentences.grouped([finding.caution], units)[0]}. {cost}")
        else:
            free.append(finding.caution)
    return lines + sentences.grouped(free, units)


def _cost(finding: Finding, units: str) -> str:
    parts = []
    if finding.costs_l_year >= 0.5:
        water = shown.quantity(finding.costs_l_year, "volume", units)
        parts.append(f"{water} a year")
    if finding.costs_min_week >= 0.5:
        what = "of soak " if finding.caution.code == "rate-over-intake" else ""
        parts.append(f"up to {shown.number(finding.costs_min_week)} min {what}a week")
    return f"It costs {' and '.join(parts)}." if parts else ""


def to_data(found: Sequence[Finding], units: str) -> dict[str, Any]:
    """Findings of `check` for programs, worst first."""
    return {
        "findings": [
            {
                "code": finding.caution.code,
                "zone": finding.caution.zone,
                "month": finding.caution.month,
                "costs_l_year": finding.costs_l_year,
                "costs_min_week": finding.costs_min_week,
                "text": sentences.sentence(finding.caution, units),
            }
            for finding in found
        ]
    }


def to_table(found: Sequence[Finding], units: str) -> Table:
    """Findings as a table, for CSV."""
    return Table(
        (
            Column("code", "code", [f.caution.code for f in found]),
            Column("zone", "zone", [f.caution.zone or "" for f in found]),
            Column("month", "month", [f.caution.month or "" for f in found]),
            Column("costs_year", "costs a year", [f.costs_l_year for f in found],
                   "volume"),
            Column("costs_min_week", "min a week", [f.costs_min_week for f in found],
                   text="{:.0f}".format),
            Column("text", "finding",
                   [sentences.sentence(f.caution, units) for f in found]),
        )
    )  # fmt: skip
