"""`scheduler budget`"""

from __future__ import annotations

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    app,
    give,
    read_and_plan,
)


@app.command()
def budget(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show a year's water and cost, against allowance and today."""
    from scheduler.budget.savings import budget_site
    from scheduler.report import budget as report
    from scheduler.report import data

    plan, shown = read_and_plan(site, units)
    found = budget_site(plan)
    if format_ is Format.json:
        result = data.to_json(report.to_data(found))
    elif format_ is Format.csv:
        result = data.to_csv(report.to_table(found), shown)
    elif format_ is Format.markdown:
        result = report.to_markdown(found, shown)
    else:
        result = report.to_text(found, shown)
    give(result, out, plan.cautions, format_, shown)
