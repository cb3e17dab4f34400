"""`scheduler coverage`"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    ZoneOption,
    answer,
    hard_limits,
)


class Profile(StrEnum):
    """Shape of the rate along the throw."""

    triangular = "triangular"
    elliptical = "elliptical"
    uniform = "uniform"


def coverage(
    site: SiteFolder,
    picture: PictureOption = None,
    profile: Annotated[
        Profile, typer.Option("--profile", help="shape of the rate along the throw")
    ] = Profile.triangular,
    zone: ZoneOption = None,
    cell_m: Annotated[
        float | None, typer.Option("--cell-m", help="size of a grid cell [0.25 m]")
    ] = None,
    cell_ft: Annotated[
        float | None, typer.Option("--cell-ft", help="the same in feet")
    ] = None,
    wind_mph: Annotated[
        float | None, typer.Option("--wind-mph", help="steady wind [still air]")
    ] = None,
    wind_m_s: Annotated[
        float | None, typer.Option("--wind-m-s", help="the same in m/s")
    ] = None,
    wind_from_deg: Annotated[
        float | None,
        typer.Option("--wind-from-deg", help="where it comes from, 90 for east"),
    ] = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show where the water falls, from where heads stand."""
    from scheduler.inputs.folder import read_site
    from scheduler.inputs.positions import read_cell, read_wind
    from scheduler.rates.coverage.grid import CELL_M, cover_site
    from scheduler.rates.coverage.wind import Wind
    from scheduler.report.asked import zone_row
    from scheduler.report.pictures import coverage as pictures
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.views.heads import coverage as view

    cell = read_cell(cell_m, cell_ft) or CELL_M
    wind = read_wind(wind_m_s, wind_mph, wind_from_deg)
    if picture is not None:
        check_picture(picture, out)
    read = read_site(site)
    shown = units.value if units else read.units
    only = None if zone is None else zone_row(read, zone)
    found = cover_site(
        read, profile.value, cell, only, wind=None if wind is None else Wind(*wind)
    )
    view.refuse_nothing(read, found, shown)
    drawn = {}
    if picture is not None:
        drawn[picture] = pictures.coverage_picture(read, found, shown, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(read, found, shown),
            data=lambda: view.to_data(read, found),
            table=lambda: view.to_table(read, found),
        ),
        Asked(format_, out, shown),
        hard_limits(found.cautions, shown),
        drawn,
    )
