"""`scheduler fields`"""

from __future__ import annotations

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
)


def fields(
    file: Annotated[
        str | None,
        typer.Argument(help="one file, such as zones.csv [all]", metavar="FILE"),
    ] = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List every column and key of the files."""
    from scheduler.report.books.handbook import blocks_of, field_page

    shown = (units or Units.us).value
    page = field_page(file, shown)
    answer(
        Answer(
            blocks=lambda: blocks_of(page),
            data=lambda: dict(page.content),
            table=lambda: page.rows,
        ),
        Asked(format_, out, shown),
    )
