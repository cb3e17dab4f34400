"""The weekly rule: worked by hand, one way in how dry the ground is, and played."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.budget import replay, usual, weekly
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[2] / "examples"
DAYS = 14
PERCENTS = np.arange(50.0, 151.0, 5.0)[None]
ALONE = np.zeros(1, dtype=int)
# One zone of perfect evenness: it needs 5 mm a day, holds 40 mm, may use 20, and counts
# as dry over 22 (a tenth more). It waters 20 mm on days 0 and 4 of the week, and again
# on day 7: what the week has to last to is the end of day 6.
NEED, TOTAL, ALLOWED, DRY = 5.0, 40.0, 20.0, 22.0
WATERINGS = {0: 20.0, 4: 20.0, 7: 20.0, 11: 20.0}
GROUND = weekly.Lanes(np.zeros(1, dtype=int), np.ones(1), np.ones(1))


def ahead(usual_mm=15.0, need=NEED, total=TOTAL, allowed=ALLOWED, target=DRY):
    water = np.zeros((1, 1, DAYS))
    water[0, 0, list(WATERINGS)] = list(WATERINGS.values())
    by_day = np.ones((1, DAYS))
    return usual.Ahead(
        water, need * by_day[:, None], total * by_day, allowed * by_day,
        np.full((1, DAYS, 3), target), np.array([[usual_mm]]),
    )  # fmt: skip


def week(start_mm, **changes):
    start = np.full((1, 1, 4), start_mm)
    found = weekly.week_of(start, ahead(**changes), GROUND, PERCENTS, ALONE)
    return float(found.percent[0, 0]), int(found.first_day[0, 0])


# After two dry weeks the ground lacks 24 mm. Day 0 lays down 20 p, and four days at
# 5 mm follow: 24 - 20 p + 20 must be 22 at most, so p is 1.10. It lacks 9 mm beyond the
# usual 15, and 9 of the week's 40 mm are 22 %, so that up to 122 % may be given.
def test_two_dry_weeks_ask_for_more_than_the_setting():
    assert week(24.0) == (110.0, 0)


# The same ground where 23 mm are usual: 1 of 40 mm is 2.5 %, and the next step below
# 102.5 % is 100.
def test_no_more_is_given_over_the_setting_than_lacks_beyond_the_usual():
    assert week(24.0, usual_mm=23.0) == (100.0, 0)


# 30 mm of rain yesterday: the ground is full. Without day 0's watering it lacks 20 mm
# at the end of day 3, under 22; day 4 has to leave 20 - 20 p + 15 = 22 at most, so p is
# 0.65. To water on day 0 too would drain, and take twice the water.
def test_after_30_mm_of_rain_the_first_watering_is_left_out():
    assert week(0.0) == (65.0, 4)


# At 3 mm a day seven days take 21 mm, under 22: nothing at all.
def test_a_full_ground_that_lasts_the_week_is_left_alone():
    assert week(0.0, need=3.0) == (0.0, weekly.WEEK)


# As usual: 15 - 20 p + 20 is 22 at 0.65, but then day 4 has to make up for it:
# 15 - 20 p + 20 - 20 p + 15 is 22 at 0.70.
def test_the_usual_state_asks_for_what_the_usual_week_takes():
    assert week(15.0) == (70.0, 0)


# A store of 10 mm that dries out between waterings whatever is given: 50 % fills it, as
# 10 mm do, and more would only drain. The target is what is usual there.
def test_a_store_that_cannot_last_gets_no_more_than_fills_it():
    percent, first = week(10.0, total=10.0, allowed=5.0, target=5.5, usual_mm=0.0)

    assert (percent, first) == (50.0, 0)


def water_mm(found, of):
    return float((of.water_mm[..., :7] * found.factor(of.water_mm[..., :7])).sum())


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0, 40), st.floats(0, 40), st.floats(0, 40),
    st.floats(0.5, 9), st.floats(0.5, 1.0),
)  # fmt: skip
def test_a_drier_ground_never_gets_less_water(one, other, usual, need, uniformity):
    wet, dry = sorted((one, other))
    of = ahead(usual, need=need)
    ground = weekly.Lanes(GROUND.valve, np.array([uniformity]), np.ones(1))
    given_mm = [
        water_mm(
            weekly.week_of(np.full((1, 1, 4), start), of, ground, PERCENTS, ALONE), of
        )
        for start in (wet, dry)
    ]

    assert given_mm[0] <= given_mm[1] + 1e-9


# Two zones of one program: full ground asks for 65 % without day 0, ground that lacks
# 24 mm for 110 % on both days. Day 0 is then watered; on day 4 the full one lacks
# 20 mm, which 100 % refills, so more would drain there. 100 is over four fifths of 110,
# and holds.
def test_a_shared_percent_is_the_neediest_zone_s_lowered_where_others_would_waste():
    one = ahead()
    both = usual.Ahead(
        *(np.repeat(getattr(one, f.name), 2, axis=0) for f in dataclasses.fields(one))
    )
    start = np.stack([np.zeros((1, 4)), np.full((1, 4), 24.0)])
    found = weekly.week_of(
        start, both, weekly.Lanes(np.arange(2), np.ones(2), np.ones(2)),
        np.repeat(PERCENTS, 2, axis=0), np.zeros(2, dtype=int),
    )  # fmt: skip

    assert found.own_percent[:, 0].tolist() == [65.0, 110.0]
    assert found.percent[:, 0].tolist() == [100.0, 100.0]
    assert found.first_day[:, 0].tolist() == [0, 0]


# The same zones, but the ground of the first takes in no more than 80 % of its run at
# once: one percent is keyed for both, so 80 is the most, though 110 is asked for.
def test_a_shared_percent_is_no_more_than_each_of_its_zones_takes():
    one = ahead()
    both = usual.Ahead(
        *(np.repeat(getattr(one, f.name), 2, axis=0) for f in dataclasses.fields(one))
    )
    start = np.full((2, 1, 4), 24.0)
    percents = np.stack([np.minimum(PERCENTS[0], 80.0), PERCENTS[0]])
    found = weekly.week_of(
        start, both, weekly.Lanes(np.arange(2), np.ones(2), np.ones(2)),
        percents, np.zeros(2, dtype=int),
    )  # fmt: skip

    assert found.own_percent[:, 0].tolist() == [80.0, 110.0]
    assert found.percent[:, 0].tolist() == [80.0, 80.0]


# A card's month percent of 80 in steps of 5: what is keyed is 40 to 120 (150 % of 80),
# so the setting's percents are 50, 56.25 … 150.
def test_percents_are_those_that_a_key_of_the_month_s_percent_comes_to():
    take = weekly.Take(
        5.0, np.full((1, 12), 80.0), np.full((1, 12), 150.0), np.full((1, 12), 50.0),
        np.zeros((1, 12), dtype=int), np.zeros((1, 12), dtype=bool),
    )  # fmt: skip

    found = weekly.percents_of(take, 6)
    assert found[0].tolist() == pytest.approx(np.arange(40, 121, 5) / 0.8)


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def stage(request):
    site = read_site(EXAMPLES / request.param)
    controller = dataclasses.replace(site.controller, percent_by="program")
    return replay.set_stage(
        plan_site(dataclasses.replace(site, plan_by="days", controller=controller))
    )


def test_a_season_of_weekly_adjusting_takes_less_water_at_no_more_dry_days(stage):
    laid = replay.table_waterings(stage)
    take = weekly.take_of(stage, stage.plan.plan.schedule)
    found = weekly.weekly_waterings(stage, laid, take)
    ways = [
        replay.played_way(stage, "table", replay.held_back(stage, one))
        for one in (laid, found.waterings)
    ]
    area_m2 = stage.plan.rates.area_m2
    alone, adjusted = (np.average(way.dry_share, weights=area_m2) for way in ways)
    water = [way.volume_l_year.sum() for way in ways]

    assert water[1] < 0.98 * water[0]
    assert adjusted <= alone
    given_ = found.percent[np.isfinite(found.percent)]
    assert set(np.unique(given_)) <= {0.0} | set(
        np.round(
            np.concatenate([weekly.percents_of(take, m).ravel() for m in range(12)]), 9
        )
    )
    # Only what the setting waters is adjusted, and by no more than the most.
    most = take.most_percent.max() / 100
    assert np.all(found.waterings.water_mm <= most * laid.water_mm + 1e-9)


# Whoever looks every week needs no more water than whoever never looks, on the same
# years, and plants go short on no more than a day of a hundred more.
def test_the_table_adjusted_every_week_takes_no_more_water():
    plan = plan_site(read_site(EXAMPLES / "home"))
    stage = replay.set_stage(plan)
    laid = replay.held_back(stage, replay.table_waterings(stage))
    table, adjusted = replay.played_way(stage, "table", laid), weekly.weekly_way(stage)

    assert adjusted.volume_l_year.sum() < table.volume_l_year.sum()
    assert adjusted.dry_share.mean() < table.dry_share.mean() + 0.01
