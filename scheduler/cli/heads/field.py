"""`scheduler field`"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from scheduler.cli.app import (
    Answer,
    Asked,
    FieldFormat,
    OutOption,
    SiteFolder,
    UnitsOption,
    answer,
    check_out,
    read_and_plan,
)


class Dial(StrEnum):
    """Units that a dial may count in."""

    gal = "gal"
    ft3 = "ft3"
    l = "l"  # noqa: E741
    m3 = "m3"


def field(
    site: SiteFolder,
    minutes: Annotated[
        float, typer.Option("--minutes", min=1, max=240, help="run of each zone")
    ] = 10,
    dial: Annotated[
        Dial | None,
        typer.Option(
            "--dial", help="unit that the meter counts in [as read, as billed]"
        ),
    ] = None,
    doubt: Annotated[
        bool, typer.Option("--doubt", help="say what is worth measuring first")
    ] = False,
    format_: Annotated[
        FieldFormat,
        typer.Option("--format", help="how to print it; pdf and xlsx need --out"),
    ] = FieldFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the sheet to take along: what each zone must show."""
    from scheduler.findings.field import field_check
    from scheduler.inputs.sources.field_book import refuse_filled_in
    from scheduler.report.books.field import field_book
    from scheduler.report.pages import field as pages
    from scheduler.report.views.heads import field as view
    from scheduler.report.words.heads import field as words

    check_out(format_, out)
    if format_ == "xlsx" and out is not None:
        refuse_filled_in(out)
    plan, shown = read_and_plan(site, units)
    check, first = field_check(plan, minutes), list[str]()
    if doubt:
        from scheduler.findings.doubt import doubt_site
        from scheduler.report.views.questions.asked import refuse_by_months
        from scheduler.report.words.questions.doubt import first_measured

        refuse_by_months(plan)
        first = first_measured(doubt_site(plan))
    unit = view.dial_of(plan, shown, dial.value if dial else None)
    title = words.title(plan.site.name, minutes)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, check, unit, shown, first=first),
            data=lambda: view.to_data(check, plan),
            table=lambda: view.to_table(plan, check, unit),
            page=lambda: pages.page(
                view.blocks(plan, check, unit, shown, on_page=True, first=first),
                title,
                shown,
            ),
            workbook=lambda: field_book(
                plan, check, view.to_table(plan, check, unit), unit, shown
            ),
        ),
        Asked(format_, out, shown),
    )
