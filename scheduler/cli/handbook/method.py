"""`scheduler method`"""

from __future__ import annotations

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    Units,
    UnitsOption,
    app,
    give,
)


@app.command()
def method(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the method: every formula with its source."""
    from scheduler.report.books.handbook import method_page, rendered

    shown = (units or Units.us).value
    give(rendered(method_page(shown), format_, shown), out, (), format_, shown)
