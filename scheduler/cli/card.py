"""`scheduler card`"""

from __future__ import annotations

import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.app import (
    Format,
    OutOption,
    SiteFolder,
    UnitsOption,
    VisitsOption,
    YearOption,
    app,
    check_out,
    give,
    read_and_plan,
)

if TYPE_CHECKING:
    from scheduler.plan.card.plan import Cards
    from scheduler.plan.site import SitePlan


class CardFormat(StrEnum):
    """How a card is printed."""

    text = "text"
    markdown = "markdown"
    csv = "csv"
    json = "json"
    xlsx = "xlsx"
    ics = "ics"


@app.command()
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
    from scheduler.report.views import visits as report

    if compare_visits and format_ is CardFormat.ics:
        raise typer.BadParameter("a comparison is no calendar", param_hint="--format")
    check_out(format_, out)
    plan, shown = read_and_plan(site, units)
    start = datetime.date(year, 1, 1) if year else datetime.date.today()
    cards = plan_cards(plan, start)
    if compare_visits:
        result = _compared(plan, cards, format_, shown)
        cautions = plan.cautions
    else:
        result = _told(plan, cards, visits, start, format_, shown)
        cautions = (*plan.cautions, *report.cautions(cards, visits))
    if format_ is CardFormat.xlsx and isinstance(result, str):
        # There is no card to write, and why not is to be read.
        out = None
    plain = (CardFormat.text, CardFormat.markdown)
    spoken = Format.text if format_ in plain else Format.csv
    give(result, out, cautions, spoken, shown)


def _told(
    plan: SitePlan,
    cards: Cards,
    visits: int,
    start: datetime.date,
    format_: CardFormat,
    units: str,
) -> str | bytes:
    """The card, or why there is none and what controller would hold it."""
    from scheduler.plan.card.controllers import smallest_controller
    from scheduler.report import data
    from scheduler.report.books import workbook
    from scheduler.report.books.reminders import to_calendar
    from scheduler.report.views import card
    from scheduler.report.views import visits as report

    found = cards.cards[visits - 1]
    if found is None:
        smallest = smallest_controller(plan, visits, start.year)
        if format_ is CardFormat.json:
            return data.to_json(report.refusal_data(plan, cards, smallest))
        return report.refusal(plan, cards, visits, smallest)
    if format_ is CardFormat.json:
        return data.to_json(card.to_data(plan, found))
    if format_ is CardFormat.csv:
        return data.to_csv(card.to_table(plan, found), units)
    if format_ is CardFormat.xlsx:
        rows, name = card.to_table(plan, found), plan.site.name
        return workbook.to_workbook(rows, units, "Controller card", name)
    if format_ is CardFormat.ics:
        return to_calendar(plan, found, start.year)
    if format_ is CardFormat.markdown:
        return card.to_markdown(plan, found, units)
    return card.to_text(plan, found, units)


def _compared(
    plan: SitePlan, cards: Cards, format_: CardFormat, units: str
) -> str | bytes:
    from scheduler.report import data
    from scheduler.report.books import workbook
    from scheduler.report.views import visits as report

    if format_ is CardFormat.json:
        return data.to_json(report.comparison_data(plan, cards))
    if format_ is CardFormat.csv:
        return data.to_csv(report.comparison(plan, cards), units)
    if format_ is CardFormat.xlsx:
        rows, name = report.comparison(plan, cards), plan.site.name
        return workbook.to_workbook(rows, units, "Visits to the controller", name)
    style = "pipe" if format_ is CardFormat.markdown else "simple"
    return report.comparison_text(plan, cards, units, style)
