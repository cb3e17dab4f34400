"""`scheduler cans`"""

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
    style_of,
)


@app.command()
def cans(
    file: Annotated[
        Path,
        typer.Argument(
            help="CSV of the cans, or a workbook with a sheet cans", metavar="FILE"
        ),
    ],
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show rate and uniformity of a catch-can test."""
    from scheduler.inputs.canfile import read_can_file
    from scheduler.rates.cans import can_tests
    from scheduler.report import data
    from scheduler.report.views import cans as report

    tests = can_tests(read_can_file(file))
    shown = (units or Units.us).value
    if format_ is Format.json:
        result = data.to_json(report.to_data(tests, shown))
    elif format_ is Format.csv:
        result = data.to_csv(report.to_table(tests), shown)
    else:
        result = report.to_text(tests, shown, style_of(format_))
    give(result, out, tests.cautions, format_, shown)
