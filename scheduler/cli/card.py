"""`scheduler card`"""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    CardFormat,
    OutOption,
    SiteFolder,
    UnitsOption,
    VisitsOption,
    YearOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)

if TYPE_CHECKING:
    from scheduler.plan.card.plan import Card, Cards
    from scheduler.plan.site import SitePlan


def card(
    site: SiteFolder,
    visits: VisitsOption = 4,
    compare_visits: Annotated[
        bool, typer.Option("--compare-visits", help="extra water by visits a year")
    ] = False,
    year: YearOption = None,
    format_: Annotated[
        CardFormat, typer.Option("--format", help="how to print it; xlsx needs --out")
    ] = CardFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say what to key into the controller."""
    from scheduler.plan.card.plan import plan_cards
    from scheduler.report.views import visits as view

    if compare_visits and format_ is CardFormat.ics:
        raise typer.BadParameter("a comparison is no calendar", param_hint="--format")
    check_out(format_, out)
    plan, shown = read_and_plan(site, units)
    start = datetime.date(year, 1, 1) if year else datetime.date.today()
    cards = plan_cards(plan, start)
    cautions = plan.cautions
    card = cards.cards[visits - 1]
    if compare_visits:
        told = _compared(plan, cards, shown)
    elif card is not None:
        told = _card(plan, card, start.year, shown)
    else:
        told = _refused(plan, cards, visits, start.year, shown)
        cautions = (*cautions, *view.cautions(cards, visits))
        if format_ is CardFormat.xlsx:
            # There is no card to write, and why not is to be read.
            out = None
    answer(told, Asked(format_, out, shown), hard_limits(cautions, shown))


def _card(plan: SitePlan, card: Card, year: int, units: str) -> Answer:
    from scheduler.report.books.reminders import to_calendar
    from scheduler.report.views import card as view

    return Answer(
        blocks=lambda: view.blocks(plan, card, units),
        data=lambda: view.to_data(plan, card),
        table=lambda: view.to_table(plan, card),
        book=("Controller card", plan.site.name),
        calendar=lambda: to_calendar(plan, card, year, units),
        keeps_limits=("text", "markdown"),
    )


def _refused(
    plan: SitePlan, cards: Cards, visits: int, year: int, units: str
) -> Answer:
    """Why there is no card, and what controller would hold it."""
    from scheduler.plan.card.controllers import smallest_controller
    from scheduler.report.views import visits as view

    smallest = smallest_controller(plan, visits, year)
    return Answer(
        blocks=lambda: view.refusal(plan, cards, visits, smallest, units),
        data=lambda: view.refusal_data(plan, cards, smallest),
        keeps_limits=("text", "markdown"),
    )


def _compared(plan: SitePlan, cards: Cards, units: str) -> Answer:
    from scheduler.report.views import visits as view

    return Answer(
        blocks=lambda: view.comparison_blocks(plan, cards, units),
        data=lambda: view.comparison_data(plan, cards),
        table=lambda: view.comparison(plan, cards),
        book=("Visits to the controller", plan.site.name),
        keeps_limits=("text", "markdown"),
    )
