"""`scheduler cans`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    Units,
    UnitsOption,
    answer,
    hard_limits,
)


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
    from scheduler.report.views.heads import cans as view

    tests = can_tests(read_can_file(file))
    shown = (units or Units.us).value
    answer(
        Answer(
            blocks=lambda: view.blocks(tests, shown),
            data=lambda: view.to_data(tests, shown),
            table=lambda: view.to_table(tests),
        ),
        Asked(format_, out, shown),
        hard_limits(tests.cautions, shown),
    )
