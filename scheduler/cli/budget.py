"""`scheduler budget`"""

from __future__ import annotations

from scheduler.cli.app import (
    BookFormat,
    BookFormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    app,
    check_out,
    give,
    read_and_plan,
)


@app.command()
def budget(
    site: SiteFolder,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show a year's water and cost, against allowance and today."""
    from scheduler.budget.savings import budget_site
    from scheduler.report import data
    from scheduler.report.books import workbook
    from scheduler.report.views import budget as report

    check_out(format_, out)
    plan, shown = read_and_plan(site, units)
    found = budget_site(plan)
    if format_ is BookFormat.json:
        result: str | bytes = data.to_json(report.to_data(found))
    elif format_ is BookFormat.csv:
        result = data.to_csv(report.to_table(found), shown)
    elif format_ is BookFormat.xlsx:
        rows, name = report.to_table(found), plan.site.name
        result = workbook.to_workbook(rows, shown, "Water budget", name)
    elif format_ is BookFormat.markdown:
        result = report.to_markdown(found, shown)
    else:
        result = report.to_text(found, shown)
    give(result, out, plan.cautions, format_, shown)
