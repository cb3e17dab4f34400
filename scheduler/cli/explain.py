"""`scheduler explain`"""

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
    answer,
    read_and_plan,
)


class Quarter(StrEnum):
    """Quarters of the ground by the water they get."""

    driest = "driest"
    second = "second"
    third = "third"
    wettest = "wettest"


def explain(
    site: SiteFolder,
    zone: Annotated[str, typer.Option("--zone", help="zone of zones.csv, or its name")],
    month: Annotated[
        str | None,
        typer.Option("--month", help="1 to 12, or jan to dec; a date tells its own"),
    ] = None,
    date: Annotated[
        str | None, typer.Option("--date", help="one day that was played, line by line")
    ] = None,
    part: Annotated[
        str | None,
        typer.Option("--part", help="part of parts.csv [the one it runs for]"),
    ] = None,
    quarter: Annotated[
        Quarter, typer.Option("--quarter", help="of the ground, for --date")
    ] = Quarter.second,
    picture: PictureOption = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show the working of one zone and month."""
    from scheduler.inputs.forms.dates import month_of_date, read_month
    from scheduler.report.asked import part_row, zone_row
    from scheduler.report.views.workings import by_days, day, working
    from scheduler.report.views.workings import explained as view

    if picture is not None:
        from scheduler.report.pictures.look import check_picture

        check_picture(picture, out)
    if month is not None:
        number = read_month(month)
    elif date is not None:
        number = month_of_date(date)
    else:
        raise typer.BadParameter(
            "name a month, or a day with --date", param_hint="--month"
        )
    plan, shown = read_and_plan(site, units)
    row = zone_row(plan.site, zone)
    of = None if part is None else part_row(plan.site, row, part)
    zone = plan.site.zones.zone[row]
    found = by_days.ladder(plan, row, number - 1)
    if date is None:
        steps = working.explain(plan, zone, number, shown, of)
        title = working.title(plan, zone, number)
        if of is not None and of != plan.decides[row, number - 1]:
            found = None
        ladder = by_days.ladder_blocks(found, plan.years, shown) if found else []
    else:
        steps = day.explain_day(plan, zone, number, date, quarter.value, shown, of)
        title, ladder = day.title(plan, zone, date, quarter.value), []
    drawn = {}
    if picture is not None:
        from scheduler.report.pictures.ladder import draw

        drawn[picture] = draw(plan, row, number, shown, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(title, steps, ladder),
            data=lambda: {
                **view.to_data(zone, number, steps),
                **({"ladder": by_days.ladder_data(found, shown)} if found else {}),
            },
            table=lambda: view.to_table(steps),
        ),
        Asked(format_, out, shown),
        files=drawn,
    )
