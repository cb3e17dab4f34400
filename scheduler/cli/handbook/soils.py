"""`scheduler soils`"""

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
def soils(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List the soils and their usual values."""
    from scheduler.report.books.handbook import rendered, soil_page

    shown = (units or Units.us).value
    give(rendered(soil_page(), format_, shown), out, (), format_, shown)
