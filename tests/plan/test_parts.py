"""Parts of zones under one valve, on whole sites: laws, and sites written otherwise."""

import dataclasses

import numpy as np
import pytest

from scheduler.balance.day import QUARTERS, WETTER, quarter_depths
from scheduler.budget.parts import shared_valves
from scheduler.errors import InputError
from scheduler.findings.check import find
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report.asked import part_row
from scheduler.report.views.workings.working import explain
from scheduler.report.words.sentences import sentence

# Invented: a climate of dry summers, 1,200 mm of ET0.
CLIMATE = "month,et0_mm_day,rain_mm,rain_days,tmin_c,tmax_c\n" + "".join(
    f"{month},{et0},{rain},{days},8,25\n"
    for month, (et0, rain, days) in enumerate(
        [(1.2, 90, 10), (1.8, 80, 9), (2.7, 70, 9), (3.6, 50, 6), (4.6, 30, 4),
         (5.4, 15, 2), (5.8, 5, 1), (5.2, 5, 1), (4.0, 15, 2), (2.5, 40, 5),
         (1.5, 70, 8), (1.0, 85, 10)], 1)
)  # fmt: skip
SITE = '[site]\nlatitude = 38\nlongitude = 0\n[climate]\nfile = "climate.csv"\n'
HEADER = (
    "zone,plant,soil,slope_percent,head_kind,area_m2,flow_l_min,microclimate_factor\n"
)
LAWN = "1,cool-season turf,loam,2,rotor,200,40,1\n"
PARTS = "zone,part,share,plant,soil,slope_percent,microclimate_factor\n"
SUN_AND_SHADE = "1,sun,0.6,,,,\n1,shade,0.4,,,,0.5\n"


@pytest.fixture
def planned(tmp_path):
    """Function that plans a site of these zones and parts."""

    def plan(zones=LAWN, parts="", by="days", header=HEADER, parts_header=PARTS):
        for path in tmp_path.iterdir():
            path.unlink()
        (tmp_path / "climate.csv").write_text(CLIMATE)
        (tmp_path / "site.toml").write_text(f'{SITE}[plan]\nby = "{by}"\n')
        (tmp_path / "zones.csv").write_text(header + zones)
        if parts:
            (tmp_path / "parts.csv").write_text(parts_header + parts)
        return plan_site(read_site(tmp_path))

    return plan


def arrays(plan):
    """Arrays of a table, its schedule's among them."""
    table = plan.plan
    found = {f.name: getattr(table, f.name) for f in dataclasses.fields(table)}
    schedule = found.pop("schedule")
    found |= {f.name: getattr(schedule, f.name) for f in dataclasses.fields(schedule)}
    return found


# To the bit: ground that is all alike is one ground, however it is cut up.
@pytest.mark.parametrize("by", ["days", "months"])
@pytest.mark.parametrize("parts", ["1,a,1,,,,\n", "1,a,0.3,,,,\n1,b,0.7,,,,\n"])
def test_parts_with_like_properties_change_nothing(planned, by, parts):
    whole, cut = arrays(planned(by=by)), arrays(planned(parts=parts, by=by))

    for name, values in whole.items():
        np.testing.assert_array_equal(cut[name], values, err_msg=name)


def dry_share(plan, part, month):
    """Dry share of a month in plain Python: FAO-56 day by day, from the definition."""
    inputs, years = plan.inputs, plan.years
    ground, valve = inputs.ground, int(inputs.ground.valve[part])
    total = float(ground.total_available_water_mm[part, 0])
    allowed = float(ground.allowed_depletion_mm[part, 0])
    shares = quarter_depths(float(inputs.valve.uniformity[valve]))
    of_day = np.repeat(np.arange(12), inputs.periods.days)
    water = plan.settings.water_mm[valve]
    dry = days = 0
    for quarter in range(QUARTERS)[WETTER]:
        depletion = 0.0
        for turn in range(2):
            for year in range(len(years)):
                for day in range(365):
                    coefficient = ground.landscape_coefficient[part, of_day[day]]
                    need = float(years.et0_mm[year, day] * coefficient)
                    got = water[year, day] * shares[quarter] + years.rain_mm[year, day]
                    depletion = max(depletion - got, 0.0)
                    stress = min((total - depletion) / (total - allowed), 1.0)
                    depletion += min(need * stress, total - depletion)
                    if turn and of_day[day] == month:
                        dry += depletion > 1.1 * max(allowed, need)
                        days += 1
    return dry / days


# FAO-56 played in a plain loop over the years: no part goes dry on more than a tenth of
# a month's days, and the part that the valve runs for is the drier one.
def test_no_part_goes_dry_on_more_days_than_may_be(planned):
    plan = planned(parts=SUN_AND_SHADE)

    for month in (4, 6, 8):
        sun, shade = (dry_share(plan, part, month) for part in (0, 1))
        assert sun == pytest.approx(plan.by_part.dry_share[0, month], abs=1e-9)
        assert shade == pytest.approx(plan.by_part.dry_share[1, month], abs=1e-9)
        assert shade <= sun <= 0.1 + 1e-9
        assert plan.plan.dry_share[0, month] == pytest.approx(sun, abs=1e-9)
        assert plan.decides[0, month] == 0


# The valve waters the shade as if it were sun: what it takes is what all sun takes.
@pytest.mark.parametrize("by", ["days", "months"])
def test_the_valve_runs_for_the_part_that_needs_most(planned, by):
    sun, mixed = planned(by=by), planned(parts=SUN_AND_SHADE, by=by)

    np.testing.assert_array_equal(mixed.plan.volume_l, sun.plan.volume_l)
    np.testing.assert_array_equal(mixed.plan.plant_need_mm, sun.plan.plant_need_mm)


# Two plants of seasons apart, on two soils: neither goes dry more often than may be.
def test_plants_of_seasons_apart_both_keep_to_the_limit(planned):
    parts = "1,grass,0.5,warm-season turf,,,\n1,bed,0.5,hedges,sand,,0.7\n"
    plan = planned(parts=parts)

    assert plan.by_part.dry_share.max() <= 0.1 + 1e-9
    for part, month in ((0, 6), (1, 6), (1, 4)):
        by_hand = dry_share(plan, part, month)
        assert plan.by_part.dry_share[part, month] == pytest.approx(by_hand, abs=1e-9)


# IA-ASA: 60 · allowed accumulation / (peak rate − intake), of the worst ground; on clay
# the cycle is as short as if all of it were clay.
def test_cycles_are_no_longer_than_the_worst_ground_takes(planned):
    hard = "1,cool-season turf,clay,6,rotor,200,40,1\n"
    mixed = planned(parts="1,flat,0.9,,,,\n1,bank,0.1,,clay,6,\n")
    clay, loam = planned(zones=hard), planned()

    assert mixed.plan.runoff_limit_min[0] == clay.plan.runoff_limit_min[0]
    assert clay.plan.runoff_limit_min[0] < loam.plan.runoff_limit_min[0]
    assert mixed.plan.longest_cycle_min[0] == clay.plan.longest_cycle_min[0]
    soil = mixed.site.soils
    row = soil.names.index("clay")
    intake = soil.intake_mm_h[row]
    slope = mixed.stands_on.slope_class[1]
    by_hand = 60 * soil.accumulation_mm[row, slope] / (12 - intake)
    assert mixed.plan.runoff_limit_min[0] == pytest.approx(by_hand)


# The same ground written as two zones, each with its share of area and flow.
@pytest.mark.parametrize("by", ["days", "months"])
def test_a_valve_for_each_part_takes_what_zones_written_so_take(planned, by):
    (found,) = shared_valves(planned(parts=SUN_AND_SHADE, by=by))
    apart = planned(
        zones="1,cool-season turf,loam,2,rotor,120,24,1\n"
        "2,cool-season turf,loam,2,rotor,80,16,0.5\n",
        by=by,
    )

    np.testing.assert_allclose(found.apart_l, apart.plan.volume_l.sum(axis=0))
    np.testing.assert_allclose(found.alone_l, apart.plan.volume_l.sum(axis=1))
    assert found.too_much_l[1] > found.too_much_l[0]


# With nozzles of such rates written into parts.csv, and the flow that they then take.
def test_other_heads_take_what_a_site_with_such_heads_takes(planned):
    (found,) = shared_valves(planned(parts=SUN_AND_SHADE))
    sun, shade = found.rate_share
    flow = 40 * (0.6 * sun + 0.4 * shade)
    parts = f"1,sun,0.6,,{12 * sun}\n1,shade,0.4,0.5,{12 * shade}\n"
    other = planned(
        zones=f"1,cool-season turf,loam,2,rotor,200,{flow},1\n",
        parts=parts,
        parts_header="zone,part,share,microclimate_factor,rate_mm_h\n",
    )

    assert sun == 1
    assert shade < 0.9
    np.testing.assert_allclose(found.heads_l, other.plan.volume_l[0])
    assert found.heads_l.sum() < found.now_l.sum()


# A liter on a square meter is a millimeter: each part gets minutes · its own rate.
def test_a_rate_of_its_own_waters_a_part_by_that_rate(planned):
    header = "zone,part,share,rate_mm_h\n"
    plan = planned(parts="1,a,0.25,6\n1,b,0.75,14\n", parts_header=header)
    minutes = plan.plan.schedule.minutes_per_week * plan.inputs.periods.days / 7

    # 0.25 · 6 + 0.75 · 14 = 12 mm/h, the zone's own: 40 L/min on 200 m².
    np.testing.assert_allclose(plan.by_part.applied_mm[0], minutes[0] * 6 / 60)
    np.testing.assert_allclose(plan.by_part.applied_mm[1], minutes[0] * 14 / 60)
    np.testing.assert_allclose(plan.by_part.volume_l.sum(axis=0), plan.plan.volume_l[0])
    assert (plan.decides[0, 4:9] == 0).all()


# Common practice: turf and trees, sun and shade do not belong on one valve.
def test_check_names_the_valve_that_parts_share_and_what_it_costs(planned):
    plan = planned(parts=SUN_AND_SHADE)
    (found,) = [f for f in find(plan) if f.caution.code == "parts-share-valve"]
    (valve,) = shared_valves(plan)

    saves = plan.plan.volume_l.sum() - valve.apart_l.sum()
    assert found.costs_l_year == pytest.approx(saves)
    assert found.caution.values["decides"] == "sun"
    assert found.caution.values["part"] == "shade"
    like = planned(parts="1,a,0.5,,,,\n1,b,0.5,,,,\n")
    assert all(f.caution.code != "parts-share-valve" for f in find(like))


# By the table of plants: turf stands 7 days without water, succulents want 14 between
# waterings (Mesa AZ prints 21 and more in every month).
def test_parts_without_a_common_day_pattern_are_named(planned):
    plan = planned(parts="1,lawn,0.5,,,,\n1,cacti,0.5,succulents,,,\n")
    told = [c for c in plan.cautions if c.code == "watered-too-often"]

    assert told
    assert {(c.values["seldom"], c.values["often"]) for c in told} == {
        ("cacti", "lawn")
    }
    text = sentence(told[0], "metric")
    assert "no days suit both of its parts: cacti wants 14 days" in text
    assert "lawn stands no more than 7 days" in text


# FAO-56: need is ET0 times the coefficient; the shade's factor is half, so is its need.
def test_explain_of_a_part_works_out_that_part(planned):
    plan = planned(parts=SUN_AND_SHADE)
    decides, shade = (
        {step.name: step.value for step in explain(plan, "1", 7, "metric", part)}
        for part in (None, 1)
    )
    halved = float(decides["plant need"].replace(",", "")) / 2

    assert float(shade["plant need"]) == pytest.approx(halved, abs=1)
    assert shade["worked out below"] == "shade"
    assert shade["minutes"].startswith("as the zone runs for sun")
    assert "minutes a watering day" not in shade
    same = explain(plan, "1", 7, "metric", 0)
    assert [s.value for s in same] == [s.value for s in explain(plan, "1", 7, "metric")]


def test_part_that_there_is_not_is_told(planned):
    site = planned(parts=SUN_AND_SHADE).site

    assert part_row(site, 0, "Shade") == 1
    with pytest.raises(InputError, match='"shadow" is not a part of zone 1'):
        part_row(site, 0, "shadow")
    with pytest.raises(InputError, match="no --part: the zone is one"):
        part_row(planned().site, 0, "sun")
