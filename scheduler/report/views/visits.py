"""What each number of visits a year costs in water, and why a card cannot be held."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.cautions import Caution
from scheduler.plan.card.controllers import ROOMY, SmallestController
from scheduler.plan.card.plan import Card, Cards
from scheduler.plan.card.settings import Obstacle
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.views.card import frost_lines, visit_month, water_l
from scheduler.report.words import frost

_FIGURES = ("extra_water_percent", "worst_shortfall_percent", "bound_extra_percent")
COMPARED = (1, 2, 3, 4, 6, 12)
"""Visits a year that are set side by side."""


def comparison(plan: SitePlan, cards: Cards) -> Table:
    """Extra water by visits a year; blank where the controller cannot hold it."""
    told = [(visits, cards.cards[visits - 1]) for visits in COMPARED]
    need = water_l_of_need(plan, cards)

    def of(name: str) -> list[Any]:
        return [getattr(card, name) if card else None for _, card in told]

    return Table(
        (
            Column("visits", "visits\na year", [visits for visits, _ in told]),
            Column("extra_water", "extra water\na year",
                   [water_l(plan, card) - need if card else float("nan")
                    for _, card in told], "volume"),
            Column("extra_water_percent", "extra\n%", of("extra_water_percent"),
                   text=_percent),
            Column("bound_extra_percent", "at least\n%", of("bound_extra_percent"),
                   text=_percent),
            Column("worst_shortfall_percent", "worst month\nshort %",
                   of("worst_shortfall_percent"), text=_percent),
            Column("visit_months", "visits by the 1st of",
                   [_dates(card) for _, card in told]),
        )
    )  # fmt: skip


def water_l_of_need(plan: SitePlan, cards: Cards) -> float:
    """Water that all zones need in a year, in liters."""
    needs = cards.needs
    return float((needs.need_steps.sum(axis=1) * needs.step_l).sum())


def _percent(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


def _dates(card: Card | None) -> str:
    if card is None:
        return "the controller cannot hold it"
    months = [visit_month(card, row) for row in range(len(card.visits))]
    return " ".join(shown.MONTH_LABELS[month - 1] for month in months)


def comparison_blocks(plan: SitePlan, cards: Cards, units: str) -> list[Block]:
    """The comparison for reading."""
    need = shown.quantity(water_l_of_need(plan, cards), "volume", units)
    told = (
        f"The zones need {need} a year. Extra is what a card gives above that: between "
        "two visits only the percents change. At least: what no card with as many "
        "visits can go below. Fewer visits are shown where more save next to nothing."
    )
    return [
        Heading(f"Visits to the controller: {plan.site.name}", 1),
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
        Heading(f"Controller card: {plan.site.name}", 1, told),
        *sections([(frost.TITLE, frost_lines(plan, units))]),
    ]


def refusal_lines(
    plan: SitePlan, cards: Cards, visits: int, smallest: SmallestController
) -> list[str]:
    """The same as sentences."""
    count = "one visit" if visits == 1 else f"{visits} visits"
    lines = [f"This controller cannot be set for {count} a year."]
    lines += _obstacles(plan, cards)
    more = next((n for n, card in enumerate(cards.cards, 1) if card), None)
    if more is not None:
        lines.append(f"With {more} visits a year it can.")
    if smallest.changes:
        wanted = shown.listed([_ability(name, v) for name, v in smallest.changes])
        lines.append(f"The smallest controller found that holds it has {wanted}.")
    else:
        lines.append(
            f"Not even {ROOMY['programs']:g} programs of {ROOMY['starts']:g} starts, "
            "with cycle and soak built in, were found to hold it: the hours or "
            "days are too few. Longer hours, more days or a shorter soak would help."
        )
    return lines


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
        _sentence(plan, Obstacle(why, zones, over[why, zones]), stretches)
        for (why, zones), stretches in merged.items()
    ]


def _sentence(
    plan: SitePlan, found: Obstacle, stretches: Sequence[tuple[int, ...]]
) -> str:
    names = [plan.site.zones.zone[row] for row in found.zones]
    zones = f"zone{'s' if len(names) > 1 else ''} {shown.listed(names)}"
    single = sorted({s[0] + 1 for s in stretches if len(s) == 1})
    when = shown.months_text(single) if single else ""
    if not single:
        shortest = min(stretches, key=len)
        when = "one setting for " + shown.months_text([m + 1 for m in shortest])
    controller = plan.site.controller
    programs = _counted(controller.programs, "program")
    starts = _counted(controller.starts, "start time")
    if found.why == "zone":
        return (
            f"{when}: {zones}: {starts} in {programs}, within the runoff limit, the "
            "longest run and the percents, do not give the need."
        )
    if found.why == "programs":
        return (
            f"{when}: {programs} cannot hold zones that differ so much in days, starts "
            "and percents."
        )
    return (
        f"{when}: the permitted hours do not hold all programs: {zones} "
        f"{'are' if len(names) > 1 else 'is'} left over with {found.minutes_over} min."
    )


def _counted(count: float, noun: str) -> str:
    return f"{count:g} {noun}{'' if count == 1 else 's'}"


def _ability(name: str, value: Any) -> str:
    told: dict[str, str] = {
        "programs": "{:g} programs",
        "starts": "{:g} start times a program",
        "percent_by": "a percent for each program",
        "intervals": "intervals in days",
        "soak_built_in": "cycle and soak built in",
        "longest_run_min": "runs of up to {:g} min",
        "percent_most": "percents up to {:g} %",
        "percent_step": "percents in steps of {:g} %",
    }
    return told[name].format(value)
