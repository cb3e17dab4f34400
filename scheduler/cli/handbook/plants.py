"""`scheduler plants`"""

from __future__ import annotations

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    UnitsOption,
    answer_with_page,
)


def plants(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List the plants and their usual values."""
    from scheduler.report.books.handbook import plant_page

    answer_with_page(lambda _: plant_page(), format_, out, units)
