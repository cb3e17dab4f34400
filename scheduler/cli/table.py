"""`scheduler table`"""

from __future__ import annotations

from scheduler.cli.app import (
    BookFormat,
    BookFormatOption,
    OutOption,
    PictureOption,
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
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the month-by-month watering table."""
    from scheduler.report import data, frames, text

    check_out(format_, out)
    if picture is not None:
        from scheduler.report.pictures.look import check_picture

        check_picture(picture, out)
    plan, shown = read_and_plan(site, units)
    if format_ is BookFormat.json:
        result: str | bytes = data.to_json(data.watering_table(plan, shown))
    elif format_ is BookFormat.csv:
        result = data.to_csv(frames.table_rows(plan), shown)
    elif format_ is BookFormat.xlsx:
        from scheduler.report.books import workbook

        rows, name = frames.table_rows(plan), plan.site.name
        result = workbook.to_workbook(rows, shown, "Watering table", name)
    elif format_ is BookFormat.markdown:
        result = text.watering_markdown(plan, shown)
    else:
        result = text.watering_table(plan, shown)
    drawn = {}
    if picture is not None:
        from scheduler.report.pictures.table import table_picture

        drawn[picture] = table_picture(plan, shown, picture.suffix)
    give(result, out, plan.cautions, format_, shown, drawn)
