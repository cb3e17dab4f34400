"""`scheduler nozzles`"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    ZoneOption,
    answer,
    read_and_plan,
)


def nozzles(
    site: SiteFolder,
    chart: Annotated[
        list[Path],
        typer.Option("--chart", help="nozzle chart, a CSV; may repeat", metavar="CSV"),
    ],
    zone: ZoneOption = None,
    write: Annotated[
        bool, typer.Option("--write", help="put what fits into heads.csv")
    ] = False,
    allow_more_cycles: Annotated[
        bool,
        typer.Option("--allow-more-cycles", help="most water, whatever the ground"),
    ] = False,
    fewest_changes: Annotated[
        bool,
        typer.Option("--fewest-changes", help="the set that changes fewest heads"),
    ] = False,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Choose a nozzle for each head: matched, within the supply."""
    from scheduler.inputs.chart import read_charts
    from scheduler.inputs.headsfile import HEADS, check_kept_in_file, with_new_heads
    from scheduler.plan.choosing import choose_nozzles
    from scheduler.rates.choice.heads import new_heads
    from scheduler.report.asked import zone_row
    from scheduler.report.views.heads import nozzles as view

    plan, shown = read_and_plan(site, units)
    only = None if zone is None else zone_row(plan.site, zone)
    if write:
        check_kept_in_file(plan.site.names)
    chosen = choose_nozzles(
        plan, read_charts(chart), allow_more_cycles, only, fewest_changes
    )
    # A linked heads.csv is written where it lies.
    path = (site / HEADS).resolve()
    new = new_heads(chosen.choices, chosen.chart) if write else {}
    heads = {path: with_new_heads(path, new, plan.site.units)} if new else {}
    answer(
        Answer(
            blocks=lambda: view.blocks(chosen, shown),
            data=lambda: view.to_data(chosen),
            table=lambda: view.heads_table(chosen),
            keeps_limits=("text", "markdown"),
        ),
        Asked(format_, out, shown),
        view.limit_lines(chosen, shown),
        heads,
    )
