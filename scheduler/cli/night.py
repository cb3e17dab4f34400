"""`scheduler night`"""

from __future__ import annotations

import datetime
from typing import Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    MonthOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)


def night(
    site: SiteFolder,
    month: MonthOption,
    date: Annotated[
        str | None,
        typer.Option("--date", help="night of this date of the month, as 2026-07-13"),
    ] = None,
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Put one watering night on the clock: what runs when."""
    from scheduler.inputs.forms.dates import read_month, read_night_date
    from scheduler.plan.night.plan import plan_night
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.pictures.night import night_picture
    from scheduler.report.views import night as view

    check_out(format_, out)
    if picture is not None:
        check_picture(picture, out)
    number = read_month(month)
    day = None if date is None else read_night_date(date, number)
    plan, shown = read_and_plan(site, units, day)
    today = datetime.date.today()
    # Without a date, the next such month: who asks in autumn means next summer.
    year = day.year if day else today.year + (number < today.month)
    found = plan_night(plan, year, number, day)
    drawn = {}
    if picture is not None:
        drawn[picture] = night_picture(found, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(found, shown),
            data=lambda: view.to_data(found),
            table=lambda: view.to_table(found),
            book=("Watering night", plan.site.name),
        ),
        Asked(format_, out, shown),
        hard_limits(found.cautions, shown),
        drawn,
    )
