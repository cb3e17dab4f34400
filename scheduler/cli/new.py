"""`scheduler new`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    Units,
    app,
)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="folder to make", metavar="FOLDER")],
    units: Annotated[Units, typer.Option("--units", help="units to write")] = Units.us,
) -> None:
    """Start a site folder with templates that already run."""
    from scheduler.report.reference import site_templates
    from scheduler.write import write_folder

    write_folder(folder, site_templates(units.value))
    typer.echo(f"{folder}: made. Fill in the files, then: scheduler table {folder}")
