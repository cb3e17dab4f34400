"""`scheduler adjust`"""

from __future__ import annotations

import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    VisitsOption,
    answer,
    hard_limits,
    read_and_plan,
)

if TYPE_CHECKING:
    from scheduler.inputs.weather.daily import DailyWeather
    from scheduler.inputs.weather.lately import WeekTotals


class InForce(StrEnum):
    """Whose settings the controller runs."""

    table = "table"
    card = "card"
    today = "today"


def adjust(
    site: SiteFolder,
    weather: Annotated[
        Path | None,
        typer.Option("--weather", help="daily file of the last weeks"),
    ] = None,
    et0_week_mm: Annotated[
        float | None, typer.Option("--et0-week-mm", help="of the last seven days")
    ] = None,
    et0_week_in: Annotated[
        float | None, typer.Option("--et0-week-in", help="the same in inches")
    ] = None,
    rain_week_mm: Annotated[
        float | None, typer.Option("--rain-week-mm", help="of the last seven days")
    ] = None,
    rain_week_in: Annotated[
        float | None, typer.Option("--rain-week-in", help="the same in inches")
    ] = None,
    date: Annotated[
        str | None,
        typer.Option("--date", help="first day of the week [after the weather; today]"),
    ] = None,
    of: Annotated[
        InForce, typer.Option("--of", help="whose settings are in force")
    ] = InForce.table,
    visits: VisitsOption = 4,
    explain: Annotated[
        bool, typer.Option("--explain", help="show the working of all zones")
    ] = False,
    zone: Annotated[
        str | None, typer.Option("--zone", help="show the working of one zone")
    ] = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Give this week's percent from the weather that was."""
    from scheduler.budget.adjust import adjust as adjusted
    from scheduler.budget.adjust import lately_of_file, lately_of_week, week_is_likely
    from scheduler.inputs.weather.lately import week_totals
    from scheduler.plan.card.plan import plan_card
    from scheduler.report.asked import zone_row
    from scheduler.report.views import adjust as view

    totals = week_totals(et0_week_mm, et0_week_in, rain_week_mm, rain_week_in)
    found, first = _weather(weather, totals, date)
    plan, shown = read_and_plan(site, units)
    rows = range(len(plan.site.zones)) if explain else range(0)
    if zone is not None:
        row = zone_row(plan.site, zone)
        rows = range(row, row + 1)
    card = None
    if of is InForce.card:
        new_year = datetime.date(first.year, 1, 1)
        card = plan_card(plan, new_year, visits)
    if of is InForce.today and plan.site.current is None:
        raise typer.BadParameter(
            "the site has no current.csv, which tells what the controller runs today",
            param_hint="--of",
        )
    if totals is None:
        assert found is not None
        lately = lately_of_file(plan, found, first)
    else:
        lately = lately_of_week(totals, first)
        if not week_is_likely(plan, lately):
            raise typer.BadParameter(
                "hardly a week's ET0 at this time of year here: is it in the other "
                "unit, or a day's?",
                param_hint="--et0-week-mm / --et0-week-in",
            )
    result = adjusted(plan, lately, of.value, card)
    limits = () if of is InForce.today else plan.cautions
    answer(
        Answer(
            blocks=lambda: view.blocks(result, rows, shown),
            data=lambda: view.to_data(result),
            table=lambda: view.to_table(result),
            keeps_limits=("text", "markdown"),
        ),
        Asked(format_, out, shown),
        hard_limits(limits, shown),
    )


def _weather(
    path: Path | None, totals: WeekTotals | None, written: str | None
) -> tuple[DailyWeather | None, datetime.date]:
    """Days of the weather file, if there is one, and the week's first day."""
    from scheduler.inputs.forms.dates import read_date
    from scheduler.inputs.weather.lately import read_lately

    date = None if written is None else read_date(written)
    if (path is None) == (totals is None):
        raise typer.BadParameter(
            "give a daily file, or ET0 and rain of the week as --et0-week-mm 42 "
            "--rain-week-mm 0" + ("" if path is None else ", not both"),
            param_hint="--weather",
        )
    if path is None:
        return None, date or datetime.date.today()
    return read_lately(path, date)
