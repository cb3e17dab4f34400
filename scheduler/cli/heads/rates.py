"""`scheduler rates`"""

from __future__ import annotations

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    PictureOption,
    SiteFolder,
    UnitsOption,
    answer,
    hard_limits,
    read_and_plan,
)


def rates(
    site: SiteFolder,
    picture: PictureOption = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show precipitation rates, and what imbalance costs."""
    from scheduler.report.pictures.look import check_picture
    from scheduler.report.views.heads import rates as view

    if picture is not None:
        check_picture(picture, out)
    plan, shown = read_and_plan(site, units)
    drawn = {}
    if picture is not None:
        from scheduler.report.pictures.points import points_picture

        drawn[picture] = points_picture(plan, shown, picture.suffix)
    answer(
        Answer(
            blocks=lambda: view.blocks(plan, shown),
            data=lambda: view.to_data(plan, shown),
            table=lambda: view.head_rates(plan),
        ),
        Asked(format_, out, shown),
        hard_limits(view.rate_cautions(plan), shown),
        drawn,
    )
