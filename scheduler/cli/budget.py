"""`scheduler budget`"""

from __future__ import annotations

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)


def budget(
    site: SiteFolder,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show a year's water and cost, against allowance and today."""
    from scheduler.budget.goes import where_it_goes
    from scheduler.budget.savings import budget_site
    from scheduler.report.views import budget as view

    check_out(format_, out)
    plan, shown = read_and_plan(site, units)
    found = budget_site(plan)
    answer(
        Answer(
            blocks=lambda: view.blocks(found, shown, where_it_goes(plan)),
            data=lambda: view.to_data(found, where_it_goes(plan)),
            table=lambda: view.to_table(found),
            book=("Water budget", plan.site.name),
            sheets=lambda: view.sheets(found, where_it_goes(plan)),
        ),
        Asked(format_, out, shown),
        hard_limits(plan.cautions, shown),
    )
