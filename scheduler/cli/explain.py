"""`scheduler explain`"""

from __future__ import annotations

from typing import Annotated

import typer

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
def explain(
    site: SiteFolder,
    zone: Annotated[str, typer.Option("--zone", help="zone of zones.csv")],
    month: Annotated[int, typer.Option("--month", min=1, max=12, help="1 to 12")],
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show the working of one zone and month."""
    from scheduler.report import data, explained, working

    plan, shown = read_and_plan(site, units)
    steps = working.explain(plan, zone, month, shown)
    title = working.title(plan, zone, month)
    if format_ is Format.json:
        result = data.to_json(explained.to_data(zone, month, steps))
    elif format_ is Format.csv:
        result = data.to_csv(explained.to_table(steps), shown)
    elif format_ is Format.markdown:
        result = explained.to_markdown(title, steps)
    else:
        result = explained.to_text(title, steps)
    give(result, out, (), format_, shown)
