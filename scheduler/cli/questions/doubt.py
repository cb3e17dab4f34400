"""`scheduler doubt`"""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.cli.app import (
    Answer,
    Asked,
    BookFormat,
    BookFormatOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    answer,
    check_out,
    read_and_plan,
)

if TYPE_CHECKING:
    from pathlib import Path


def doubt(
    site: SiteFolder,
    picture: PictureOption = None,
    format_: BookFormatOption = BookFormat.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say what the answer hangs on, and which measurement is worth the drive."""
    from scheduler.findings.doubt import doubt_site
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.views.questions import doubt as view
    from scheduler.report.views.questions.asked import refuse_by_months

    check_out(format_, out)
    if picture is not None:
        check_picture(picture, out)
    plan, shown = read_and_plan(site, units)
    refuse_by_months(plan)
    found = doubt_site(plan)
    files: dict[Path, str | bytes] = {}
    if picture is not None:
        from scheduler.report.pictures.questions.doubt import doubt_picture

        files[picture] = doubt_picture(found, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(found, shown),
            data=lambda: view.to_data(found),
            table=lambda: view.to_table(found),
            sheets=lambda: view.sheets(found, shown),
            book=("What to doubt", plan.site.name),
        ),
        Asked(format_, out, shown),
        files=files,
    )
