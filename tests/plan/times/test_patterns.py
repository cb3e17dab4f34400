"""Patterns of watering days against plain counting of days."""

import itertools

import pytest

from scheduler.calendar import ALL_WEEK, EVEN, ODD, WEEKDAYS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.times.days import DayRule, best_set
from scheduler.plan.times.patterns import days_to_choose, patterns

DAYS = 7 * 28 * 10
"""Whole weeks, and enough of them for each interval up to four weeks."""


def days_of(pattern):
    """Numbers of the watering days; day 0 is a Monday and one of the interval's."""
    first = min(row for row in range(7) if pattern.weekdays >> row & 1)
    return [
        day
        for day in range(first, DAYS)
        if pattern.weekdays >> (day % 7) & 1
        and (not pattern.every_days or (day - first) % pattern.every_days == 0)
    ]


# Brute force: counted day by day, over every stretch of seven days.
@pytest.mark.parametrize("pattern", patterns(0, True), ids=str)
def test_pattern_has_the_gap_and_the_fullest_week_of_its_days(pattern):
    on = days_of(pattern)
    gaps = {after - day for day, after in itertools.pairwise(on)}
    watered = set(on)
    weeks = [sum(d in watered for d in range(day, day + 7)) for day in range(DAYS - 7)]

    assert pattern.longest_gap == max(gaps)
    assert pattern.most_in_week == max(weeks)
    assert pattern.days_per_week == pytest.approx(7 * len(on) / DAYS, rel=0.05)


# By hand: every other day waters on days 1, 3, 5 and 7 of a week that begins with one.
def test_every_other_day_may_be_four_days_of_a_week():
    (other,) = (pattern for pattern in patterns(0, True) if pattern.every_days == 2)

    assert other.most_in_week == 4


# Controllers that take odd or even dates as they are: all of them, or none.
@pytest.mark.parametrize("weekdays", [WEEKDAYS, WEEKDAYS[:5]])
def test_without_some_dates_odd_dates_are_whole_where_a_window_lets_them(weekdays):
    window = Window(tuple(range(1, 13)), HEAD_KINDS, weekdays, ODD, "21:00", "06:00", 7)
    found = [p for days in days_to_choose((window,), True, False) for p in days.alike]
    drip = Window(tuple(range(1, 13)), HEAD_KINDS, WEEKDAYS, 0, "00:00", "24:00", 7)
    both = [p for days in days_to_choose((window, drip), True, False)
            for p in days.alike]  # fmt: skip

    assert found
    if weekdays == WEEKDAYS:
        assert {(p.parity, p.weekdays) for p in found} == {(ODD, ALL_WEEK)}
        assert all(p.weekdays == ALL_WEEK for p in both if p.parity)
    assert any(p.weekdays != ALL_WEEK for p in both if not p.parity)


# The method, step 7: "with odd or even dates the best set over the whole calendar", for
# the table; a card that may take any set takes the same one.
@pytest.mark.parametrize("parity", [ODD, EVEN])
def test_days_to_choose_have_the_most_even_set_of_the_calendar_first(parity):
    window = Window(
        tuple(range(1, 13)), HEAD_KINDS, WEEKDAYS, parity, "21:00", "06:00", 7
    )
    rule = DayRule(ALL_WEEK, parity, 7)

    firsts = {days.first for days in days_to_choose((window,), True)}
    assert firsts == {best_set(rule, size) for size in range(1, 8)}
