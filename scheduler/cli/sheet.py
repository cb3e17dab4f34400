"""`scheduler sheet`"""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    DateOption,
    SiteFolder,
    UnitsOption,
    VisitsOption,
    YearOption,
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
    units: UnitsOption = None,
) -> None:
    """Write a page for the owner, and one a visit for the controller door."""
    from importlib.metadata import version

    from scheduler import browser
    from scheduler.budget.goes import where_it_goes
    from scheduler.budget.rain_rules import hand_rule
    from scheduler.budget.savings import budget_site
    from scheduler.inputs.forms.dates import read_date
    from scheduler.plan.card.plan import plan_card
    from scheduler.report.pages import sheet as page
    from scheduler.report.views import card as report

    as_pdf = browser.is_pdf(out)
    if date is not None and year is not None:
        raise typer.BadParameter("the date has its year", param_hint="--year")
    today = datetime.date.today() if date is None else read_date(date)
    plan, shown = read_and_plan(site, units, today)
    start = datetime.date(year, 1, 1) if year else today
    card = plan_card(plan, start, visits)
    made = page.Made(today, version("scheduler"))
    paper = page.PAPERS[shown] if as_pdf else ""
    rule = hand_rule(plan) if plan.site.controller.rain_shutoff_mm is None else None
    goes = where_it_goes(plan)
    result: str | bytes = page.sheet(
        budget_site(plan), card, made, shown, paper, rule, goes
    )
    if as_pdf:
        result = browser.printed(str(result), out)
    cautions = (*plan.cautions, *report.broken(plan, card))
    give(result, out, hard_limits(cautions, shown))
