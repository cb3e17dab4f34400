"""`scheduler check`"""

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


def check(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say whether the plan is sound, worst first."""
    from scheduler.findings.check import find
    from scheduler.report.views import check as view

    plan, shown = read_and_plan(site, units)
    found = find(plan)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, found, shown),
            data=lambda: view.to_data(found, shown),
            table=lambda: view.to_table(found, shown),
        ),
        Asked(format_, out, shown),
        hard_limits([finding.caution for finding in found], shown),
    )
