"""With less water: laws, every rung of a small site, and what plants stand."""

import dataclasses
import itertools

import numpy as np
import pytest
from cards import plan_of
from questions import less_of

from scheduler.budget.less.harm import GROWS, harm_of_zones, heat, weights
from scheduler.budget.less.less import curve, fewer_days, less_water, year_l
from scheduler.budget.less.ways import drought_season, settings_of, water_of
from scheduler.budget.replay import Stage
from scheduler.inputs.library import package_plants
from scheduler.plan.by_days import rows_of_settings
from scheduler.plan.choice import NEAR_LEAST_DRY, OFF
from scheduler.plan.inputs import of_valves
from scheduler.plan.site import plan_site


def test_no_percent_gives_the_table_itself():
    found = less_of("home", 0)

    assert found.after.settings is found.before.settings
    assert np.array_equal(found.before_l, found.after_l)
    assert np.array_equal(found.after.plan.volume_l, found.before.plan.volume_l)


@pytest.mark.parametrize("percent", [20, 90])
def test_less_keeps_to_its_target_and_hardly_goes_beyond(percent):
    found = less_of("home", percent)

    assert found.reached
    assert found.after_l.sum() <= found.target_l * (1 + 1e-6)
    # One month of one zone is the grain of it.
    grain = found.before_l.max()
    assert found.after_l.sum() >= found.target_l - grain


def test_nobody_is_turned_off_before_there_is_no_other_way():
    assert not less_of("home", 20).turned_off
    below = less_of("home", 90)
    assert below.turned_off
    assert below.least_l > below.target_l


# Law: more given up never does less harm, and plants never go short on fewer days by
# more than the tie rule of the table's own choice lets pass.
def test_curve_never_falls_as_more_is_given_up():
    rungs = [r for r in curve(less_of("home", 20)) if not r.turned_off]
    harm, dry = ([getattr(r, name) for r in rungs] for name in ("harm", "dry_share"))

    assert len(rungs) > 5
    assert all(b >= a for a, b in itertools.pairwise(harm))
    assert all(b >= a - NEAR_LEAST_DRY for a, b in itertools.pairwise(dry))


def test_curve_begins_at_the_table_and_ends_at_nothing():
    found = less_of("home", 20)
    rungs = curve(found)

    assert rungs[0].water_l == pytest.approx(found.before_l.sum())
    assert rungs[-1].water_l == 0
    assert rungs[-1].turned_off == len(found.before.site.zones)


# Law: what is delivered is what `replay` delivers, a valve's minutes times its flow.
def test_water_of_a_year_is_that_of_the_replay():
    plan = plan_of("home")
    stage = Stage(plan, plan.season, plan.season.store(), np.ones(365, dtype=bool))
    daily = plan.settings.water_mm.sum(axis=2).mean(axis=1)

    assert year_l(plan).sum(axis=1) == pytest.approx(daily * stage.l_per_mm)


# Brute force: all ways to give up water in the three months that take most, each at
# every pattern of its drought season and a handful of minutes, played through.
def test_one_zone_gives_up_no_more_than_the_best_of_all_rungs():
    zone, months = 3, [5, 6, 7]
    plan = plan_of("home")
    own = of_valves(plan.inputs, np.array([zone]))
    base = rows_of_settings(plan.settings, np.array([zone]), plan.parts(zone))
    found = less_of("home", 20)
    ours = rows_of_settings(found.after.settings, np.array([zone]), plan.parts(zone))
    pattern, row = ours.pattern[0], ours.row[0]
    rungs = []
    for month in months:
        mine = {(int(pattern[month]), int(row[month]))}
        for p in range(int(base.pattern[0, month]), OFF):
            top = int(base.row[0, month])
            mine |= {(p, r) for r in (top - 8, top) if r >= 0}
        rungs.append(sorted(mine)[:5])
    picks = [*itertools.product(*rungs)]
    assert len(picks) > 100
    many = np.zeros(len(picks), dtype=np.intp)
    patterns, rows = np.tile(pattern, (len(picks), 1)), np.tile(row, (len(picks), 1))
    for turn, pick in enumerate(picks):
        for month, (p, r) in zip(months, pick, strict=True):
            patterns[turn, month], rows[turn, month] = p, r
    season = drought_season(of_valves(own, many))
    played = settings_of(season, rows_of_settings(base, many, many), patterns, rows)
    water = water_of(season, played).sum(axis=1)
    et0 = plan.months.et0_mm_day
    days = season.inputs.periods.days * et0
    harm = (np.nan_to_num(played.dry_share) ** GROWS * days).sum(axis=1)
    mine = found.after_l[zone].sum()
    our_harm = (np.nan_to_num(ours.dry_share[0]) ** GROWS * days).sum()
    best = harm[water <= mine * (1 + 1e-9)].min()

    # The rungs that are tried are a seventh apart, so the grain is about a tenth.
    assert our_harm <= 1.10 * best


# Law: no month that asks for more is let go for months that ask for less, so that what
# lawns get over ET0 hardly rises and falls through the season.
@pytest.mark.parametrize("percent", [10, 20])
def test_a_lawn_gives_up_in_hot_months_no_more_than_in_mild_ones(percent):
    found = less_of("home", percent)
    before, after = (found.before_l[:3, 4:9], found.after_l[:3, 4:9])  # May to Sep
    given = after / before

    # A watering day more or less a month is the grain of it.
    assert (given[:, 1:4].min(axis=1) > given.max(axis=1) - 0.4).all()


def test_days_count_by_heat_and_a_mean_day_counts_one():
    inputs = plan_of("home").inputs
    of_month = heat(inputs)[0]

    assert np.average(of_month, weights=inputs.periods.days) == pytest.approx(1)
    assert of_month.argmax() == inputs.et0_mm_day[0].argmax()


def test_harm_is_the_same_for_a_zone_cut_in_two():
    plan = plan_of("home")
    dry = np.full(plan.by_part.dry_share.shape, 0.3)
    area = plan.rates.area_m2.copy()
    area[0] /= 2
    halved = dataclasses.replace(
        plan, rates=dataclasses.replace(plan.rates, area_m2=area)
    )

    assert harm_of_zones(plan, dry)[0] == pytest.approx(
        2 * harm_of_zones(halved, dry)[0]
    )


def test_who_is_kept_first_gives_up_less_and_who_is_kept_last_more():
    plan = plan_of("home")
    zones = dataclasses.replace(
        plan.site.zones, keep=("first", "last", None, None, None)
    )
    kept = dataclasses.replace(plan, site=dataclasses.replace(plan.site, zones=zones))
    target = less_of("home", 20).target_l
    plain, found = less_of("home", 20), less_water(kept, target, np.sum, target)

    assert found.dry_after[0] < plain.dry_after[0]
    assert found.dry_after[1] > plain.dry_after[1]
    assert weights(kept)[0] / weights(plan)[0] == pytest.approx(10)


def test_fewer_days_alone_change_days_and_nothing_else():
    plan = plan_of("home")
    windows = tuple(
        dataclasses.replace(w, most_days_a_week=min(2, w.most_days_a_week))
        for w in plan.site.windows
    )
    after = plan_site(dataclasses.replace(plan.site, windows=windows))
    found = fewer_days(plan, after)

    assert found.after.plan.schedule.days_per_week.max() <= 2
    assert found.ways is None
    assert (found.dry_after >= found.dry_before - 1e-9).all()


# Harivandi et al. 2009 (University of California ANR 8395), as read: optimum and
# deficit share of ET0, warm-season turf 60 and 40 %, cool-season 80 and 60 %.
@pytest.mark.parametrize(
    ("plant", "optimum", "deficit"),
    [("warm-season turf", 60, 40), ("cool-season turf", 80, 60),
     ("buffalo grass", 60, 40), ("fine fescue", 80, 60)],
)  # fmt: skip
def test_turf_stands_the_deficit_of_its_trials(plant, optimum, deficit):
    plants = package_plants()
    stands = plants.tolerance[plants.names.index(plant)]

    assert stands == pytest.approx(1 - deficit / optimum, abs=0.005)


# Fu, Fry, Huang 2004, HortScience 39(7):1740, abstract as read: share of actual ET for
# acceptable quality all season: bluegrass 100 %, tall fescue 60 (2001) and 80 % (2002),
# bermuda 60 %, zoysia 80 %.
@pytest.mark.parametrize(
    ("plant", "shares"),
    [("kentucky bluegrass", [100]), ("tall fescue", [60, 80]), ("bermuda grass", [60]),
     ("zoysia grass", [80])],
)  # fmt: skip
def test_grasses_stand_what_the_rainout_shelter_found(plant, shares):
    plants = package_plants()
    stands = plants.tolerance[plants.names.index(plant)]

    assert stands == pytest.approx(1 - np.mean(shares) / 100)


# Common practice: trees before lawns, vegetables last.
def test_trees_are_kept_before_lawns_and_vegetables_give_up_last():
    plants = package_plants()
    stands = dict(zip(plants.names, plants.tolerance, strict=True))

    lawns = [stands[name] for name in ("cool-season turf", "warm-season turf")]
    assert stands["trees moderate water"] < min(lawns)
    assert stands["vegetables"] == 0
