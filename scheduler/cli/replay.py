"""`scheduler replay`"""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    VisitsOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)

if TYPE_CHECKING:
    from scheduler.budget.replay import Replay


def replay(
    site: SiteFolder,
    visits: VisitsOption = 4,
    picture: PictureOption = None,
    zone: Annotated[
        str | None, typer.Option("--zone", help="of the picture [the first]")
    ] = None,
    year: Annotated[
        int | None,
        typer.Option("--year", help="of the picture [the middle by dryness]"),
    ] = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Play table, card and today's settings through years of days."""
    from scheduler.budget.rain_rules import hand_rule, shut_off_saving
    from scheduler.budget.replay import replay as play_all
    from scheduler.budget.weekly import with_weekly
    from scheduler.plan.card.plan import plan_card
    from scheduler.report.asked import zone_row
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.views import replay as view

    check_out(format_, out)
    if picture is not None:
        check_picture(picture, out)
    elif zone is not None or year is not None:
        raise typer.BadParameter(
            "a zone and a year are those of a picture: add --picture FILE.png",
            param_hint="--year" if zone is None else "--zone",
        )
    plan, shown = read_and_plan(site, units)
    row = 0 if zone is None else zone_row(plan.site, zone)
    card = plan_card(plan, datetime.date.today(), visits)
    found = with_weekly(play_all(plan, card))
    files = {}
    if picture is not None:
        from scheduler.report.pictures.replay import replay_picture

        of_year = None if year is None else _year_row(found, year)
        part = int(plan.leads[row])
        files[picture] = replay_picture(found, part, of_year, shown, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(
                found,
                shut_off_saving(plan, found.stage),
                hand_rule(plan, found.stage),
                shown,
            ),
            data=lambda: view.to_data(found),
            table=lambda: view.to_table(found),
            sheets=lambda: view.sheets(found),
            book=("Years played", plan.site.name),
            keeps_limits=("text", "markdown"),
        ),
        Asked(format_, out, shown),
        hard_limits(plan.cautions, shown),
        files,
    )


def _year_row(found: Replay, year: int) -> int:
    """Row of a year; it is refused where none of those played has it."""
    from scheduler.budget.replay import year_label

    years = found.stage.years
    first = year_label(years, 0)
    if not first <= year < first + len(years):
        raise typer.BadParameter(
            f"{year} is none of the years played: {first} to {first + len(years) - 1}",
            param_hint="--year",
        )
    return year - first
