"""`scheduler plants`"""

from __future__ import annotations

from scheduler.cli.app import Format, FormatOption, OutOption, UnitsOption
from scheduler.cli.handbook.page import answer_with


def plants(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List the plants and their usual values."""
    from scheduler.report.books.handbook import plant_page

    answer_with(lambda _: plant_page(), format_, out, units)
