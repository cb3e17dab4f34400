"""`scheduler method`"""

from __future__ import annotations

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    UnitsOption,
    answer_with_page,
)


def method(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the method: every formula with its source."""
    from scheduler.report.books.handbook import method_page

    answer_with_page(method_page, format_, out, units)
