"""`scheduler replay`"""

from __future__ import annotations

import datetime

from scheduler.cli.app import (
    Answer,
    Asked,
    Format,
    FormatOption,
    OutOption,
    SiteFolder,
    UnitsOption,
    VisitsOption,
    answer,
    app,
    hard_limits,
    read_and_plan,
)


@app.command()
def replay(
    site: SiteFolder,
    visits: VisitsOption = 4,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Play table, card and today's settings through years of days."""
    from scheduler.budget.rain_rules import hand_rule, shut_off_saving
    from scheduler.budget.replay import replay as play_all
    from scheduler.plan.card.plan import plan_cards
    from scheduler.report.views import replay as view

    plan, shown = read_and_plan(site, units)
    card = plan_cards(plan, datetime.date.today()).cards[visits - 1]
    found = play_all(plan, None if card is None else card.schedule)
    answer(
        Answer(
            blocks=lambda: view.blocks(
                found,
                shut_off_saving(plan, found.stage),
                hand_rule(plan, found.stage),
                card is not None,
                shown,
            ),
            data=lambda: view.to_data(found),
            table=lambda: view.to_table(found),
            keeps_limits=("text", "markdown"),
        ),
        Asked(format_, out, shown),
        hard_limits(plan.cautions, shown),
    )
