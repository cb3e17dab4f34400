"""`scheduler rates`"""

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
    style_of,
)


@app.command()
def rates(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show precipitation rates, and what imbalance costs."""
    from scheduler.report import data, frames, text

    plan, shown = read_and_plan(site, units)
    if format_ is Format.json:
        result = data.to_json(data.rates(plan, shown))
    elif format_ is Format.csv:
        result = data.to_csv(frames.head_rates(plan), shown)
    else:
        result = text.rates(plan, shown, style_of(format_))
    give(result, out, text.rate_cautions(plan), format_, shown)
