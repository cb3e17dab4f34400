"""Findings of `check`, worst first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.cautions import Caution
from scheduler.findings.check import Finding
from scheduler.plan.site import SitePlan
from scheduler.report.blocks import Block, Heading, Notes, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.views.heads import supply
from scheduler.report.words import check as words
from scheduler.report.words import sentences
from scheduler.report.words.heads.supply import TITLE as SUPPLY


def blocks(plan: SitePlan, found: Sequence[Finding], units: str) -> list[Block]:
    """Findings by number, the supply, and what was assumed."""
    worth = [f for f in found if f.caution.code not in sentences.ONLY_TOLD]
    lines = _finding_lines(worth, plan.site.water.currency, units)
    told = sentences.assumptions(plan.cautions, len(plan.site.zones), units)
    return [
        Heading(words.title(plan.site.name), 1),
        Notes(lines, numbered=True) if lines else Paragraph([words.NOTHING]),
        *sections(
            [
                (SUPPLY, supply.lines(plan.supply, plan.points.curve, units)),
                (sentences.ASSUMED, told),
            ]
        ),
        Paragraph(sentences.WORK_SAFELY),
        Paragraph(sentences.WATCH),
    ]


def _finding_lines(found: Sequence[Finding], currency: str, units: str) -> list[str]:
    """A line each for what costs something; alike ones that cost nothing together.

    Dry months of a zone are one line, and so are zones whose soak costs the same.
    """
    lines: list[str] = []
    free: list[Caution] = []
    alike: dict[tuple[str, ...], list[Finding]] = {}
    for finding in found:
        if _is_told_once(finding):
            alike.setdefault(_alike(finding, units), []).append(finding)
    for finding in found:
        together = [finding]
        if _is_told_once(finding):
            together = alike.pop(_alike(finding, units), [])
            if not together:
                continue
        cost = words.costs(together, currency, units)
        if cost:
            lines += sentences.grouped(free, units)
            free = []
            text = sentences.grouped([f.caution for f in together], units)[0]
            helps = words.tried(finding.tried)
            lines.append(" ".join(part for part in (f"{text}.", cost, helps) if part))
        else:
            free.append(finding.caution)
    return lines + sentences.grouped(free, units)


def _is_told_once(finding: Finding) -> bool:
    soak = finding.caution.code == "rate-over-intake" and finding.costs_min_week > 0
    return soak or finding.costs_dry_days > 0


def _alike(finding: Finding, units: str) -> tuple[str, ...]:
    """What findings that are told in one line have in common."""
    caution = finding.caution
    if finding.costs_dry_days:
        return caution.code, caution.zone or ""
    return caution.code, sentences.sentence(caution, units)


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
                "costs_dry_days": finding.costs_dry_days,
                "costs_money": None
                if finding.costs_money is None
                else float(finding.costs_money),
                "tried": [
                    {"what": one.what, "value": one.value, "dry_days": one.dry_days}
                    for one in finding.tried
                ],
                "text": sentences.sentence(finding.caution, units),
            }
            for finding in found
        ]
    }


def to_table(found: Sequence[Finding], units: str) -> Table:
    """Findings as a table, for CSV."""
    column = words.COLUMNS.column
    return Table(
        (
            column("code", [f.caution.code for f in found]),
            column("zone", [f.caution.zone or "" for f in found]),
            column("month", [f.caution.month or "" for f in found]),
            column("costs_year", [f.costs_l_year for f in found], "volume"),
            column("costs_min_week", [f.costs_min_week for f in found]),
            column(
                "costs_dry_days",
                [f.costs_dry_days for f in found],
                text="{:.0f}".format,
            ),
            column("text", [sentences.sentence(f.caution, units) for f in found]),
        )
    )
