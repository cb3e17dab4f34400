"""`scheduler fields`"""

from __future__ import annotations

from typing import Annotated

import typer

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    UnitsOption,
    answer_with_page,
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
    from scheduler.report.books.handbook import field_page

    answer_with_page(lambda shown: field_page(file, shown), format_, out, units)
