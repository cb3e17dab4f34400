"""`scheduler rates`"""

from __future__ import annotations

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    answer,
    hard_limits,
    read_and_plan,
)


def rates(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show precipitation rates, and what imbalance costs."""
    from scheduler.report.views.heads import rates as view

    plan, shown = read_and_plan(site, units)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, shown),
            data=lambda: view.to_data(plan, shown),
            table=lambda: view.head_rates(plan),
        ),
        Asked(format_, out, shown),
        hard_limits(view.rate_cautions(plan), shown),
    )
