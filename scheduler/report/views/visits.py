"""What each number of visits a year costs in water, and why a card cannot be held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.cautions import Caution
from scheduler.plan.card.controllers import SmallestController
from scheduler.plan.card.plan import Card, Cards
from scheduler.plan.card.settings import Obstacle
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.views.card import frost_lines, visit_month, water_l
from scheduler.report.words import frost
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.controller import visits as words

_FIGURES = ("extra_water_percent", "worst_shortfall_percent", "bound_extra_percent")
_SHOWN = ("extra_water_percent", "bound_extra_percent", "worst_shortfall_percent")
COMPARED = (1, 2, 3, 4, 6, 12)
"""Visits a year that are set side by side."""


def comparison(plan: SitePlan, cards: Cards) -> Table:
    """Extra water by visits a year; blank where the controller cannot hold it."""
    told = [(visits, cards.cards[visits - 1]) for visits in COMPARED]
    need, column = water_l_of_need(plan, cards), words.COLUMNS.column

    def of(name: str) -> list[Any]:
        return [getattr(card, name) if card else None for _, card in told]

    extra = [water_l(plan, card) - need if card else float("nan") for _, card in told]
    return Table(
        (
            column("visits", [visits for visits, _ in told]),
            column("extra_water", extra, "volume"),
            *(column(name, of(name), text=_percent) for name in _SHOWN),
            column("visit_months", [_dates(card) for _, card in told]),
        )
    )


def water_l_of_need(plan: SitePlan, cards: Cards) -> float:
    """Water that all zones need in a year, in liters."""
    needs = cards.needs
    return float((needs.need_steps.sum(axis=1) * needs.step_l).sum())


def _percent(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


def _dates(card: Card | None) -> str:
    if card is None:
        return words.NOT_HELD
    months = [visit_month(card, row) for row in range(len(card.visits))]
    return " ".join(shown.MONTH_LABELS[month - 1] for month in months)


def comparison_blocks(plan: SitePlan, cards: Cards, units: str) -> list[Block]:
    """The comparison for reading."""
    told = words.extra(water_l_of_need(plan, cards), units)
    return [
        Heading(words.title(plan.site.name), 1),
        Paragraph([told], indent=""),
        comparison(plan, cards),
    ]


def comparison_data(plan: SitePlan, cards: Cards) -> dict[str, Any]:
    """The comparison for programs."""
    need = water_l_of_need(plan, cards)
    rows: list[dict[str, Any]] = []
    for visits in COMPARED:
        card = cards.cards[visits - 1]
        row: dict[str, Any] = {"visits": visits, "holds": card is not None}
        for name in _FIGURES:
            row[name] = getattr(card, name) if card else None
        row["extra_water_l"] = water_l(plan, card) - need if card else None
        row["months"] = [list(visit.months) for visit in card.visits] if card else None
        rows.append(row)
    return {"compared": rows}


def cautions(cards: Cards, visits: int) -> tuple[Caution, ...]:
    """What stands in the way of a card with so many visits; empty where one holds."""
    if cards.cards[visits - 1] is not None:
        return ()
    return (Caution("controller-too-small", None, None, {"visits": visits}),)


def refusal(
    plan: SitePlan,
    cards: Cards,
    visits: int,
    smallest: SmallestController,
    units: str,
) -> list[Block]:
    """Why no card with so many visits can be held, and what would help."""
    told = refusal_lines(plan, cards, visits, smallest)
    return [
        Heading(card_words.title(plan.site.name), 1, told),
        *sections([(frost.TITLE, frost_lines(plan, units))]),
    ]


def refusal_lines(
    plan: SitePlan, cards: Cards, visits: int, smallest: SmallestController
) -> list[str]:
    """The same as sentences."""
    lines = [words.not_set_for(visits), *_obstacles(plan, cards)]
    more = next((n for n, card in enumerate(cards.cards, 1) if card), None)
    if more is not None:
        lines.append(words.enough(more))
    if smallest.changes:
        return [*lines, words.smallest(smallest.changes)]
    return [*lines, words.NO_CONTROLLER]


def refusal_data(
    plan: SitePlan, cards: Cards, smallest: SmallestController
) -> dict[str, Any]:
    """The same for programs: no visits, and what a controller would have to do."""
    zones = plan.site.zones.zone
    return {
        "visits": [],
        **dict.fromkeys(_FIGURES),
        "obstacles": [
            {
                "limit": found.why,
                "months": [month + 1 for month in months],
                "zones": [zones[row] for row in found.zones],
                "minutes_over": found.minutes_over or None,
            }
            for months, found in cards.obstacles.items()
        ],
        "smallest_controller": dict(smallest.changes) or None,
    }


def _obstacles(plan: SitePlan, cards: Cards) -> Sequence[str]:
    """One line for each limit: the zones, and the months in which it binds."""
    merged: dict[tuple[str, tuple[int, ...]], list[tuple[int, ...]]] = {}
    over: dict[tuple[str, tuple[int, ...]], int] = {}
    for months, found in cards.obstacles.items():
        key = found.why, found.zones
        merged.setdefault(key, []).append(months)
        over[key] = max(over.get(key, 0), found.minutes_over)
    return [
        words.obstacle(plan, Obstacle(why, zones, over[why, zones]), stretches)
        for (why, zones), stretches in merged.items()
    ]
