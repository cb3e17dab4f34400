"""`scheduler night`"""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    Format,
    FormatOption,
    MonthOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    app,
    give,
    read_and_plan,
)


@app.command()
def night(
    site: SiteFolder,
    month: MonthOption,
    date: Annotated[
        str | None,
        typer.Option("--date", help="night of this date of the month, as 2026-07-13"),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", help="file for a picture, .png or .svg"),
    ] = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Put one watering night on the clock: what runs when."""
    from scheduler.inputs.columns import read_month
    from scheduler.inputs.nightdate import read_night_date
    from scheduler.plan.night import plan_night
    from scheduler.report import data, pictures
    from scheduler.report import night as report
    from scheduler.report.nightpicture import night_picture
    from scheduler.write import write_whole

    if picture is not None:
        pictures.check_picture(picture)
    number = read_month(month)
    day = None if date is None else read_night_date(date, number)
    plan, shown = read_and_plan(site, units)
    year = day.year if day else datetime.date.today().year
    found = plan_night(plan, year, number, day)
    if format_ is Format.json:
        result = data.to_json(report.to_data(found))
    elif format_ is Format.csv:
        result = data.to_csv(report.to_table(found), shown)
    elif format_ is Format.markdown:
        result = report.to_markdown(found, shown)
    else:
        result = report.to_text(found, shown)
    if picture is not None:
        write_whole(picture, night_picture(found, picture.suffix))
    give(result, out, found.cautions, format_, shown)
