"""`scheduler check`"""

from __future__ import annotations

from scheduler.cli.app import (
    Format,
    FormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    app,
    give,
    read_and_plan,
)


@app.command()
def check(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say whether the plan is sound, worst first."""
    from scheduler.findings.check import find
    from scheduler.report import data, text

    plan, shown = read_and_plan(site, units)
    found = find(plan)
    if format_ is Format.json:
        result = data.to_json(data.findings(found, shown))
    elif format_ is Format.csv:
        result = data.to_csv(data.findings_table(found, shown), shown)
    elif format_ is Format.markdown:
        result = text.grid(data.findings_table(found, shown), shown, "pipe") + "\n"
    else:
        result = text.findings(plan, found, shown)
    give(result, out, plan.cautions, format_, shown)
