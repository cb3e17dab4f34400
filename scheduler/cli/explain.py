"""`scheduler explain`"""

from __future__ import annotations

from typing import Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    MonthOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    answer,
    app,
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
    from scheduler.report.asked import zone_row
    from scheduler.report.views import explained as view
    from scheduler.report.views import working

    number = read_month(month)
    plan, shown = read_and_plan(site, units)
    zone = plan.site.zones.zone[zone_row(plan.site, zone)]
    steps = working.explain(plan, zone, number, shown)
    title = working.title(plan, zone, number)
    answer(
        Answer(
            blocks=lambda: view.blocks(title, steps),
            data=lambda: view.to_data(zone, number, steps),
            table=lambda: view.to_table(steps),
            markdown=lambda: view.working_blocks(title, steps),
        ),
        Asked(format_, out, shown),
    )
