"""`scheduler less`"""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    DaysOption,
    OutOption,
    PictureOption,
    SiteFolder,
    StageOption,
    UnitsOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)

if TYPE_CHECKING:
    from pathlib import Path


def less(
    site: SiteFolder,
    percent: Annotated[
        float | None, typer.Option("--percent", help="so much less than the table")
    ] = None,
    volume_gal: Annotated[
        float | None, typer.Option("--volume-gal", help="most water of a year, gal")
    ] = None,
    volume_l: Annotated[
        float | None, typer.Option("--volume-l", help="most water of a year, L")
    ] = None,
    volume_m3: Annotated[
        float | None, typer.Option("--volume-m3", help="most water of a year, m³")
    ] = None,
    cost: Annotated[
        float | None, typer.Option("--cost", help="most that a year's bills come to")
    ] = None,
    days: DaysOption = None,
    stage: StageOption = None,
    curve: Annotated[
        bool, typer.Option("--curve", help="water against dry days, down to nothing")
    ] = False,
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Give up so much water, or days: who goes short."""
    from scheduler.budget.less.less import curve as curve_of
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.views.questions import less as view
    from scheduler.report.views.questions.asked import (
        Wanted,
        less_asked,
        volume_asked,
        with_stage,
    )

    check_out(format_, out)
    if picture is not None:
        check_picture(picture, out)
    plan, shown = read_and_plan(site, units)
    volume = volume_asked(volume_gal, volume_l, volume_m3)
    wanted = with_stage(Wanted(percent, volume, cost, days, stage), site)
    found = less_asked(plan, wanted, site, shown, datetime.date.today())
    rungs = curve_of(found) if curve or picture is not None else ()
    files: dict[Path, str | bytes] = {}
    if picture is not None:
        from scheduler.report.pictures.questions.less import less_picture

        files[picture] = less_picture(found, rungs, shown, picture.suffix)
    told = rungs if curve else ()
    answer(
        Answer(
            blocks=lambda: view.blocks(found, wanted, site, told, shown),
            data=lambda: view.to_data(found, rungs, wanted),
            table=lambda: view.to_table(found),
            book=("Less water", plan.site.name),
            sheets=lambda: view.sheets(found),
            keeps_limits=("text", "markdown"),
        ),
        Asked(format_, out, shown),
        hard_limits(found.after.cautions, shown),
        files,
    )
