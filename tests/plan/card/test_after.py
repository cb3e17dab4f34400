"""What follows once programs are found: fillings spared, and idle water."""

import datetime
from dataclasses import replace

import numpy as np
import pytest
from cards import plan_of

from scheduler.plan.card import plan as cards
from scheduler.plan.card.after.idle import without_idle

TODAY = datetime.date(2026, 11, 27)
APRIL = 3


# The park's lines are empty from November to March, and its ground is dry when they are
# filled. By the table that takes 96 to 144 min by hand at night on some zones; April's
# percents of the programs, up to those of May, give it as well.
@pytest.mark.parametrize("visits", [1, 4])
def test_programs_fill_dry_ground_where_their_percents_have_room(visits):
    plan = plan_of("business_park")
    search = cards._YearSearch(plan, TODAY)
    card = search.card(visits)
    needs = search.needs

    assert (needs.fill_days[:, APRIL] > 0).sum() > 5
    assert card.judged.filled == ()
    cells = needs.fill_days[:, APRIL] > 0
    dry, table = card.judged.dry[cells, APRIL], card.judged.table_dry[cells, APRIL]
    # Rule of ours: two days in a hundred more than by the table with its filling.
    assert (dry <= np.maximum(table, 0.15) + 1e-9).all()
    assert card.judged.harm <= min(c.judged.harm for c in search.cards.values())


def test_zones_that_a_visit_waters_for_nothing_leave_its_programs():
    search = cards._YearSearch(plan_of("home"), TODAY)
    needs = search.needs
    settings = [search._setting((month,)) for month in range(12)]
    _, settings = cards._card(search.prices, settings, TODAY)
    settings = list(settings)
    # A zone that the table leaves off in a visit, put into a program of it.
    row, zone = next(
        (row, zone)
        for row, setting in enumerate(settings)
        for zone in range(len(needs.zones))
        if setting.groups and not needs.waters[zone, list(setting.months)].any()
    )
    group, *others = settings[row].groups
    more = replace(
        group,
        zones=(*group.zones, zone),
        base_steps=np.append(group.base_steps, 20.0),
    )
    spoilt = replace(settings[row], groups=(more, *others))
    settings[row] = spoilt

    def judge(tried):
        return cards._as_card(search.prices, tried, TODAY).judged

    before = judge(settings)
    lean = without_idle(needs, before, settings, judge)

    assert zone not in lean[row].groups[0].zones
    assert lean[row].groups[0].zones == group.zones
    after = judge(lean)
    assert after.water_l.sum() < before.water_l.sum()
    assert after.harm <= before.harm
    assert without_idle(needs, after, lean, judge) is lean
