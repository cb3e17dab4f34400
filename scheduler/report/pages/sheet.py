"""The sheet: one page for the owner and one a visit for inside the controller door."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import PurePath
from typing import TYPE_CHECKING

from scheduler.budget.compare import Compared
from scheduler.budget.goes import Goes
from scheduler.budget.rain_rules import HandRule
from scheduler.budget.savings import Budget, budget_as_keyed_in
from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan
from scheduler.report.blocks import alignment
from scheduler.report.pages import bill, door, owner, times
from scheduler.report.pages.agency import agency_page
from scheduler.report.pages.compared import before_and_after
from scheduler.report.pages.fit import fitted
from scheduler.report.pictures import look
from scheduler.report.pictures.water import water_picture
from scheduler.report.shown import MONTH_LABELS
from scheduler.report.views import card as card_report
from scheduler.report.views.heads.field import standing
from scheduler.report.words import sentences
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.pages import agency as agency_words
from scheduler.report.words.pages import compared as compared_words
from scheduler.report.words.pages import owner as owner_words
from scheduler.report.words.pages import sheet as words
from scheduler.report.words.pages import times as times_words

if TYPE_CHECKING:
    import jinja2

PAPERS = {"us": "letter", "metric": "A4"}
"""Paper by system of units, where the page itself has to name one."""

COLUMNED_ZONES = 6
"""More zones stand in columns on the owner's page."""


@dataclass(frozen=True, slots=True)
class Made:
    """When a sheet was made, and by which version of the program."""

    date: datetime.date
    version: str


def sheet(
    budget: Budget,
    card: Card,
    made: Made,
    units: str,
    paper: str = "",
    rule: HandRule | None = None,
    goes: Goes | None = None,
    compared: Compared | None = None,
    agency: bool = False,
    asked: Sequence[str] = (),
    given_up: bool = False,
) -> str:
    """A self-contained HTML page: no script, and nothing from elsewhere.

    The owner's page tells the water of `card`, the agency's that of the table beside.
    `rule` is what a hand does when it rains, where there is no rain shut-off; `goes`
    tells where the water goes, `compared` what the site was before. `paper` names the
    paper to print on, as `letter`; left out, the reader's browser chooses. With
    `agency` there is a page for the water agency too.
    `asked` tells what the card takes of less that was asked for. Where water was
    `given_up` the budget's savings are those of the table from which it was.
    """
    import markupsafe

    plan, keyed_in = budget.plan, budget_as_keyed_in(budget, card)
    picture = water_picture(
        keyed_in.year.volume_l.sum(axis=0),
        None if budget.year.today_l is None else budget.year.today_l.sum(axis=0),
        units,
        _picture_told(keyed_in, units),
    )
    decide = " ".join(card_report.decision(plan, card, units))
    html = template("sheet.html").render(
        words=words,
        card_words=card_words,
        times_words=times_words,
        compared_words=compared_words,
        agency_words=agency_words,
        month_labels=MONTH_LABELS,
        compared=[] if compared is None else before_and_after(compared, units),
        agency=agency_page(budget, card, _source(plan), units) if agency else None,
        site=plan.site,
        budget=keyed_in,
        alignment=alignment,
        paper=paper,
        made=made,
        units=units,
        many=len(plan.site.zones) > door.MANY_ZONES,
        columned=len(plan.site.zones) > COLUMNED_ZONES,
        look=look,
        year_story=owner.year_story(keyed_in, units),
        comparison=[
            *asked,
            *bill.comparison_story(keyed_in, units),
            *bill.goes_story(goes, budget),
        ],
        decide=decide,
        timetable=times.timetable(plan, card),
        times=[*times.times_story(plan, card), *door.who_to_ask(plan)],
        year_rows=bill.year_rows(keyed_in, units, compared),
        savings=bill.savings_story(budget, units, given_up=given_up),
        zones=owner.zone_stories(keyed_in, units),
        reasons=owner.reasons(plan, card),
        watch_for=owner.watch_for(
            keyed_in,
            rule,
            units,
            decide=decide,
            given_up=given_up,
            intervals=card_report.has_intervals(card.visits),
            by_hand=bool(card.by_hand or card.judged.filled),
        ),
        # Its label was escaped where it was drawn.
        standing=standing(plan),
        picture=markupsafe.Markup(picture),
        source=_source(plan),
        cannot_keep=card_report.not_kept(plan, card, units),
        pages=door.door_pages(plan, card, units, rule, asked),
        pauses=plan.site.controller.gap_s > 0,
        door_lines=door.door_lines(plan),
        frost=owner.frost_told(plan, units),
        watch=" ".join(sentences.WATCH),
        work_safely=sentences.work_safely(plan.site.lines_can_freeze is not False),
    )
    return fitted(html)


def _source(plan: SitePlan) -> str:
    """Name of the climate as an owner reads it; "" for a sheet of the site's own."""
    path, _, sheet_ = plan.months.source.partition(": ")
    return "" if sheet_ == "climate" else PurePath(path).stem.replace("_", " ")


def _picture_told(budget: Budget, units: str) -> str:
    """The year's water in words, for those who do not see the picture."""
    year = budget.year
    told = owner.months_told(year.volume_l.sum(axis=0), units)
    if year.today_l is None:
        return owner_words.picture(told, "")
    return owner_words.picture(told, owner.months_told(year.today_l.sum(axis=0), units))


@cache
def template(name: str) -> jinja2.Template:
    """Template of a page; what is put into it is escaped."""
    import jinja2

    environment = jinja2.Environment(
        autoescape=True,
        loader=jinja2.PackageLoader("scheduler.report.pages", "templates"),
        lstrip_blocks=True,
        trim_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    return environment.get_template(name)
