"""`scheduler plants`"""

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
def plants(
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """List the plants and their usual values."""
    from scheduler.report.books.handbook import plant_page, rendered

    shown = (units or Units.us).value
    give(rendered(plant_page(), format_, shown), out, (), format_, shown)
