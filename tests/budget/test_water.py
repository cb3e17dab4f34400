"""Allowance and estimate against the ordinance; the year's water against laws."""

import dataclasses
import datetime
from pathlib import Path

import numpy as np
import pytest
from plantings import lawn
from remembered import make_savings

from scheduler import units
from scheduler.budget import savings, water
from scheduler.calendar import ALL_DATES, WEEKDAYS
from scheduler.errors import InputError
from scheduler.inputs.canfile import no_cans
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Current
from scheduler.plan.planning import plan_valves, plan_zones
from scheduler.plan.site import plan_site
from scheduler.report.words import budget as words

EXAMPLES = Path(__file__).parents[2] / "examples"
SITES = ("home", "southern_garden", "business_park")
DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
IN_FT2_GAL = 144 / 231
"""Gallons in an inch of water on a square foot: 144 in³ over 231 in³, exact."""


@pytest.fixture(scope="module", params=SITES)
def plan(request):
    """Each example, planned."""
    return plan_site(read_site(EXAMPLES / request.param))


@pytest.fixture(scope="module")
def home():
    return plan_site(read_site(EXAMPLES / "home"))


@pytest.fixture(scope="module")
def home_by_months():
    site = read_site(EXAMPLES / "home")
    return plan_site(dataclasses.replace(site, plan_by="months"))


def with_water(plan, **changes):
    """The plan of a site with another price or allowance."""
    priced = dataclasses.replace(plan.site.water, **changes)
    return dataclasses.replace(plan, site=dataclasses.replace(plan.site, water=priced))


# California model landscape ordinance (23 CCR 2.7), 2010 text, the worked example:
# ET0 51.1 in, 50,000 ft², no special area, factor 0.7, conversion 0.62: 1,108,870
# gallons a year, printed.
def test_landscape_allowance_of_the_ordinances_example_to_the_gallon():
    gallons = water.landscape_allowance(
        51.1, 50_000, 0, 0.7, water.ORDINANCE_CONVERSION
    )

    assert round(float(gallons)) == 1_108_870


# The same example with 2,000 ft² of special area, exact by the printed formula:
# 51.1 * 0.62 * (0.7 * 50,000 + 0.3 * 2,000) = 31.682 * 35,600 = 1,127,879.2. (The
# printed 1,127,808 comes of 31.68.)
def test_landscape_allowance_with_a_special_area():
    gallons = water.landscape_allowance(51.1, 50_000, 2_000, 0.7, 0.62)

    assert float(gallons) == pytest.approx(1_127_879.2, rel=1e-12)


# 1 in on 1 ft² is 144 in³, and a gallon 231 in³ (NIST Handbook 44): SI must give the
# gallons of the exact conversion, and the ordinance's 0.62 is that to two digits.
def test_landscape_allowance_in_si_is_the_exact_conversion():
    liters = water.landscape_allowance(
        51.1 * units.MM_PER_IN, 50_000 * units.M2_PER_FT2, 0, 0.7
    )

    exact = 51.1 * IN_FT2_GAL * 0.7 * 50_000
    assert float(liters) / units.L_PER_GAL == pytest.approx(exact, rel=1e-12)
    assert round(IN_FT2_GAL, 2) == water.ORDINANCE_CONVERSION


# With all of the ground special the factor falls out: ET0 * area, 1 mm on 1 m² = 1 L.
@pytest.mark.parametrize("factor", [0.45, 0.55, 0.7])
def test_landscape_allowance_of_special_ground_alone_has_a_factor_of_1(factor):
    liters = float(water.landscape_allowance(1000, 80, 80, factor))

    assert liters == pytest.approx(80_000, rel=1e-12)


def test_landscape_allowance_has_the_shape_of_what_it_is_given():
    liters = water.landscape_allowance([1000.0, np.nan], [[1.0], [2.0]], 0, 0.5)

    assert liters.shape == (2, 2)
    assert np.isnan(liters[:, 1]).all()
    assert liters[1, 0] == 1000.0


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((-1, 1, 0, 0.5), "et0_mm must be 0 or more, got -1"),
        ((1, -1, 0, 0.5), "area_m2 must be 0 or more, got -1"),
        ((1, 1, -1, 0.5), "special_area_m2 must be 0 or more, got -1"),
        ((1, 1, 2, 0.5), "special_area_m2 must not be over area_m2"),
        ((1, 1, 0, 1.5), "factor must be over 0 and up to 1, got 1.5"),
        ((1, 1, 0, 0.5, 0), "conversion must be over 0, got 0"),
    ],
)
def test_landscape_allowance_refuses(arguments, words):
    with pytest.raises(ValueError, match=words):
        water.landscape_allowance(*arguments)


# The ordinance's formula, ETWU = ET0 * 0.62 * (PF/IE * HA + SLA), by hand in its
# units: 51.1 * 0.62 = 31.682; 0.8/0.75 * 900 + 0.5/0.81 * 600 = 960 + 370.37037 =
# 1330.37037; and 100 ft² special: 31.682 * 1430.37037 = 45,316.994.
def test_estimated_use_by_hand():
    gallons = water.estimated_use(
        51.1, [0.8, 0.5, 0.9], [0.75, 0.81, 0.75], [900, 600, 100], [0, 0, 100], 0.62
    )

    assert gallons.sum() == pytest.approx(45_316.994, abs=5e-4)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((-1, 0.5, 0.75, 1), "et0_mm must be 0 or more, got -1"),
        ((1, -0.5, 0.75, 1), "plant_factor must be 0 or more, got -0.5"),
        ((1, 0.5, 0, 1), "efficiency must be over 0 and up to 1, got 0"),
        ((1, 0.5, 0.75, -1), "area_m2 must be 0 or more, got -1"),
        ((1, 0.5, 0.75, 1, 2), "special_area_m2 must not be over area_m2"),
    ],
)
def test_estimated_use_refuses(arguments, words):
    with pytest.raises(ValueError, match=words):
        water.estimated_use(*arguments)


# Ventura County Code, Div. 8, app. L3 (2015 ordinance, second-hand): 0.75 overhead and
# 0.81 drip.
def test_efficiencies_are_those_of_the_ordinance(plan):
    year = water.year_of_water(plan)
    kinds = [HEAD_KINDS[k] for k in plan.site.zones.head_kind]

    expected = [0.81 if kind in ("drip", "bubbler") else 0.75 for kind in kinds]
    assert year.efficiency.tolist() == expected


# The examples' plants have one coefficient all year, so the plant factor is that; and
# the estimate is the formula once more, zone by zone, in plain Python.
def test_year_of_water_estimates_zone_by_zone(plan):
    year = water.year_of_water(with_water(plan, special_area_m2=None))
    months = zip(plan.months.et0_mm_day, DAYS, strict=True)
    et0 = sum(float(each) * int(days) for each, days in months)

    assert year.et0_mm == pytest.approx(et0, rel=1e-12)
    for row, area in enumerate(plan.rates.area_m2.tolist()):
        factor = float(plan.plant_coefficient[row, 0])
        assert (plan.plant_coefficient[row] == factor).all()
        expected = et0 * factor / year.efficiency[row] * area
        assert year.estimated_use_l[row] == pytest.approx(expected, rel=1e-12)


# A law: the causes lead from the estimate to the plan, zone by zone, nothing left over.
def test_differences_add_up_from_estimate_to_plan(plan):
    year = water.year_of_water(plan)
    reached = year.estimated_use_l + sum(d.adds_l for d in year.differences)

    assert tuple(d.code for d in year.differences) == water.DIFFERENCES
    assert reached == pytest.approx(plan.plan.volume_l.sum(axis=1), rel=1e-12)


def adds(plan):
    year = water.year_of_water(plan)
    return {d.code: d.adds_l for d in year.differences}


# Each cause is 0 where there is no such cause: no rain, no frost, no shade, no salt.
def test_differences_are_nothing_where_their_cause_is_missing(home_by_months):
    home = home_by_months
    site = home.site
    ones = np.ones(len(site.zones))
    plain = dataclasses.replace(
        with_water(home, special_area_m2=None).site,
        zones=dataclasses.replace(
            site.zones, microclimate_factor=ones, density_factor=ones
        ),
        rain_rule=dataclasses.replace(site.rain_rule, method="none"),
        salinity_ds_m=0.0,
    )
    found = adds(plan_site(plain))

    for code in ("special-area", "site-factors", "frost", "rain", "leaching", "cut"):
        assert np.abs(found[code]).max() < 1e-6, code
    assert np.abs(found["uniformity"]).max() > 100


# Rain takes off what the plan counts of it, over the ordinance's efficiency.
def test_difference_by_rain_is_the_effective_rain(home):
    rain = home.plan.effective_rain_mm.sum(axis=1) * home.rates.area_m2
    overhead = np.array([0.75, 0.75, 0.75, 0.81, 0.81])

    assert not home.inputs.frost.any()
    assert adds(home)["rain"] == pytest.approx(-rain / overhead, rel=1e-9)


# Water in = water out: from April to September plants can have had no more beside the
# watering than what rain fell and what the roots hold of it when April begins.
def test_rain_and_soil_give_no_more_than_falls_and_than_roots_hold(home):
    months = slice(3, 9)
    gives = home.plan.effective_rain_mm[:, months].sum(axis=1)
    most = home.months.rain_mm[months].sum()

    assert (gives <= most + home.stands_on.roots.total_available_water_mm).all()
    assert (home.plan.effective_rain_mm.sum(axis=1) <= home.months.rain_mm.sum()).all()


def test_difference_by_frost_is_the_need_of_the_months_that_are_off():
    plan = plan_site(read_site(EXAMPLES / "business_park"))
    off = plan.months.frost
    need = (plan.plan.plant_need_mm[:, off]).sum(axis=1) * plan.rates.area_m2

    assert off.sum() == 5
    expected = -need / water.year_of_water(plan).efficiency
    assert adds(plan)["frost"] == pytest.approx(expected, rel=1e-9)


# FAO29, p. 26 (from memory): LR = ECw / (5 ECe - ECw), and of the water that goes in
# 1 - LR stays with the plants. What washes salt down is LR of the whole, so
# LR / (1 - LR) of what stays: with half the threshold's salinity LR is 1/9, and an
# eighth more. By months, for by days winter rain washes all of it down here.
def test_difference_by_leaching_is_the_share_of_all_that_goes_in(home):
    site = home.site
    salty = dataclasses.replace(
        site,
        plan_by="months",
        salinity_ds_m=1.0,
        plants=dataclasses.replace(
            site.plants, salt_threshold_ds_m=np.full(len(site.plants.names), 2.0)
        ),
    )
    plan = plan_site(salty)
    du = plan.rates.uniformity
    net = plan.plan.net_need_mm.sum(axis=1) * plan.rates.area_m2

    assert not plan.inputs.frost.any()
    expected = net / (0.4 + 0.6 * du) / 8
    assert adds(plan)["leaching"] == pytest.approx(expected, rel=1e-9)


def test_volume_is_the_sum_of_the_tables_minutes_times_flow(plan):
    year = water.year_of_water(plan)
    weekly = plan.plan.schedule.minutes_per_week
    fill = plan.plan.fill_min * plan.plan.fill_days

    expected = (weekly * DAYS / 7 + fill) * plan.rates.flow_l_min[:, None]
    assert year.volume_l == pytest.approx(expected, rel=1e-12)


# 25 min * 2 starts * 4 days a week for July's 31 days is 885.714 min; 20 L/min. The
# other rows: another zone, and a second program of the first one in the same month.
def test_todays_volume_by_hand_adds_the_programs_of_a_zone():
    current = Current(
        np.array([0, 1, 0]),
        np.array([25.0, 10.0, 7.0]),
        np.array([2.0, 1.0, 1.0]),
        np.array([4.0, 7.0, 1.0]),
        ((6, 7), (1,), (7,)),
    )
    volume = water.todays_volume(current, np.array([20.0, 3.0]))

    assert volume[0, 5] == pytest.approx(200 * 30 / 7 * 20, rel=1e-12)
    assert volume[0, 6] == pytest.approx((200 + 7) * 31 / 7 * 20, rel=1e-12)
    assert volume[1, 0] == pytest.approx(10 * 31 * 3, rel=1e-12)
    assert volume.sum() == pytest.approx(
        volume[0, 5] + volume[0, 6] + volume[1, 0], rel=1e-12
    )


def test_zones_without_a_row_are_said_to_be_off_today(home):
    some = Current(
        np.array([1]), np.array([10.0]), np.array([1.0]), np.array([3.0]), ((7,),)
    )
    plan = dataclasses.replace(home, site=dataclasses.replace(home.site, current=some))
    year = water.year_of_water(plan)

    assert year.not_run_today == ("1", "3", "4", "5")
    assert not year.today_l[[0, 2, 3, 4]].any()


def test_special_area_is_laid_on_the_thirstiest_zones_and_adds_up():
    special = water.special_area_by_zone(
        130.0, np.array([500.0, 100.0, 40.0]), np.array([0.6, 0.9, 0.8])
    )

    assert special.tolist() == [0.0, 100.0, 30.0]


def test_special_area_over_the_whole_ground_is_refused(home):
    too_much = with_water(home, special_area_m2=float(home.rates.area_m2.sum()) + 1)
    with pytest.raises(InputError) as caught:
        water.year_of_water(too_much)

    assert [str(p) for p in caught.value.problems] == [
        "site.toml: water.special_area: is more than the ground of all zones together\n"
        "  accepted: a part of the zones' ground"
    ]


def by_code(plan, code):
    return [s for s in savings.find_savings(plan) if s.code == code]


def test_savings_begin_with_the_largest_and_all_save(plan):
    saved = [saving.saves_l for saving in savings.find_savings(plan)]

    assert saved == sorted(saved, reverse=True)
    assert min(saved) >= savings.LEAST_SAVED_L


def test_savings_are_planned_in_one_call(plan, monkeypatch):
    planned = []

    def plan_once(inputs):
        planned.append(len(inputs))
        return plan_valves(inputs)

    monkeypatch.setattr(savings, "plan_valves", plan_once)
    make_savings(plan)

    # One call, of the zones that a step changes: never all five steps of every zone.
    assert len(planned) == 1
    assert len(plan.site.zones) <= planned[0] < 5 * len(plan.site.zones)


def test_savings_leave_what_the_months_then_take(plan):
    now = plan.plan.volume_l.sum()

    for saving in savings.find_savings(plan):
        assert saving.month_l.sum() == pytest.approx(now - saving.saves_l, rel=1e-12)


# One zone alone with its uniformity written into zones.csv's place, the whole site
# planned anew from the start.
def test_saving_by_uniformity_is_that_of_a_new_plan(plan):
    site, zones = plan.site, plan.site.zones
    # A test with cans goes before what zones.csv says: here its result stands there.
    tested = np.isfinite(plan.tests.rate_mm_h)
    rate = np.where(tested, plan.tests.rate_mm_h, zones.rate_mm_h)
    # The first two of many zones: each is a plan of its own.
    for saving in by_code(plan, "uniformity")[:2]:
        given = plan.rates.uniformity.copy()
        given[saving.zone] = saving.values["then"]
        new = plan_site(
            dataclasses.replace(
                site,
                zones=dataclasses.replace(zones, uniformity=given, rate_mm_h=rate),
                cans=no_cans(zones.zone),
            )
        )

        saved = plan.plan.volume_l.sum() - new.plan.volume_l.sum()
        assert saving.saves_l == pytest.approx(saved, rel=1e-9)


# A zone cannot be timed better than its heads lay the water.
def test_saving_by_uniformity_stays_within_what_the_heads_can_do(plan):
    for saving in by_code(plan, "uniformity"):
        rates, zone = plan.rates, saving.zone
        held = np.fmin(rates.imbalance, rates.modelled_uniformity)[zone]

        assert np.isnan(held) or saving.values["then"] <= held + 1e-12


# Without heads nothing is unmatched: the zone takes the flow, rate and usual
# uniformity that it has, and no imbalance holds it down.
def test_saving_by_matched_heads_is_that_of_a_plan_with_the_usual_uniformity(home):
    (saving,) = by_code(home, "matched-heads")
    multiplier = home.inputs.valve.run_time_multiplier.copy()
    multiplier[1] = 1 / (0.4 + 0.6 * 0.70)
    uniformity = home.inputs.valve.uniformity.copy()
    uniformity[1] = 0.70
    valve = dataclasses.replace(
        home.inputs.valve, run_time_multiplier=multiplier, uniformity=uniformity
    )
    new = plan_zones(dataclasses.replace(home.inputs, valve=valve))

    assert saving.zone == 1
    assert saving.saves_l == pytest.approx(
        home.plan.volume_l[1].sum() - new.volume_l[1].sum(), rel=1e-12
    )


def test_saving_by_a_plant_is_that_of_a_new_plan(plan):
    found = by_code(plan, "plant")
    names = plan.site.plants.names

    assert found
    for saving in found[:2]:
        plant = plan.site.zones.plant.copy()
        plant[saving.zone] = names.index(saving.values["then"])
        zones = dataclasses.replace(plan.site.zones, plant=plant)
        new = plan_site(dataclasses.replace(plan.site, zones=zones))
        saved = plan.plan.volume_l.sum() - new.plan.volume_l.sum()
        assert saving.saves_l == pytest.approx(saved, rel=1e-9)
        assert names[plan.site.zones.plant[saving.zone]] == saving.values["now"]


def test_a_plant_is_not_changed_where_a_plant_factor_stands_for_it(home):
    factor = np.full(len(home.site.zones), np.nan)
    factor[0] = 0.8
    zones = dataclasses.replace(home.site.zones, plant_factor=factor)
    plan = plan_site(dataclasses.replace(home.site, zones=zones))

    assert 0 not in [saving.zone for saving in by_code(plan, "plant")]
    assert 1 in [saving.zone for saving in by_code(plan, "plant")]


def test_every_plant_to_change_is_in_the_table_with_one_of_less_need(home):
    plants = home.site.plants

    for now, others in savings.THRIFTIER.items():
        for other in others:
            of_now = plants.coefficient[plants.names.index(now)].mean()
            assert plants.coefficient[plants.names.index(other)].mean() < of_now


# The controller's percent multiplies minutes: nine tenths of the multiplier does the
# same. Minutes are whole, so a month's saving lies near a tenth, not at it.
def test_saving_by_a_seasons_percent_is_a_tenth_of_its_months(plan):
    (saving,) = by_code(plan, "season")
    now = plan.plan.volume_l.sum(axis=0)
    season = np.array(saving.values["months"]) - 1
    rest = np.setdiff1d(np.arange(12), season)

    assert saving.month_l[rest] == pytest.approx(now[rest], rel=1e-12)
    assert saving.saves_l == pytest.approx(0.1 * now[season].sum(), rel=0.12)
    largest = max(sum(now[(k + j) % 12] for j in range(3)) for k in range(12))
    assert now[season].sum() == pytest.approx(largest, rel=1e-12)


def test_saving_by_days_is_that_of_a_plan_without_days_forbidden(plan):
    windows = tuple(
        dataclasses.replace(w, weekdays=WEEKDAYS, parity=ALL_DATES, most_days_a_week=7)
        for w in plan.site.windows
    )
    new = plan_site(dataclasses.replace(plan.site, windows=windows))
    saved = plan.plan.volume_l.sum() - new.plan.volume_l.sum()
    found = by_code(plan, "days")

    assert len(found) == (saved >= savings.LEAST_SAVED_L)
    assert all(s.saves_l == pytest.approx(saved, rel=1e-9) for s in found)


# Money saved is the difference of two years of bills, recomputed from the months.
def test_savings_in_money_are_differences_of_bills(home):
    now = savings.cost_of_year(home.plan.volume_l.sum(axis=0), home.site.water)

    for saving in savings.find_savings(home):
        after = savings.cost_of_year(saving.month_l, home.site.water)
        assert saving.saves_cost == now - after


def test_budget_has_no_cost_without_a_price(home):
    unpriced = with_water(home, tiers=(), billing_unit="")
    found = savings.budget_site(unpriced)

    assert found.cost is None
    assert found.today_cost is None
    assert {saving.saves_cost for saving in found.savings} == {None}


# By brute force over the dates: 18 gpm for the minutes of each watering day, beside the
# month's water of grown-in sod by the day. A year of grown-in plants is said to be one.
def test_water_of_steps_is_that_of_their_dates_and_stands_beside_the_year(tmp_path):
    folder = lawn(tmp_path, '[plan]\nby = "months"\n')
    plan = plan_site(read_site(folder), datetime.date(2026, 6, 20))
    [new], [found] = plan.plantings, water.growing_in(plan)
    minutes = grown_l = 0.0
    day = new.steps[0].first
    while day < new.grown_in:
        step = new.step_on(day)
        minutes += (day in step.dates) * len(step.starts_min) * step.minutes
        grown_l += plan.plan.volume_l[0, day.month - 1] / DAYS[day.month - 1]
        day += datetime.timedelta(days=1)

    assert minutes > 100
    assert found.steps_l == pytest.approx(18 * units.L_PER_GAL * minutes)
    assert found.table_l == pytest.approx(grown_l)
    told = words.said(savings.budget_site(plan), "us")
    assert "Zone 1 is new, and all figures here are of grown-in plants" in told[0]
    late = plan_site(read_site(folder), new.grown_in)
    assert water.growing_in(late) == ()
