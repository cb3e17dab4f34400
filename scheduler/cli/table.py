"""`scheduler table`"""

from __future__ import annotations

from scheduler.cli.app import (
    BookFormat,
    BookFormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    app,
    check_out,
    give,
    read_and_plan,
)


@app.command()
def table(
    site: SiteFolder,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the month-by-month watering table."""
    from scheduler.report import data, frames, text, workbook

    check_out(format_, out)
    plan, shown = read_and_plan(site, units)
    if format_ is BookFormat.json:
        result: str | bytes = data.to_json(data.watering_table(plan, shown))
    elif format_ is BookFormat.csv:
        result = data.to_csv(frames.table_rows(plan), shown)
    elif format_ is BookFormat.xlsx:
        rows, name = frames.table_rows(plan), plan.site.name
        result = workbook.to_workbook(rows, shown, "Watering table", name)
    elif format_ is BookFormat.markdown:
        result = text.watering_markdown(plan, shown)
    else:
        result = text.watering_table(plan, shown)
    give(result, out, plan.cautions, format_, shown)
