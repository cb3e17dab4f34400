"""`scheduler check`"""

from __future__ import annotations

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    ZoneOption,
    answer,
    check_out,
    hard_limits,
    read_and_plan,
)


def check(
    site: SiteFolder,
    zone: ZoneOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say whether the plan is sound, worst first."""
    from dataclasses import replace

    from scheduler.findings.audit import with_audited_minutes
    from scheduler.findings.check import find
    from scheduler.report.asked import cautions_of_zone, zone_row
    from scheduler.report.views import check as view

    check_out(format_, out)
    plan, shown = read_and_plan(site, units)
    only = None if zone is None else plan.site.zones.zone[zone_row(plan.site, zone)]
    plan = with_audited_minutes(plan)
    found = find(plan)
    if only is not None:
        found = [f for f in found if any(cautions_of_zone([f.caution], only))]
        cautions = tuple(cautions_of_zone(plan.cautions, only))
        plan = replace(plan, cautions=cautions)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, found, shown),
            data=lambda: view.to_data(found, shown),
            table=lambda: view.to_table(found, shown),
            book=("Findings", plan.site.name),
        ),
        Asked(format_, out, shown),
        hard_limits([finding.caution for finding in found], shown),
    )
