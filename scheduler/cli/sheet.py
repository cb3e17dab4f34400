"""`scheduler sheet`"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    DateOption,
    DaysOption,
    LessOption,
    SiteFolder,
    StageOption,
    UnitsOption,
    VisitsOption,
    YearOption,
    asked_for,
    give,
    hard_limits,
    read_and_plan,
)


def sheet(
    site: SiteFolder,
    out: Annotated[Path, typer.Option("--out", help="file to write: .html or .pdf")],
    visits: VisitsOption = 4,
    date: DateOption = None,
    year: YearOption = None,
    compare: Annotated[
        Path | None,
        typer.Option("--compare", help="folder of the site as it was before"),
    ] = None,
    agency: Annotated[
        bool, typer.Option("--agency", help="add a page for the water agency")
    ] = False,
    less: LessOption = None,
    days: DaysOption = None,
    stage: StageOption = None,
    units: UnitsOption = None,
) -> None:
    """Write a page for the owner, and one a visit for the controller door."""
    from importlib.metadata import version

    from scheduler import browser
    from scheduler.budget.compare import compare_sites, compared_as_keyed_in
    from scheduler.budget.goes import where_it_goes
    from scheduler.budget.rain_rules import hand_rule
    from scheduler.budget.savings import budget_site, find_savings
    from scheduler.inputs.folder import read_other_site
    from scheduler.inputs.forms.dates import read_date
    from scheduler.plan.card.plan import plan_card
    from scheduler.plan.site import plan_site
    from scheduler.report.pages import sheet as page
    from scheduler.report.views import card as report

    as_pdf = browser.is_pdf(out)
    if date is not None and year is not None:
        raise typer.BadParameter("the date has its year", param_hint="--year")
    today = datetime.date.today() if date is None else read_date(date)
    other = (
        None
        if compare is None
        else read_other_site(compare, max(today, datetime.date.today()))
    )
    plan, shown = read_and_plan(site, units, today)
    start = datetime.date(year, 1, 1) if year else today
    wanted = asked_for(site, less, days, stage)
    asked: Sequence[str] = ()
    table = plan
    if wanted is None:
        card = plan_card(plan, start, visits)
    else:
        from scheduler.budget.less.on_card import card_with_less
        from scheduler.report.views.questions.asked import less_asked
        from scheduler.report.views.questions.less import card_lines

        found = less_asked(plan, wanted, site, shown, today)
        on_card = card_with_less(found, start, visits)
        plan, card = on_card.found.after, on_card.card
        table = on_card.found.base
        asked = card_lines(on_card, wanted, shown)
    compared = None
    if other is not None:
        before = plan_site(other, today)
        compared = compared_as_keyed_in(
            compare_sites(before, plan), plan_card(before, start, visits), card
        )
    made = page.Made(today, version("scheduler"))
    paper = page.PAPERS[shown] if as_pdf else ""
    rule = hand_rule(plan) if plan.site.controller.rain_shutoff_mm is None else None
    goes = where_it_goes(plan)
    given_up = wanted is not None and table is not plan
    budget = budget_site(plan)
    if given_up:
        # Steps beside a plan that is dry on purpose would have to make it green first.
        budget = replace(budget, savings=find_savings(table))
    result: str | bytes = page.sheet(
        budget,
        card,
        made,
        shown,
        paper,
        rule,
        goes,
        compared,
        agency,
        asked,
        given_up,
    )
    if as_pdf:
        result = browser.printed(str(result), out)
    cautions = (*plan.cautions, *report.broken(plan, card))
    give(result, out, hard_limits(cautions, shown))
