"""Zones spread over nights within their gaps, and what helps where that fails."""

import dataclasses
import datetime

import pytest

from scheduler.calendar import weekday_bits
from scheduler.plan.night import ways_out
from scheduler.plan.night.month import NightPlanner
from scheduler.plan.night.plan import plan_night
from scheduler.plan.night.spread import days_as_good
from scheduler.plan.site import plan_site


def bits(*days):
    return weekday_bits(days)


def window(opens, closes, days='"any"'):
    """A [[window]] of site.toml."""
    return f'[[window]]\ndays = {days}\nopens = "{opens}"\ncloses = "{closes}"\n'


# Two hours a night and two zones of 70 minutes on the same night: one moves to another,
# keeps its two days a week and no gap over 4 days.
def test_zones_are_spread_over_nights_within_their_gaps(written_plan):
    zones = [{"run": (1, 70, 0), "days": bits("mon", "thu"), "gap": 4}] * 2
    plan = written_plan(zones, window("21:00", "23:00"))

    planned = plan_night(plan, 2026, 7)
    assert planned.month.too_short == ()
    (moved,) = planned.moved
    after = planned.month.schedule.weekdays[moved]
    rows = [row for row in range(7) if after >> row & 1]
    gaps = [rows[1] - rows[0], 7 - rows[1] + rows[0]]
    assert len(rows) == 2
    assert max(gaps) <= 4
    assert not after & bits("mon", "thu")
    # Each night holds one zone from 21:00, so that it ends by 22:10.
    assert {len(night.runs) for night in planned.month.nights} == {0, 1}


def test_intervals_are_spread_over_weeks(written_plan):
    zones = [{"run": (1, 70, 0), "days": bits("wed"), "every": 14, "gap": 14}] * 2
    plan = written_plan(zones, window("21:00", "23:00", '["wed"]'))

    planned = plan_night(plan, 2026, 7)
    assert planned.month.too_short == ()
    (moved,) = planned.moved
    after, before = planned.month.schedule, planned.table
    assert after.first_day[moved] - before.first_day[moved] == 7


def test_days_as_good_are_as_many_within_the_gap(written_plan):
    plan = written_plan([{"run": (1, 30, 0), "days": bits("mon", "thu"), "gap": 4}])

    table = NightPlanner(plan).schedule(datetime.date(2026, 7, 1))
    found = days_as_good(plan, 0, 7, table).weekdays.tolist()
    # Pairs of weekdays 3 and 4 days apart: 7 of them.
    assert found[0] == bits("mon", "thu")
    assert len(found) == len(set(found)) == 7


# The same: 45 minutes more at either end would do, and a second day for two of them; no
# second zone at once is offered while the design flow is not known.
def test_what_helps_has_been_planned_with(written_plan):
    zones = [{"run": (1, 40, 0), "days": bits("wed")}] * 4
    plan = written_plan(zones, window("20:00", "22:00", '["wed"]'))

    said = {(way.kind, way.value) for way in ways_out_of(plan, written_plan)}
    assert ("opens", "19:15, not 20:00") in said
    assert ("closes", "22:45, not 22:00") in said
    assert "at-once" not in {kind for kind, _ in said}


# A window to sunrise that opens at 07:00 has no hours: 30 minutes need an opening half
# an hour before sunrise, or a closing at 07:30, not one a little after sunrise, which
# would make it one from 07:00 round to the next morning.
def test_what_helps_a_window_that_opens_after_sunrise(written_plan):
    plan = written_plan([(1, 30, 0)], window("07:00", "sunrise"))
    rise = plan_night(plan, 2026, 7).planner.hours.sunrise_min(2026, 7)

    said = {way.kind: way.value for way in ways_out_of(plan, written_plan)}
    assert rise < 7 * 60
    opens = f"{(rise - 30) // 60:02d}:{(rise - 30) % 60:02d}"
    assert said["opens"] == f"{opens}, not 07:00"
    assert said["closes"].startswith("07:30, not ")


def ways_out_of(plan, written_plan):
    """Ways out as planned with the schedule that the test wrote, not the table's."""
    zones = plan.plan.schedule

    def planned(site):
        again = plan_site(site)
        table = dataclasses.replace(again.plan, schedule=zones)
        return dataclasses.replace(again, plan=table)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ways_out, "plan_site", planned)
        return plan_night(plan, 2026, 7).ways_out


def test_two_zones_at_once_help_where_the_supply_carries_them(written_plan):
    zones = [{"run": (1, 40, 0), "days": bits("wed")}] * 4
    hours = window("20:00", "22:00", '["wed"]')
    enough = written_plan(zones, hours, supply="design_flow_l_min = 20")
    little = written_plan(zones, hours, supply="design_flow_l_min = 19")

    assert "at-once" in {way.kind for way in ways_out_of(enough, written_plan)}
    assert "at-once" not in {way.kind for way in ways_out_of(little, written_plan)}


# Open for 23 hours, and a run of 23 h 50 min: an hour more would leave a window without
# an end, which is none at all; so neither end can be moved far enough.
def test_a_window_is_not_made_one_of_the_whole_day(written_plan):
    zones = [{"run": (1, 23 * 60 + 50, 0), "days": bits("wed")}]
    plan = written_plan(zones, window("22:00", "21:00"))

    kinds = {way.kind for way in ways_out_of(plan, written_plan)}
    assert "opens" not in kinds
    assert "closes" not in kinds


# The same window and 23 h 30 min of run: half an hour more at either end would do.
def test_a_window_is_made_longer_up_to_the_whole_day(written_plan):
    zones = [{"run": (1, 23 * 60 + 30, 0), "days": bits("wed")}]
    plan = written_plan(zones, window("22:00", "21:00"))

    said = {way.kind: way.value for way in ways_out_of(plan, written_plan)}
    assert said["opens"] == "21:30, not 22:00"
    assert said["closes"] == "21:30, not 21:00"
