"""Ways to water, played: against a plain loop, and laws of water."""

import dataclasses
import itertools
from pathlib import Path

import numpy as np
import pytest
from cards import KEYED_IN

from scheduler.balance.day import WETTER, quarter_depths
from scheduler.balance.years import Years
from scheduler.budget import rain_rules, replay, weekly
from scheduler.budget.runoff import runoff_of_cycles
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.inputs.folder import read_site
from scheduler.plan.by_days import plan_days
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.plan.table import cycle_limits

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module", params=["days", "months"])
def home(request):
    """The example that has today's settings, planned either way."""
    site = read_site(EXAMPLES / "home")
    return plan_site(dataclasses.replace(site, plan_by=request.param))


@pytest.fixture(scope="module")
def played(home):
    return replay.replay(home, plan_card(home, KEYED_IN, 4))


def drink(depletion, take, total, allowed):
    """What plants take of ground that lacks so much already."""
    if depletion > allowed:
        take *= (total - depletion) / (total - allowed)
    return min(take, total - depletion)


def loop(stage, part, quarter, water_mm):
    """One quarter's days in plain Python; sums of what plants took and what drained.

    Of ground of which emitters wet a share, all plants' ground: both stores.
    """
    share = quarter_depths(float(stage.store.uniformity[part]))[quarter]
    wetted = float(stage.plan.inputs.ground.wetted_share[part])
    total = float(stage.store.total_available_water_mm[part].flat[0])
    allowed = float(stage.store.allowed_depletion_mm[part].flat[0])
    beside = (1 - wetted) / wetted
    rain = stage.years.rain_mm.tolist()
    need = stage.season.plant_need_mm[part].tolist()
    depletion = unwetted = 0.0
    for _ in range(4):
        taken = drained = dry = 0.0
        for year in range(len(rain)):
            for day in range(365):
                take, gives = need[year][day], 0.0
                if wetted < 1:
                    after = unwetted - rain[year][day] * (1 - wetted)
                    drained += max(-after, 0.0)
                    unwetted = max(after, 0.0)
                    gives = drink(
                        unwetted, take * (1 - wetted), total * beside, allowed * beside
                    )
                    unwetted += gives
                    taken += gives
                take -= gives
                on_it = rain[year][day] * wetted
                after = depletion - water_mm[year, day] * share - on_it
                drained += max(-after, 0.0)
                depletion = max(after, 0.0)
                limit = 1.1 * max(allowed, take)
                dry += bool(stage.warm[day]) and depletion + take > limit
                take = drink(depletion, take, total, allowed)
                depletion += take
                taken += take
    return taken, drained, dry


def test_measures_of_a_zone_are_those_of_a_plain_loop(played):
    stage, years = played.stage, len(played.stage.years)
    for of, part in (("table", 0), ("today", 2), ("perfect-hand", 3)):
        way = played.way(of)
        valve = stage.plan.inputs.ground.valve[part]
        net = way.waterings.water_mm[valve] - way.waterings.runoff_mm[part]
        found = np.array([loop(stage, part, q, net) for q in range(4)])
        taken, drained, _ = found.mean(axis=0) / years

        assert way.et_mm_year[part] == pytest.approx(taken, rel=1e-9)
        assert way.percolation_mm_year[part] == pytest.approx(drained, rel=1e-9)
        share = found[:, 2] / (years * stage.warm.sum())
        assert way.dry_by_quarter[part] == pytest.approx(share, abs=1e-12)


# Water in = water out: years follow each other in a ring, so nothing stays in store.
def test_water_that_comes_is_water_that_goes(played):
    for way in played.ways:
        comes = way.irrigation_mm_year - way.runoff_mm_year + way.rain_mm_year
        goes = way.et_mm_year + way.percolation_mm_year

        assert comes == pytest.approx(goes, rel=1e-9)
        assert np.all(way.rain_used_mm_year <= way.rain_mm_year)
        assert np.all(way.et_mm_year <= way.need_mm_year * (1 + 1e-12))
        assert np.all(way.rain_used_mm_year >= -1e-9)


def hand(stage, part, permitted):
    """A perfect hand on a zone's four quarters in plain Python; depths of all days.

    `permitted` are the weekdays (Monday 0) on which it may water.
    """
    uniformity = float(stage.store.uniformity[part])
    shares = quarter_depths(uniformity).tolist()
    total = float(stage.store.total_available_water_mm[part].flat[0])
    allowed = float(stage.store.allowed_depletion_mm[part].flat[0])
    wetted = float(stage.plan.inputs.ground.wetted_share[part])
    beside = (1 - wetted) / wetted
    rain = (stage.years.rain_mm * wetted).tolist()
    # What is asked of the wetted ground, as the test above works it out.
    need = stage.store.need_mm[part].tolist()
    month = [m for m in range(12) for _ in range(DAYS_IN_MONTH[m])]
    usual = [stage.season.plant_need_mm[part][:, np.array(month) == m].mean()
             for m in range(12)]  # fmt: skip
    weekday = stage.season.days.weekday.reshape(len(rain), 365).tolist()
    unwetted = stage.season.unwetted_days.depletion_mm[part].tolist()

    def drunk(depletion, take):
        return depletion + drink(depletion, take, total, allowed)

    def goes_dry(ground, year, day):
        """Whether a wetter quarter does before the next permitted day, without rain."""
        take, today = need[year][day], weekday[year][day]
        dry = unwetted[year][day]
        while True:
            if any(d + take > 1.1 * max(allowed, take) for d in ground[1:]):
                return True
            ground = [drunk(d, take) for d in ground]
            take, today = usual[month[day]], (today + 1) % 7
            if wetted < 1:
                gives = drink(dry, take * (1 - wetted), total * beside,
                              allowed * beside)  # fmt: skip
                take, dry = take - gives, dry + gives
            if today in permitted:
                return False

    ground, laid = [0.0] * 4, []
    for _ in range(4):
        laid = []
        for year in range(len(rain)):
            for day in range(365):
                water = 0.0
                may = stage.warm[day] and weekday[year][day] in permitted
                if may and goes_dry(ground, year, day):
                    # The published run-time multiplier: 1 / (0.4 + 0.6 DU).
                    water = sum(ground) / 4 / (0.4 + 0.6 * uniformity)
                ground = [
                    drunk(max(d - water * share - rain[year][day], 0.0),
                          need[year][day])
                    for d, share in zip(ground, shares, strict=True)
                ]  # fmt: skip
                laid.append(water)
    return np.array(laid).reshape(len(rain), 365)


# The lawn has Monday, Wednesday, Friday and Saturday, drip has any day. Years follow
# the calendar's weekdays, and the last is followed by the first: at that seam the next
# permitted day is counted by the years, not by the week.
@pytest.mark.parametrize(("part", "permitted"), [(0, {0, 2, 4, 5}), (3, set(range(7)))])
def test_perfect_hand_is_that_of_a_plain_loop(played, part, permitted):
    found = played.way("perfect-hand").waterings.water_mm[part]
    expected = hand(played.stage, part, permitted)

    assert found.ravel()[:-7] == pytest.approx(expected.ravel()[:-7], abs=1e-7)


def test_perfect_hand_lets_nothing_go_dry_where_it_may_water_on_any_day(played):
    hand = played.way("perfect-hand")
    any_day = [3, 4]

    assert not hand.played.dry[any_day][..., WETTER][:, :, played.stage.warm].any()
    assert hand.longest_dry_days[any_day].tolist() == [0, 0]
    assert replay.worst_year(played.stage, hand, 3) is None
    # On four days a week hot days to come are not known.
    assert np.nanmax(hand.dry_by_month) <= 0.10


def test_a_hand_that_may_leave_some_dry_leaves_no_more_and_takes_less(played):
    stage = played.stage
    water = replay.perfect_hand_mm(stage, stage.plan.inputs.valve.most_dry)
    nothing = np.zeros((len(stage.store), *water.shape[1:]))
    lax = replay.played_way(stage, "perfect-hand", replay.Waterings(water, nothing))

    assert np.nanmax(lax.dry_by_month[[3, 4]]) <= 0.10 + 1e-9
    assert lax.dry_share.min() > 0
    strict = played.way("perfect-hand")
    assert np.all(lax.irrigation_mm_year < strict.irrigation_mm_year)


# Where heads are even nothing but the looking is between them: whoever looks at the
# ground each morning, and may let it go as dry, beats any setting that does not.
def test_hand_under_even_heads_takes_less_than_a_table_as_dry(home):
    ones = np.ones(len(home.inputs.valve))
    valve = dataclasses.replace(
        home.inputs.valve, uniformity=ones, run_time_multiplier=ones
    )
    inputs = dataclasses.replace(home.inputs, valve=valve, years=(home.years,))
    settings = plan_days(inputs, cycle_limits(inputs.ground, inputs.valve))
    stage = replay.set_stage(dataclasses.replace(home, inputs=inputs))
    water = replay.perfect_hand_mm(stage, valve.most_dry)
    of_table = settings.water_mm.sum(axis=(1, 2))

    assert np.all(water.sum(axis=(1, 2)) < of_table)


def test_own_table_and_card_lose_nothing_to_runoff(played):
    assert played.way("table").runoff_mm_year.tolist() == [0.0] * 5
    assert played.way("card").runoff_mm_year.tolist() == [0.0] * 5


# Two ways to the same figures: the card's own header, and a replay of its schedule.
def test_the_card_is_played_as_its_header_says(home):
    card = plan_card(home, KEYED_IN, 4)
    way = replay.replay(home, card).way("card")

    assert way.volume_l_year.sum() == pytest.approx(card.judged.water_l.sum(), rel=2e-3)
    assert np.nan_to_num(card.judged.dry) == pytest.approx(
        np.nan_to_num(way.dry_by_month), abs=1e-9
    )


def test_starts_by_hand_are_played_as_the_table_waters():
    """A zone that only a hand starts gets, in its months, the table's water."""
    site = read_site(EXAMPLES / "home")
    home = plan_site(site)
    card = plan_card(home, KEYED_IN, 4)
    water = card.judged.scheduled_mm.copy()
    water[3] = home.settings.scheduled_mm[3]
    judged = dataclasses.replace(card.judged, scheduled_mm=water)
    found = replay.replay(home, dataclasses.replace(card, judged=judged))
    of_card, of_table = found.way("card"), found.way("table")

    assert of_card.irrigation_mm_year[3] == pytest.approx(
        of_table.irrigation_mm_year[3]
    )
    assert of_card.dry_share[3] == pytest.approx(of_table.dry_share[3])


def test_one_setting_runs_the_busiest_month_in_all_months(played):
    plan = played.stage.plan
    setting = replay.one_setting(played.stage)

    most = plan.plan.schedule.minutes_per_week.max(axis=1)
    assert setting.minutes_per_week.tolist() == most.tolist()
    months = played.way("one-setting").waterings.water_mm
    assert (months[:, :, :31].sum(axis=2) > 0).all()


def test_ways_are_told_apart_and_in_order(played):
    told = tuple(way.of for way in weekly.with_weekly(played).ways)

    assert told == replay.KINDS
    assert tuple(way.of for way in played.ways) == (*told[:4], told[5])


def test_longest_run_goes_on_over_the_turn_of_the_year(played):
    dry = np.zeros((1, 2, 365), dtype=bool)
    dry[0, 0, 360:], dry[0, 1, :4], dry[0, 1, 100:103] = True, True, True

    assert replay._longest_runs(dry).tolist() == [9]


@pytest.mark.parametrize(
    ("first", "last", "count", "label"),
    [(2001, 2010, 10, 2004), (2001, 2012, 10, 4), (None, None, 30, 4)],
)
def test_year_is_of_the_calendar_only_where_none_is_left_out(first, last, count, label):
    nothing = np.zeros((count, 365))
    years = Years(nothing, nothing, first=first, last=last)

    assert replay.year_label(years, 3) == label


# An hour at 20 mm/h over 10 mm/h of intake leaves 10 mm; 4 may stand, 6 run off. In
# 12 minutes of soak 2 of the 4 go in, so that the second hour brings 2 + 10 - 4 = 8.
def test_runoff_is_counted_cycle_by_cycle():
    found = runoff_of_cycles([0, 1, 2], 60, 12, 20, 10, 4)

    assert found.tolist() == pytest.approx([0, 6, 14])


def test_runoff_is_none_where_the_soil_takes_it_in():
    assert runoff_of_cycles(3, 60, 0, 10, 10, 0) == 0
    with pytest.raises(ValueError, match="intake_mm_h"):
        runoff_of_cycles(1, 60, 0, 10, 0, 1)


def test_more_cycles_never_mean_more_runoff():
    lost = [
        float(runoff_of_cycles(n, 60 / n, 30, 40, 8, 5)) for n in (1, 2, 3, 4, 6, 10)
    ]

    assert all(after <= before for before, after in itertools.pairwise(lost))
    assert lost[0] > 0


def test_a_shut_off_never_means_more_water(home):
    saving = rain_rules.shut_off_saving(home)

    assert np.all(saving.with_l_year <= saving.without_l_year)
    assert np.all(saving.dry_with >= saving.dry_without)
    assert saving.saves_l_year > 0
    assert not saving.on_site
    assert saving.rain_shutoff_mm == rain_rules.USUAL_SETTING_MM


def test_a_lower_setting_never_means_more_water(home):
    def saved(setting_mm):
        controller = dataclasses.replace(
            home.site.controller, rain_shutoff_mm=setting_mm
        )
        site = dataclasses.replace(home.site, controller=controller)
        return rain_rules.shut_off_saving(dataclasses.replace(home, site=site))

    low, high = saved(3.0), saved(12.0)
    assert low.on_site
    assert high.saves_l_year >= low.saves_l_year


def test_more_rain_never_means_more_water_on_fixed_settings(home):
    stage = replay.set_stage(home)
    laid = replay.table_waterings(stage)
    before = replay.played_way(stage, "table", laid)
    wetter = dataclasses.replace(home.years, rain_mm=home.years.rain_mm * 1.5)
    wet_stage = replay.set_stage(dataclasses.replace(home, recorded=wetter))
    after = replay.played_way(wet_stage, "table", laid)

    assert after.irrigation_mm_year == pytest.approx(before.irrigation_mm_year)
    assert np.all(after.dry_share <= before.dry_share)
    assert np.all(after.percolation_mm_year >= before.percolation_mm_year)


def test_days_after_rain_are_the_days_that_follow():
    rain = np.zeros((2, 365))
    rain[0, 10], rain[0, 11], rain[0, 364] = 12, 11.9, 30
    years = Years(rain, np.ones_like(rain))
    years = dataclasses.replace(years, et0_mm=np.ones_like(rain), rain_mm=rain)

    held = rain_rules.days_after_rain(years, 12, 2)
    assert np.argwhere(held).tolist() == [[0, 11], [0, 12], [1, 0], [1, 1]]


def test_hand_rule_is_the_best_of_all_that_are_let_pass(home):
    stage = replay.set_stage(home)
    rule = rain_rules.hand_rule(home, stage)
    laid = replay.held_back(stage, replay.table_waterings(stage))
    before = replay.played_way(stage, "table", laid)
    most = np.maximum(home.inputs.valve.most_dry, before.dry_share) + 0.01
    saves = {}
    for rain_mm in (25.4 / 4, 25.4 / 2, 25.4):
        for days in (1, 2, 3, 5):
            held = rain_rules.days_after_rain(home.years, rain_mm, days)
            every = np.broadcast_to(held, laid.water_mm.shape)
            way = replay.played_way(
                stage, "table", replay.held_back(stage, laid, every)
            )
            if np.all(way.dry_share <= most):
                less = before.volume_l_year.sum() - way.volume_l_year.sum()
                saves[rain_mm, days] = less

    assert rule is not None
    assert rule.saves_l_year == pytest.approx(max(saves.values()))
    assert saves[rule.rain_mm, rule.days_off] == pytest.approx(rule.saves_l_year)


# A shut-off with the table planned for it: nothing is saved by drying plants out.
def test_what_a_shut_off_would_save_keeps_to_the_dry_days(home):
    saves = rain_rules.planned_saving_l(home)
    if home.site.plan_by == "months":
        assert saves is None
        return
    controller = dataclasses.replace(
        home.site.controller, rain_shutoff_mm=rain_rules.USUAL_SETTING_MM
    )
    site = dataclasses.replace(home.site, controller=controller)
    then = plan_site(site)
    stages = [replay.set_stage(plan) for plan in (home, then)]
    now, with_it = (
        replay.replay(plan).way("table").volume_l_year.sum() for plan in (home, then)
    )

    assert saves.sum() == pytest.approx(now - with_it, rel=1e-9)
    assert np.nanmax(then.plan.dry_share) <= 0.10 + 0.01
    laid = replay.table_waterings(stages[1])
    without = replay.played_way(stages[1], "table", laid).volume_l_year.sum()
    assert rain_rules.held_back_l(then).sum() == pytest.approx(without - with_it)
    assert rain_rules.held_back_l(home) is None
    assert rain_rules.planned_saving_l(then) is None
