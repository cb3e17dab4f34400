"""`scheduler card`"""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    CardFormat,
    DaysOption,
    LessOption,
    OutOption,
    SiteFolder,
    StageOption,
    UnitsOption,
    VisitsOption,
    YearOption,
    answer,
    asked_for,
    check_out,
    hard_limits,
    read_and_plan,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.budget.less.on_card import OnCard
    from scheduler.plan.card.plan import Card
    from scheduler.plan.site import SitePlan
    from scheduler.report.blocks import Block
    from scheduler.report.views.questions.asked import Wanted


def card(
    site: SiteFolder,
    visits: VisitsOption = 4,
    compare_visits: Annotated[
        bool, typer.Option("--compare-visits", help="water by visits a year")
    ] = False,
    date: Annotated[
        str | None,
        typer.Option("--date", help="day it is keyed in, as 2026-04-01 [today]"),
    ] = None,
    year: YearOption = None,
    less: LessOption = None,
    days: DaysOption = None,
    stage: StageOption = None,
    format_: Annotated[
        CardFormat, typer.Option("--format", help="how to print it; xlsx needs --out")
    ] = CardFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say what to key into the controller."""
    from scheduler.plan.card.plan import compare_cards, plan_card
    from scheduler.report.views import card as view
    from scheduler.report.views.visits import COMPARED

    if compare_visits and format_ is CardFormat.ics:
        raise typer.BadParameter("a comparison is no calendar", param_hint="--format")
    check_out(format_, out)
    start = _start(date, year)
    plan, shown = read_and_plan(site, units, None if year else start)
    wanted, on_card = asked_for(site, less, days, stage), None
    if wanted is not None:
        from scheduler.budget.less.on_card import card_with_less
        from scheduler.report.views.questions.asked import less_asked

        found = less_asked(plan, wanted, site, shown, start)
        plan = found.after
        if not compare_visits:
            on_card = card_with_less(found, start, visits)
            plan = on_card.found.after
    if compare_visits:
        told = _compared(plan, compare_cards(plan, start, COMPARED), shown)
        answer(told, Asked(format_, out, shown), hard_limits(plan.cautions, shown))
        return
    card = plan_card(plan, start, visits) if on_card is None else on_card.card
    told = _card(plan, card, start, shown)
    if on_card is not None and wanted is not None:
        told = _with_less(told, plan, on_card, wanted, shown)
    cautions = (*plan.cautions, *view.broken(plan, card))
    answer(told, Asked(format_, out, shown), hard_limits(cautions, shown))


def _start(date: str | None, year: int | None) -> datetime.date:
    """Day on which the card is keyed in."""
    from scheduler.inputs.forms.dates import read_date

    if date is not None and year is not None:
        raise typer.BadParameter("the date has its year", param_hint="--year")
    if date is not None:
        return read_date(date)
    return datetime.date(year, 1, 1) if year else datetime.date.today()


def _card(plan: SitePlan, card: Card, start: datetime.date, units: str) -> Answer:
    from scheduler.plan.card.ways_out import ways_out
    from scheduler.report.books.reminders import to_calendar
    from scheduler.report.views import card as view
    from scheduler.report.views.controller import keyed

    return Answer(
        # Ways out are tried only where they are read: that takes long.
        blocks=lambda: view.blocks(plan, card, units, ways_out(plan, card, start)),
        data=lambda: keyed.to_data(plan, card),
        table=lambda: keyed.to_table(plan, card),
        sheets=lambda: keyed.sheets(plan, card),
        book=("Controller card", plan.site.name),
        calendar=lambda: to_calendar(
            plan, card, units, datetime.datetime.now(datetime.UTC)
        ),
        keeps_limits=("text", "markdown"),
    )


def _with_less(
    told: Answer, plan: SitePlan, on_card: OnCard, wanted: Wanted, units: str
) -> Answer:
    """The card, with what it takes of the water asked for."""
    from scheduler.report.blocks import Heading
    from scheduler.report.views.controller import keyed
    from scheduler.report.views.questions import less as view

    asked = view.card_lines(on_card, wanted, units)

    def blocks() -> list[Block]:
        title, *rest = told.blocks()
        assert isinstance(title, Heading)
        return [replace(title, lines=[*asked, *title.lines]), *rest]

    def data() -> dict[str, Any]:
        assert told.data is not None
        return {**told.data(), "less": view.card_data(on_card, wanted)}

    return replace(
        told,
        blocks=blocks,
        data=data,
        table=lambda: keyed.to_table(plan, on_card.card, asked),
    )


def _compared(plan: SitePlan, cards: Sequence[Card], units: str) -> Answer:
    from scheduler.report.views import visits as view

    return Answer(
        blocks=lambda: view.comparison_blocks(plan, cards, units),
        data=lambda: view.comparison_data(cards),
        table=lambda: view.comparison(cards),
        book=("Visits to the controller", plan.site.name),
        keeps_limits=("text", "markdown"),
    )
