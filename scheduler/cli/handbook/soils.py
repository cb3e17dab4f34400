"""`scheduler soils`"""

from __future__ import annotations

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


def soils(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List the soils and their usual values."""
    from scheduler.report.books.handbook import blocks_of, soil_page

    shown = (units or Units.us).value
    page = soil_page()
    answer(
        Answer(
            blocks=lambda: blocks_of(page),
            data=lambda: dict(page.content),
            table=lambda: page.rows,
        ),
        Asked(format_, out, shown),
    )
