"""Laws of inputs in rows: stacked, repeated and changed they plan as one by one."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from scheduler.calendar import DAYS_IN_MONTH, Periods
from scheduler.inputs.folder import read_site
from scheduler.plan import table
from scheduler.plan.inputs import PlanInput, of_valves, stack, what_if
from scheduler.plan.planning import plan_valves, plan_zones
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[2] / "examples"
SITES = ("home", "southern_garden", "business_park")


def arrays_of(plan):
    """Every array of a plan but the rows' own numbers, by name."""
    return {
        field.name: getattr(record, field.name)
        for record in (plan, plan.schedule)
        for field in dataclasses.fields(record)
        if field.name not in ("schedule", "zone")
    }


def assert_rows_alike(plan, rows, other):
    """Rows of a plan are those of another; numpy's short rows may differ by a bit."""
    there = arrays_of(other)
    for name, values in arrays_of(plan).items():
        np.testing.assert_allclose(
            values[rows], there[name], rtol=1e-12, atol=1e-12, err_msg=name
        )


def changed(inputs, name, value):
    """The input with one field replaced, wherever it stands."""
    for place in ("ground", "valve"):
        record = getattr(inputs, place)
        if hasattr(record, name):
            old = getattr(record, name)
            shape = np.broadcast_shapes(old.shape, np.shape(value))
            new = dataclasses.replace(record, **{name: np.broadcast_to(value, shape)})
            return dataclasses.replace(inputs, **{place: new})
    old = getattr(inputs, name)
    return dataclasses.replace(inputs, **{name: np.broadcast_to(value, old.shape)})


@pytest.fixture(scope="module")
def sites():
    """The examples and zones drawn at random: other climates, rules and settings."""
    read = [read_site(EXAMPLES / name) for name in SITES]
    return [
        plan_site(dataclasses.replace(site, plan_by="months")).inputs for site in read
    ]


@pytest.fixture
def zones(random_zones):
    return random_zones(60, seed=31)


# Each site alone and all of them in one call: no zone hears of another.
def test_stacked_sites_plan_as_each_alone(sites, zones):
    sites = [*sites, zones]
    plan = plan_zones(stack(sites))

    start = 0
    for inputs in sites:
        rows = slice(start, start + len(inputs))
        assert_rows_alike(plan, rows, plan_zones(inputs))
        start = rows.stop
    assert start == len(plan.applied_mm)
    np.testing.assert_array_equal(plan.schedule.zone[:, 0], np.arange(start))


def test_stack_keeps_each_rule_once_with_its_own_intervals(zones):
    twice = stack([zones, zones])

    assert twice.rules == zones.rules
    assert twice.rule_intervals == zones.rule_intervals
    other = dataclasses.replace(zones, rule_intervals=(False,) * len(zones.rules))
    both = stack([zones, other])
    pairs = list(zip(both.rules, both.rule_intervals, strict=True))
    assert len(set(pairs)) == len(pairs)
    assert set(zip(zones.rules, zones.rule_intervals, strict=True)) <= set(pairs)


def test_stack_makes_a_store_of_the_year_one_of_its_months(zones):
    by_month = np.broadcast_to(zones.ground.total_available_water_mm, (60, 12))
    monthly = changed(zones, "total_available_water_mm", by_month)
    plan = plan_zones(stack([zones, monthly]))

    assert_rows_alike(plan, slice(0, 60), plan_zones(zones))
    assert_rows_alike(plan, slice(60, 120), plan_zones(zones))


def test_stack_refuses_nothing_and_other_periods(zones):
    with pytest.raises(ValueError, match="inputs must be one or more"):
        stack([])
    other = dataclasses.replace(
        zones, periods=Periods(DAYS_IN_MONTH + 1, np.arange(12))
    )
    with pytest.raises(ValueError, match="over the same periods"):
        stack([zones, other])
    by_days = plan_site(read_site(EXAMPLES / "home")).inputs
    with pytest.raises(ValueError, match="all be planned by days, or all by months"):
        stack([zones, by_days])


# One call with a hundred what-ifs, and a hundred calls with one each.
@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("run_time_multiplier", np.linspace(1.0, 1.6, 100)),
        ("rain_mm", [0.0, 20.0, 300.0]),
        ("frost", [False, True]),
        ("longest_gap_days", [1.0, 5.0, 28.0]),
        ("landscape_coefficient", [0.3, 0.9]),
        ("allowed_depletion_mm", [5.0, 80.0]),
        ("day_rule", range(9)),
    ],
)
def test_what_ifs_are_planned_as_one_by_one(zones, name, values):
    plan = plan_zones(what_if(zones, **{name: values}))

    assert len(plan.applied_mm) == len(values) * 60
    for row, value in enumerate(values):
        rows = slice(60 * row, 60 * row + 60)
        assert_rows_alike(plan, rows, plan_zones(changed(zones, name, value)))


def test_what_ifs_of_several_fields_go_together_and_one_holds_in_all(zones):
    rate = zones.valve.rate_mm_h
    multipliers = np.array([[1.1], [1.5]])
    plan = plan_zones(
        what_if(
            zones,
            run_time_multiplier=multipliers,
            rate_mm_h=[rate, 2 * rate],
            leaching_requirement=[0.1],
        )
    )

    one = changed(zones, "leaching_requirement", 0.1)
    for row in (0, 1):
        each = changed(one, "run_time_multiplier", multipliers[row])
        each = changed(each, "rate_mm_h", rate * (row + 1))
        rows = slice(60 * row, 60 * row + 60)
        assert_rows_alike(plan, rows, plan_zones(each))


# A month that differs makes a field of the whole year one of its months.
def test_a_what_if_by_month_changes_that_month_alone(zones):
    store = np.repeat(zones.ground.total_available_water_mm, 12, axis=1)
    store[:, 6] /= 10
    plan = plan_zones(what_if(zones, total_available_water_mm=[store]))
    now = plan_zones(zones)

    others = np.arange(12) != 6
    np.testing.assert_allclose(
        plan.applied_mm[:, others], now.applied_mm[:, others], rtol=1e-12
    )
    assert plan.applied_mm[:, 6].sum() < now.applied_mm[:, 6].sum()


@pytest.mark.parametrize(
    ("alternatives", "words"),
    [
        ({"rain_inches": [1]}, "rain_inches is no field of the weather, Ground or V"),
        ({"valve": [0]}, "valve: ground stays under its valve"),
        ({"rain_mm": []}, "rain_mm must have one alternative or more"),
        ({"rate_mm_h": [np.ones((60, 12))]}, r"must fit \(60,\), got \(60, 12\)"),
        ({"rain_mm": [1, 2], "starts": [1, 2, 3]}, r"must be as many, got \[2, 3\]"),
    ],
)
def test_what_if_refuses(zones, alternatives, words):
    with pytest.raises(ValueError, match=words):
        what_if(zones, **alternatives)


def test_valves_may_come_again_and_in_any_order(zones):
    order = np.array([7, 3, 3, 59, 0])
    plan, whole = plan_zones(of_valves(zones, order)), plan_zones(zones)

    for name, values in arrays_of(plan).items():
        np.testing.assert_allclose(
            values, arrays_of(whole)[name][order], rtol=1e-12, err_msg=name
        )


def in_parts(inputs: PlanInput, parts: int, **fields):
    """Each zone's ground in so many like parts, one after another."""
    of_each = np.repeat(np.arange(len(inputs)), parts)
    ground = {
        field.name: getattr(inputs.ground, field.name)[of_each]
        for field in dataclasses.fields(inputs.ground)
    }
    ground |= {"share": np.full(len(of_each), 1 / parts)} | fields
    return dataclasses.replace(
        inputs, ground=dataclasses.replace(inputs.ground, **ground)
    )


# Ground cut in two under one valve is the same ground: like rows, and half the water
# each.
def test_like_parts_under_a_valve_have_like_rows_and_share_its_water(zones):
    plan, whole = plan_zones(in_parts(zones, 2)), plan_zones(zones)

    assert plan.applied_mm.shape == (120, 12)
    np.testing.assert_array_equal(plan.schedule.zone[:, 0], np.arange(120) // 2)
    there = arrays_of(whole)
    for name, values in arrays_of(plan).items():
        if name == "decides":
            assert (values[0::2] != values[1::2]).all()
            continue
        expected = there[name] / 2 if name == "volume_l" else there[name]
        for part in (0, 1):
            np.testing.assert_allclose(
                values[part::2], expected, rtol=1e-12, err_msg=name
            )


# To the bit: two like halves are one ground, whatever the valve.
def test_like_parts_under_a_valve_change_nothing_of_the_valve(zones):
    halves, whole = in_parts(zones, 2), plan_zones(zones)
    plan = plan_valves(halves)

    there = arrays_of(whole)
    for name, values in arrays_of(plan).items():
        np.testing.assert_array_equal(values, there[name], err_msg=name)


# Sun and shade: the valve runs for the sun, and the shade needs half of that.
def test_the_neediest_part_under_a_valve_decides(zones):
    halves = in_parts(zones, 2)
    factor = np.tile([1.0, 0.5], 60)[:, None]
    ground = dataclasses.replace(
        halves.ground,
        landscape_coefficient=halves.ground.landscape_coefficient * factor,
    )
    plan = plan_zones(dataclasses.replace(halves, ground=ground))
    sun = plan_zones(zones)

    # A month that the sun's store carries may have to be watered for the shade's.
    same = (sun.flags & table.CARRIED) == 0
    assert same.mean() > 0.9
    for part in (0, 1):
        np.testing.assert_allclose(
            plan.applied_mm[part::2][same], sun.applied_mm[same], rtol=1e-12
        )
        np.testing.assert_array_equal(
            plan.schedule.weekdays[part::2][same], sun.schedule.weekdays[same]
        )
    np.testing.assert_allclose(plan.plant_need_mm[0::2], sun.plant_need_mm)
    np.testing.assert_allclose(plan.plant_need_mm[1::2], sun.plant_need_mm / 2)
    waters = plan.schedule.cycles[0::2] > 0
    assert plan.decides[0::2][waters & same].all()


def test_valves_are_picked_with_all_their_parts(zones):
    halves = in_parts(zones, 2)
    picked = of_valves(halves, np.array([5, 2, 5]))

    np.testing.assert_array_equal(picked.ground.valve, [0, 0, 1, 1, 2, 2])
    rows = [10, 11, 4, 5, 10, 11]
    np.testing.assert_array_equal(
        picked.ground.intake_mm_h, halves.ground.intake_mm_h[rows]
    )
    np.testing.assert_array_equal(
        picked.valve.rate_mm_h, zones.valve.rate_mm_h[[5, 2, 5]]
    )


# 52 weeks in place of twelve months: at 4 mm a day each needs 28 mm.
def test_a_year_may_have_other_periods_than_months(written_zone):
    month = np.minimum(np.arange(52) * 7 // 31, 11)
    weeks = Periods(np.full(52, 7), month)
    inputs = written_zone(et0_mm_day=4.0)
    wide = dataclasses.replace(
        inputs,
        periods=weeks,
        **{name: getattr(inputs, name)[:, month]
           for name in ("et0_mm_day", "rain_mm", "frost")},
        ground=dataclasses.replace(
            inputs.ground,
            landscape_coefficient=inputs.ground.landscape_coefficient[:, month],
        ),
        valve=dataclasses.replace(
            inputs.valve, day_rule=inputs.valve.day_rule[:, month]
        ),
    )  # fmt: skip
    plan = plan_zones(wide)

    assert plan.schedule.cycles.shape == (1, 52)
    np.testing.assert_allclose(plan.plant_need_mm, 28.0, rtol=1e-12)
    # 28 mm a week at 10 mm/h are 168 min, on any days.
    np.testing.assert_allclose(
        plan.event_minutes * plan.schedule.days_per_week, 168.0, rtol=1e-12
    )
    assert plan.schedule.months[0, 51] == 1 << 11
