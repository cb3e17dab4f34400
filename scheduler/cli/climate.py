"""`scheduler climate`"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    OutOption,
    PictureOption,
    Units,
    UnitsOption,
    answer,
    check_out,
    read_and_plan,
)

if TYPE_CHECKING:
    from scheduler.report.views.climate import ClimateView
    from scheduler.report.views.days import DaysView


class Service(StrEnum):
    """Services that give weather of a point on the map."""

    nasa_power = "nasa-power"
    pvgis = "pvgis"
    acis = "acis"


def climate(
    place: Annotated[
        Path,
        typer.Argument(
            help="folder of the site, its workbook, or a weather file", metavar="SITE"
        ),
    ],
    daily: Annotated[
        bool, typer.Option("--daily", help="show the days, any stretch of them")
    ] = False,
    latitude: Annotated[
        float | None,
        typer.Option("--latitude", min=-90, max=90, help="of a file: north positive"),
    ] = None,
    elevation: Annotated[
        float | None,
        typer.Option("--elevation", min=-430, max=6000, help="of a file: m"),
    ] = None,
    wind_height: Annotated[
        float | None,
        typer.Option("--wind-height", min=0.5, max=100, help="of a file's gauge: m"),
    ] = None,
    fetch: Annotated[
        Service | None,
        typer.Option("--fetch", help="get daily weather of the site over the network"),
    ] = None,
    first_year: Annotated[
        int | None, typer.Option("--from", min=1950, max=2100, help="first year to get")
    ] = None,
    last_year: Annotated[
        int | None, typer.Option("--to", min=1950, max=2100, help="last year to get")
    ] = None,
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show ET0, rain and effective rain by month."""
    if fetch is not None:
        if picture is not None:
            raise typer.BadParameter(
                "fetched weather is drawn by a second call", param_hint="--picture"
            )
        _fetch(place, fetch, first_year, last_year, out)
        return
    if daily and picture is not None:
        raise typer.BadParameter("days are not drawn", param_hint="--picture")
    from scheduler.inputs.sources.source import is_workbook
    from scheduler.inputs.weather.alone import read_weather_file
    from scheduler.report.views import climate as view
    from scheduler.report.views import days as days_view

    if picture is not None:
        from scheduler.report.pictures.look import check_picture

        check_picture(picture, out)
    check_out(format_, out)
    named_file = place.is_file() or (place.suffix != "" and not place.is_dir())
    is_file = named_file and not is_workbook(place)
    if is_file:
        read = read_weather_file(place, latitude, elevation, wind_height, not daily)
        shown, name = units.value if units else Units.metric.value, place.name
    else:
        plan, shown = read_and_plan(place, units)
        name = plan.site.name
    asked = Asked(format_, out, shown)
    if daily:
        days = days_view.view_of_file(read) if is_file else days_view.view_of_site(plan)
        answer(_days(days, shown, name), asked)
        return
    found = view.view_of_file(read) if is_file else view.view_of_site(plan)
    drawn = {}
    if picture is not None:
        from scheduler.report.pictures.climate import climate_picture

        drawn[picture] = climate_picture(found, shown, picture.suffix)
    answer(_months(found, shown, name), asked, files=drawn)


def _months(found: ClimateView, units: str, name: str) -> Answer:
    """The twelve months."""
    from scheduler.report.views import climate as view

    return Answer(
        blocks=lambda: view.blocks(found, units),
        data=lambda: view.to_data(found),
        table=lambda: view.months_table(found.months),
        book=("Climate", name),
    )


def _days(found: DaysView, units: str, name: str) -> Answer:
    """The days."""
    from scheduler.report.views import days as view

    return Answer(
        blocks=lambda: view.blocks(found, units),
        data=lambda: view.to_data(found),
        table=lambda: view.to_table(found),
        book=("Days", name),
    )


def _fetch(
    site: Path,
    service: Service,
    first_year: int | None,
    last_year: int | None,
    out: Path | None,
) -> None:
    """Write weather of a service into the site folder, whole or not at all."""
    import datetime

    from scheduler.inputs.sources.place import check_may_be_written, read_place
    from scheduler.inputs.sources.source import folder_of, names_of
    from scheduler.inputs.weather import services
    from scheduler.report.books.fetched import fetched_file, fetched_text
    from scheduler.write import write_whole

    today = datetime.date.today()
    path = out or folder_of(site) / f"weather_{service.value}.csv"
    latitude, longitude = read_place(site)
    check_may_be_written(path)
    request = services.request(latitude, longitude, first_year, last_year, today)
    fetched = services.fetch(service.value, request)
    write_whole(path, fetched_file(fetched, today.isoformat()))
    told = names_of(site).told("site.toml")
    typer.echo(fetched_text(fetched, str(path), path.name, told), nl=False)
