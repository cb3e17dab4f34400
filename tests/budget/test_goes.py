"""Where the water goes: parts that add up, and sites where the answer is known."""

import dataclasses
from functools import cache

import numpy as np
import pytest
from cards import plan_of

from scheduler.budget import replay
from scheduler.budget.goes import LOSSES, largest_losses, where_it_goes
from scheduler.budget.savings import budget_site
from scheduler.plan.zones import with_uniformity
from scheduler.report.pages import owner


@cache
def goes_of(example):
    return where_it_goes(plan_of(example))


# Law: water in is water out; a billionth of the year's liters is float error.
@pytest.mark.parametrize("example", ["home", "southern_garden"])
def test_parts_add_up_to_the_water(example):
    found = goes_of(example)

    assert found.plants_l + found.lost_l.sum(axis=0) == pytest.approx(
        found.water_l, rel=1e-9
    )
    assert (found.lost_l >= -1e-6).all()
    assert (found.plants_l > 0).all()


# By other means: the replay's own sums of today's settings.
def test_water_and_runoff_are_those_of_the_replay():
    plan = plan_of("home")
    stage, today = replay.set_stage(plan), replay.todays_schedule(plan)
    way = replay.played_way(stage, "today", replay.waterings_of(stage, today))
    found = goes_of("home")

    assert found.of == "today"
    assert found.water_l == pytest.approx(way.volume_l_year)
    assert found.lost_l[LOSSES.index("runoff")] == pytest.approx(
        way.runoff_mm_year * stage.l_per_mm
    )


# The run-time multiplier of even heads is 1: they make nothing up.
def test_even_heads_lose_nothing_to_unevenness():
    plan = plan_of("home")
    even = with_uniformity(plan.inputs, np.ones(len(plan.site.zones)))
    found = where_it_goes(dataclasses.replace(plan, inputs=even))

    assert found.lost_l[LOSSES.index("uneven")] == pytest.approx(0, abs=1e-6)


# Exact: heads that only make up lay 1 - 1/multiplier of what goes in, where as much
# drains; the corners of the back lawn get four times the middle.
def test_back_lawn_makes_up_for_its_corners():
    plan, found = plan_of("home"), goes_of("home")
    uneven = found.lost_l[LOSSES.index("uneven"), 1]
    goes_in = found.water_l[1] - found.lost_l[LOSSES.index("runoff"), 1]

    assert uneven == pytest.approx(
        goes_in * (1 - 1 / plan.rates.run_time_multiplier[1]), rel=1e-9
    )
    assert uneven > 0.3 * found.water_l[1]


def test_without_rain_none_came_on_top():
    plan = plan_of("home")
    years = plan.inputs.years[0]
    rainless = dataclasses.replace(years, rain_mm=np.zeros_like(years.rain_mm))
    inputs = dataclasses.replace(plan.inputs, years=(rainless,))
    found = where_it_goes(dataclasses.replace(plan, inputs=inputs, recorded=rainless))

    assert found.lost_l[LOSSES.index("rain")] == pytest.approx(0, abs=1e-6)


def test_owner_is_told_the_three_largest_losses_in_words():
    plan, found = plan_of("home"), goes_of("home")
    told = owner.goes_story(found, budget_site(plan))[0]
    third = np.sort(found.lost_l.ravel())[-3]

    for loss, row in largest_losses(found):
        assert found.lost_l[loss, row] >= third
        assert f"in {plan.site.zones.name[row]} a" in told
    assert told.startswith(
        "Where water goes that plants do not get, today: in Back lawn"
    )
    # Two of the three are lost alike.
    assert "and in Front lawn a fifth only make up for sprinklers that water" in told
    assert told.count(";") == 1
