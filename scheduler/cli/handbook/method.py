"""`scheduler method`"""

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


def method(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the method: every formula with its source."""
    from scheduler.report.books.handbook import blocks_of, method_page

    shown = (units or Units.us).value
    page = method_page(shown)
    answer(
        Answer(
            blocks=lambda: blocks_of(page),
            data=lambda: dict(page.content),
            table=lambda: page.rows,
        ),
        Asked(format_, out, shown),
    )
