"""`scheduler table`"""

from __future__ import annotations

import datetime

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)


def table(
    site: SiteFolder,
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the month-by-month watering table."""
    from scheduler.report.views import months
    from scheduler.report.views import table as view

    check_out(format_, out)
    if picture is not None:
        from scheduler.report.pictures.look import check_picture

        check_picture(picture, out)
    plan, shown = read_and_plan(site, units)
    drawn = {}
    if picture is not None:
        from scheduler.report.pictures.table import table_picture

        drawn[picture] = table_picture(plan, shown, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, shown),
            data=lambda: view.to_data(plan, shown, datetime.date.today().year),
            table=lambda: months.table_rows(plan),
            book=("Watering table", plan.site.name),
        ),
        Asked(format_, out, shown),
        hard_limits(plan.cautions, shown),
        drawn,
    )
