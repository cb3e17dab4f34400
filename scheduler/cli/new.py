"""`scheduler new`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    Units,
)


def new(
    folder: Annotated[Path, typer.Argument(help="folder to make", metavar="FOLDER")],
    units: Annotated[Units, typer.Option("--units", help="units to write")] = Units.us,
    workbook: Annotated[
        bool, typer.Option("--workbook", help="one workbook in place of the files")
    ] = False,
) -> None:
    """Start a site folder with templates that already run."""
    from scheduler.inputs.sources.source import WORKBOOK
    from scheduler.report.reference import site_templates
    from scheduler.write import write_folder

    if folder.suffix.lower() == ".xlsx":
        raise typer.BadParameter(
            f"a folder is made: for a workbook in it write {folder.with_suffix('')} "
            "--workbook",
            param_hint="FOLDER",
        )
    if workbook:
        from scheduler.report.books.site import site_workbook

        write_folder(folder, {WORKBOOK: site_workbook(units.value)})
    else:
        write_folder(folder, site_templates(units.value))
    what = WORKBOOK if workbook else "the files"
    typer.echo(f"{folder}: made. Fill in {what}, then: scheduler table {folder}")
