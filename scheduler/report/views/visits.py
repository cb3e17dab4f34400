"""What each number of visits a year costs in water."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph
from scheduler.report.frames import Table
from scheduler.report.words.controller import visits as words

COMPARED = (1, 2, 3, 4, 6, 12)
"""Visits a year that are set side by side."""


def comparison(cards: Sequence[Card]) -> Table:
    """Water, dry days and depths by visits a year, in the order of COMPARED."""
    column = words.COLUMNS.column
    judged = [card.judged for card in cards]
    return Table(
        (
            column("visits", list(COMPARED)),
            column("water", [float(j.water_l.sum()) for j in judged], "volume"),
            column(
                "extra_water_percent", [j.extra_water_percent for j in judged],
                text=_tenths,
            ),
            column("gap_percent", [card.gap_percent for card in cards], text=_tenths),
            column(
                "dry_days_percent", [j.dry_days_percent() for j in judged],
                text=_whole,
            ),
            column("shallowest_share", [_shallowest(card) for card in cards],
                   text=_share),
            column("not_kept", [len(j.broken) for j in judged]),
            column("visit_months", [_dates(card) for card in cards]),
        )
    )  # fmt: skip


def _tenths(value: float) -> str:
    return f"{value:.1f}"


def _whole(value: float) -> str:
    return f"{value:.0f}"


def _share(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"


def _shallowest(card: Card) -> float | None:
    found = card.judged.shallowest
    return None if found is None else found[2]


def _dates(card: Card) -> str:
    return shown.months_text(sorted(visit.months[0] for visit in card.visits))


def comparison_blocks(plan: SitePlan, cards: Sequence[Card], units: str) -> list[Block]:
    """The comparison for reading."""
    judged = cards[0].judged
    told = words.extra(
        float(judged.table_l.sum()), judged.dry_days_percent(of_table=True), units
    )
    return [
        Heading(words.title(plan.site.name), 1),
        Paragraph([told], indent=""),
        comparison(cards),
    ]


def comparison_data(cards: Sequence[Card]) -> dict[str, Any]:
    """The comparison for programs."""
    return {
        "compared": [
            {
                "visits": visits,
                "water_l_year": float(card.judged.water_l.sum()),
                "extra_water_percent": card.judged.extra_water_percent,
                "gap_percent": card.gap_percent,
                "dry_days_percent": card.judged.dry_days_percent(),
                "shallowest_share": _shallowest(card),
                "not_kept": len(card.judged.broken),
                "months": [list(visit.months) for visit in card.visits],
            }
            for visits, card in zip(COMPARED, cards, strict=True)
        ]
    }
