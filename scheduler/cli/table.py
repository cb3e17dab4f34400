"""`scheduler table`"""

from __future__ import annotations

import datetime

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    DateOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    ZoneOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)


def table(
    site: SiteFolder,
    zone: ZoneOption = None,
    date: DateOption = None,
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the month-by-month watering table."""
    from dataclasses import replace

    from scheduler.inputs.forms.dates import read_date
    from scheduler.report.asked import cautions_of_zone, zone_row
    from scheduler.report.views import months
    from scheduler.report.views import table as view
    from scheduler.report.views.plantings.table import steps_sheets

    check_out(format_, out)
    if picture is not None:
        from scheduler.report.pictures.look import check_picture

        check_picture(picture, out)
        if zone is not None:
            raise typer.BadParameter(
                "a picture of the table shows all zones", param_hint="--picture"
            )
    day = datetime.date.today() if date is None else read_date(date)
    plan, shown = read_and_plan(site, units, day)
    only = None if zone is None else zone_row(plan.site, zone)
    if only is not None:
        name = plan.site.zones.zone[only]
        plan = replace(plan, cautions=tuple(cautions_of_zone(plan.cautions, name)))
    drawn = {}
    if picture is not None:
        from scheduler.report.pictures.table import table_picture

        drawn[picture] = table_picture(plan, shown, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, shown, only),
            data=lambda: view.to_data(plan, shown, day.year, only),
            table=lambda: months.table_rows(plan, only),
            book=("Watering table", plan.site.name),
            sheets=lambda: (
                [*months.year_sheets(plan), *steps_sheets(plan)] if only is None else ()
            ),
        ),
        Asked(format_, out, shown),
        hard_limits(plan.cautions, shown),
        drawn,
    )
