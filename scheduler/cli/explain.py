"""`scheduler explain`"""

from __future__ import annotations

from typing import Annotated

import typer

from scheduler.cli.app import (
    Format,
    FormatOption,
    MonthOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    app,
    give,
    read_and_plan,
)


@app.command()
def explain(
    site: SiteFolder,
    zone: Annotated[str, typer.Option("--zone", help="zone of zones.csv, or its name")],
    month: MonthOption,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show the working of one zone and month."""
    from scheduler.inputs.forms.columns import read_month
    from scheduler.report import data
    from scheduler.report.asked import zone_row
    from scheduler.report.views import explained, working

    number = read_month(month)
    plan, shown = read_and_plan(site, units)
    zone = plan.site.zones.zone[zone_row(plan.site, zone)]
    steps = working.explain(plan, zone, number, shown)
    title = working.title(plan, zone, number)
    if format_ is Format.json:
        result = data.to_json(explained.to_data(zone, number, steps))
    elif format_ is Format.csv:
        result = data.to_csv(explained.to_table(steps), shown)
    elif format_ is Format.markdown:
        result = explained.to_markdown(title, steps)
    else:
        result = explained.to_text(title, steps)
    give(result, out, (), format_, shown)
