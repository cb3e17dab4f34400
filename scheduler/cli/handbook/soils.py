"""`scheduler soils`"""

from __future__ import annotations

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    UnitsOption,
    answer_with_page,
)


def soils(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List the soils and their usual values."""
    from scheduler.report.books.handbook import soil_page

    answer_with_page(lambda _: soil_page(), format_, out, units)
