"""Where the water goes: parts that add up, and sites where the answer is known."""

import dataclasses
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from cards import DAYS, plan_of

from scheduler.budget import replay
from scheduler.budget.goes import LOSSES, largest_losses, where_it_goes
from scheduler.budget.savings import budget_site
from scheduler.plan.site import plan_site
from scheduler.plan.zones import with_uniformity
from scheduler.report.pages import bill
from scheduler.report.words import budget as words


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


def without_rain(plan):
    years = plan.inputs.years[0]
    rainless = dataclasses.replace(years, rain_mm=np.zeros_like(years.rain_mm))
    inputs = dataclasses.replace(plan.inputs, years=(rainless,))
    return dataclasses.replace(plan, inputs=inputs, recorded=rainless)


def test_without_rain_none_came_on_top():
    found = where_it_goes(without_rain(plan_of("home")))

    assert found.lost_l[LOSSES.index("rain")] == pytest.approx(0, abs=1e-6)


def with_meter(plan, flow_l_min):
    """The plan of its site with a meter read in every zone, NaN where not."""
    site = plan.site
    metered = dataclasses.replace(site.metered, flow_l_min=flow_l_min)
    flow = np.where(np.isnan(flow_l_min), site.zones.flow_l_min, flow_l_min)
    zones = dataclasses.replace(site.zones, flow_l_min=flow)
    return plan_site(dataclasses.replace(site, zones=zones, metered=metered))


# Exact: of 1.25 times the planned flow a fifth is over plan, and the rest of the water
# comes down as it did before; a reading within 10 % is not told, so nothing is over.
def test_flow_that_only_the_meter_shows_goes_first_and_the_rest_as_before():
    plan, before = plan_of("home"), goes_of("home")
    flow = plan.rates.flow_l_min * [1.05, 1.25, np.nan, np.nan, np.nan]
    found = where_it_goes(with_meter(plan, flow))
    over = found.lost_l[LOSSES.index("over-plan")]

    assert found.known[0] == "over-plan"
    assert over == pytest.approx([0, 0.2 * found.water_l[1], 0, 0, 0], rel=1e-9)
    assert found.water_l[1] == pytest.approx(1.25 * before.water_l[1], rel=1e-9)
    assert found.plants_l[1:] == pytest.approx(before.plants_l[1:], rel=1e-9)
    assert found.lost_l[1:, 1:] == pytest.approx(before.lost_l[1:, 1:], abs=1e-6)
    assert found.plants_l + found.lost_l.sum(axis=0) == pytest.approx(
        found.water_l, rel=1e-9
    )


# A rate that cans gave lies on the ground, whatever the meter shows: plants take of it
# what they did, for the flow that their heads take.
def test_measured_rate_stays_where_the_meter_shows_more():
    plan, before = plan_of("southern_garden"), goes_of("southern_garden")
    measured = [source == "catch-can" for source in plan.rates.rate_source]
    flow = np.where(measured, 1.25 * plan.rates.flow_l_min, np.nan)
    found = where_it_goes(with_meter(plan, flow))
    over = found.lost_l[LOSSES.index("over-plan")]

    assert any(measured)
    assert over[measured] == pytest.approx(0.2 * found.water_l[measured], rel=1e-9)
    assert found.plants_l == pytest.approx(before.plants_l, rel=1e-9)


# By other means: one store of even ground without rain, emptied and filled a day at a
# time in a loop. All of a week at once drains what on the plan's days would stay.
def test_water_of_a_week_on_one_day_is_on_the_wrong_day():
    plan = without_rain(plan_of("home"))
    week = plan.plan.schedule.minutes_per_week[0]
    current = dataclasses.replace(
        plan.site.current,
        zone=np.zeros(12, dtype=int),
        minutes=0.8 * week,
        starts=np.ones(12, dtype=int),
        days_per_week=np.ones(12, dtype=int),
        months=tuple((month,) for month in range(1, 13)),
    )
    valve = dataclasses.replace(
        plan.inputs.valve, runs_off=np.zeros_like(plan.inputs.valve.runs_off)
    )
    plan = dataclasses.replace(
        plan,
        site=dataclasses.replace(plan.site, current=current),
        inputs=dataclasses.replace(plan.inputs, valve=valve),
    )
    even = with_uniformity(plan.inputs, np.ones(len(plan.site.zones)))
    plan = dataclasses.replace(plan, inputs=even)
    stage = replay.set_stage(plan)
    depth = 0.8 * week * stage.plan.inputs.valve.rate_mm_h[0] / 60
    month = np.repeat(np.arange(12), DAYS)
    tables = replay.table_waterings(stage).water_mm[0] > 0
    years, days = tables.shape
    at_once = np.zeros((years, days))
    mondays = np.arange(days * years).reshape(years, days) % 7 == 0
    at_once[mondays] = np.broadcast_to(depth[month], at_once.shape)[mondays]
    spread = np.zeros((years, days))
    for year in range(years):
        for m in range(12):
            of = month == m
            on = tables[year] & of
            if on.any():
                spread[year, on] = at_once[year, of].sum() / on.sum()
            elif tables[:, of].any():
                spread[year, of] = at_once[year, of]

    def drained(water_mm):
        total = float(np.ravel(stage.store.total_available_water_mm[0])[0])
        allowed = np.broadcast_to(stage.store.allowed_depletion_mm[0], days)
        lacks = 0.0
        for _turn in range(2):
            lost = 0.0
            for year in range(years):
                for day in range(days):
                    lost += max(0.0, water_mm[year, day] - lacks)
                    lacks = max(0.0, lacks - water_mm[year, day])
                    stress = min(1.0, (total - lacks) / (total - allowed[day]))
                    need = stage.store.need_mm[0, year, day] * stress
                    lacks += min(need, total - lacks)
        return lost / years

    found = where_it_goes(plan)
    lost_mm = found.lost_l[:, 0] / stage.l_per_mm[0]

    assert drained(at_once) > 2 * drained(spread) > 0
    assert lost_mm[LOSSES.index("wrong-days")] == pytest.approx(
        drained(at_once) - drained(spread), rel=1e-6
    )
    assert lost_mm[LOSSES.index("too-long")] == pytest.approx(drained(spread), rel=1e-6)


def test_plan_by_itself_has_no_wrong_days():
    site = dataclasses.replace(plan_of("home").site, current=None)
    found = where_it_goes(dataclasses.replace(plan_of("home"), site=site))

    assert found.of == "table"
    assert "wrong-days" not in found.known
    assert (found.lost_l[LOSSES.index("wrong-days")] == 0).all()


def without_bills(plan):
    return SimpleNamespace(plan=plan, bills=(), today_bills=())


# The citrus of zone 4 alone gets water against salt: what drains there is no waste.
def test_water_against_salt_is_told_where_it_drains():
    salty, fresh = (
        " ".join(words.goes(goes_of(name), without_bills(plan_of(name)), "us"))
        for name in ("desert_garden", "home")
    )

    assert "what drains in zone 4 washes salt below the roots" in salty
    assert "salt" not in fresh


def test_owner_is_told_the_three_largest_losses_in_words():
    plan, found = plan_of("home"), goes_of("home")
    told = bill.goes_story(found, budget_site(plan))[0]
    third = np.sort(found.lost_l.ravel())[-3]

    *largest, (loss, small) = largest_losses(found)
    # Half of what the strip gets runs off: the largest share, of little water.
    assert (LOSSES[loss], plan.site.zones.name[small]) == ("runoff", "Sidewalk strip")
    assert "in Sidewalk strip half runs off the ground" in told
    assert found.lost_l[loss, small] / found.water_l[small] == (
        (found.lost_l / found.water_l).max()
    )
    for loss, row in largest:
        assert found.lost_l[loss, row] >= third
        assert f"in {plan.site.zones.name[row]} a" in told
    assert told.startswith(
        "Where water goes that plants do not get, by the old settings: in Back lawn"
    )
    # Two of the three are lost alike.
    assert "and in Front lawn a sixth only make up for sprinklers that water" in told
    assert told.count(";") == 2
