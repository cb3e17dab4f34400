"""`scheduler night`"""

from __future__ import annotations

import datetime
from typing import Annotated

import typer

from scheduler.cli.app import (
    Format,
    FormatOption,
    MonthOption,
    OutOption,
    PictureOption,
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
    picture: PictureOption = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Put one watering night on the clock: what runs when."""
    from scheduler.inputs.forms.columns import read_month
    from scheduler.inputs.forms.dates import read_night_date
    from scheduler.plan.night.plan import plan_night
    from scheduler.report import data
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.pictures.night import night_picture
    from scheduler.report.views import night as report

    if picture is not None:
        check_picture(picture, out)
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
    drawn = {}
    if picture is not None:
        drawn[picture] = night_picture(found, picture.suffix)
    give(result, out, found.cautions, format_, shown, drawn)
