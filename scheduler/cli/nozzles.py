"""`scheduler nozzles`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    LIMIT_NOT_MET,
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
def nozzles(
    site: SiteFolder,
    chart: Annotated[
        Path, typer.Option("--chart", help="nozzle chart, a CSV", metavar="CSV")
    ],
    write: Annotated[
        bool, typer.Option("--write", help="put what fits into heads.csv")
    ] = False,
    allow_more_cycles: Annotated[
        bool,
        typer.Option("--allow-more-cycles", help="most water, whatever the ground"),
    ] = False,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Choose a nozzle for each head: matched, within the supply."""
    from scheduler.inputs.chart import read_chart
    from scheduler.inputs.headsfile import HEADS, check_kept_in_file, with_new_heads
    from scheduler.plan.choosing import choose_nozzles
    from scheduler.report import data
    from scheduler.report.views import nozzles as report
    from scheduler.write import write_whole

    plan, shown = read_and_plan(site, units)
    if write:
        check_kept_in_file(plan.site.names)
    chosen = choose_nozzles(plan, read_chart(chart), allow_more_cycles)
    # A linked heads.csv is written where it lies.
    path = (site / HEADS).resolve()
    new = report.new_heads(chosen) if write else {}
    heads = with_new_heads(path, new, plan.site.units) if new else None
    if format_ is Format.json:
        result = data.to_json(report.to_data(chosen))
    elif format_ is Format.csv:
        result = data.to_csv(report.heads_table(chosen), shown)
    elif format_ is Format.markdown:
        result = report.to_markdown(chosen, shown)
    else:
        result = report.to_text(chosen, shown)
    give(result, out, (), format_, shown)
    if heads is not None:
        write_whole(path, heads)
    if out is not None or format_ in (Format.csv, Format.json):
        for line in report.limit_lines(chosen, shown):
            typer.echo(line, err=True)
    if not chosen.fits:
        raise typer.Exit(LIMIT_NOT_MET)
