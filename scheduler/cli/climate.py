"""`scheduler climate`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    Units,
    UnitsOption,
    app,
    give,
    read_and_plan,
    style_of,
)


@app.command()
def climate(
    place: Annotated[
        Path,
        typer.Argument(help="folder of the site, or a weather file", metavar="SITE"),
    ],
    daily: Annotated[
        bool, typer.Option("--daily", help="print the days, as CSV or JSON")
    ] = False,
    latitude: Annotated[
        float | None,
        typer.Option("--latitude", min=-90, max=90, help="of a file: north positive"),
    ] = None,
    elevation: Annotated[
        float | None,
        typer.Option("--elevation", min=-430, max=6000, help="of a file: m"),
    ] = None,
    wind_height: Annotated[
        float | None,
        typer.Option("--wind-height", min=0.5, max=100, help="of a file's gauge: m"),
    ] = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show ET0, rain and effective rain by month."""
    from scheduler.report import climate as report
    from scheduler.report import data

    if place.is_file():
        view = report.view_of_file(place, latitude, elevation, wind_height)
        shown = units.value if units else Units.metric.value
    else:
        plan, shown = read_and_plan(place, units)
        view = report.view_of_site(plan)
    if daily:
        if format_ is Format.json:
            result = data.to_json(report.days_data(view))
        else:
            result = data.to_csv(report.days_table(view), shown)
    elif format_ is Format.json:
        result = data.to_json(report.to_data(view))
    elif format_ is Format.csv:
        result = data.to_csv(report.months_table(view.months), shown)
    else:
        result = report.to_text(view, shown, style_of(format_))
    give(result, out, (), format_, shown)
