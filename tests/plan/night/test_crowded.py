"""Months that no order fits: sums against hours, and against the nights themselves."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scheduler.calendar import ALL_DATES, ODD, WEEKDAYS
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.night.crowded import days_too_short, months_too_short
from scheduler.plan.night.plan import plan_night
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[3] / "examples"
ALL = tuple(range(1, 13))
LAWNS, BEDS = ("rotor", "spray", "multi-stream"), ("drip", "bubbler")


def home(*windows, **controller):
    site = read_site(EXAMPLES / "home")
    changed = replace(site.controller, **controller)
    return plan_site(replace(site, windows=windows or site.windows, controller=changed))


def window(opens, closes, days=WEEKDAYS, kinds=HEAD_KINDS, parity=ALL_DATES):
    return Window(ALL, kinds, tuple(days), parity, opens, closes, 7)


def told(plan):
    return {c.month: c.values["open_min"] for c in months_too_short(plan)}


# Exact: 4 days of 2 h are 480 minutes a week, of 2.5 h over midnight 600; odd dates are
# at most 16 of 31, and of all days with 2 h that is 7 * 120 * 16 / 31.
@pytest.mark.parametrize(
    ("windows", "open_min"),
    [
        ([window("02:00", "04:00", WEEKDAYS[:4])], 480),
        ([window("22:00", "00:30", WEEKDAYS[:4])], 600),
        ([window("02:00", "04:00", parity=ODD)], 7 * 120 * 16 / 31),
        ([window("01:00", "01:30", kinds=LAWNS), window("01:20", "01:50", kinds=BEDS)],
         7 * 50),
    ],
)  # fmt: skip
def test_a_month_is_too_short_where_its_minutes_pass_the_open_ones(windows, open_min):
    plan = home(*windows)
    week_min = plan.plan.schedule.minutes_per_week.sum(axis=0)
    both = {m: o for m, o in told(plan).items() if o == pytest.approx(open_min)}

    assert both
    assert all(week_min[month - 1] > open_min for month in both)
    if len(windows) == 1:
        assert set(both) == set((np.flatnonzero(week_min > open_min) + 1).tolist())


def test_hours_of_one_window_are_those_of_its_own_zones():
    plan = home(window("01:00", "01:10", kinds=BEDS), window("00:00", "24:00"))
    found = list(months_too_short(plan))

    assert found
    assert {caution.values["zones"] for caution in found} == {("4", "5")}


@pytest.mark.parametrize("closes", ["06:00", "sunrise"])
def test_a_roomy_window_is_not_told(closes):
    assert told(home(window("21:00", closes))) == {}


def test_zones_that_run_together_need_half_the_hours():
    tight = window("02:00", "03:00")

    assert set(told(home(tight, zones_at_once=2.0))) < set(told(home(tight)))


# What is told of a month holds for every order: so the search for one finds none.
def test_no_night_plan_fits_a_month_that_is_told():
    plan = home(window("02:00", "04:00", ("mon", "wed", "fri")))
    months = told(plan)

    assert months
    for month in list(months)[:1]:
        codes = [c.code for c in plan_night(plan, 2027, month).cautions]
        assert "window-too-short" in codes


def alone(cycles, soak_min, days, *windows):
    """What is told of a lawn of so many cycles of 20 min on some weekdays."""
    plan = home(*windows)
    schedule = plan.plan.schedule
    shape = schedule.cycles.shape
    runs = np.zeros(shape)
    runs[0, 6] = 1
    bits = sum(1 << WEEKDAYS.index(day) for day in days)
    changed = replace(
        schedule,
        cycles=runs * cycles,
        cycle_min=runs * 20,
        soak_min=runs * soak_min,
        weekdays=np.full(shape, bits),
    )
    found = days_too_short(replace(plan, plan=replace(plan.plan, schedule=changed)))
    return [(c.zone, c.month, c.values["minutes_over"]) for c in found]


# Exact: of 7 h, 420 min, each cycle but the last takes 20 + 30, so that n take
# 50 n - 30: nine end at 420, and of ten one of 20 min is over.
@pytest.mark.parametrize(("cycles", "told"), [(9, []), (10, [("1", 7, 20.0)])])
def test_cycles_and_soak_of_one_zone_are_held_by_a_night(cycles, told):
    assert alone(cycles, 30, ("mon",), window("23:00", "06:00")) == told
    assert alone(cycles, 30, ("mon",), window("01:00", "08:00")) == told


# Monday alone is permitted: 6 h of its small hours hold seven cycles (50 * 7 - 30 =
# 320), its last hour one of 20 min and a soak: eight in all.
@pytest.mark.parametrize(("cycles", "over"), [(8, []), (9, [20.0])])
def test_a_date_between_others_has_two_pieces(cycles, over):
    found = alone(cycles, 30, ("mon",), window("23:00", "06:00", ("mon",)))

    assert [minutes for *_, minutes in found] == over


def test_a_window_to_sunrise_is_given_the_morning():
    assert alone(19, 30, ("mon",), window("20:00", "sunrise")) == []
    assert alone(20, 30, ("mon",), window("20:00", "sunrise")) == [("1", 7, 20.0)]


@pytest.mark.parametrize("name", ["home", "southern_garden", "business_park"])
def test_no_watering_day_of_an_example_is_too_short(name):
    assert list(days_too_short(plan_site(read_site(EXAMPLES / name)))) == []
