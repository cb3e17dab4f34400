"""What runs when, against plain loops over the dates of Python's calendar."""

import dataclasses
import datetime

import numpy as np
import pytest

from scheduler.calendar import ALL_YEAR, Days
from scheduler.schedule import NO_DAY, NO_START, CardRule, Schedule

FIRST, COUNT = datetime.date(2027, 12, 1), 500
"""Over the turn of a year and a 29 February."""


def drawn(seed, count=40):
    """Rules of every kind, drawn at random."""
    draw = np.random.default_rng(seed)
    every = draw.choice([0, 0, 10, 14, 21, 28], count)
    day = (FIRST - datetime.date(1970, 1, 1)).days
    return Schedule(
        zone=draw.integers(0, 5, count),
        months=draw.integers(0, ALL_YEAR + 1, count),
        weekdays=np.where(every == 10, 127, draw.integers(0, 128, count)),
        parity=np.where(every > 0, 0, draw.integers(0, 3, count)),
        every_days=every,
        first_day=np.where(every > 0, day + draw.integers(-40, 40, count), NO_DAY),
        days_per_week=draw.uniform(0.5, 7, count),
        starts_min=np.empty((count, 0)),
        cycles=draw.integers(0, 4, count),
        cycle_min=draw.uniform(1, 30, count),
        soak_min=np.zeros(count),
    )


def waters_by_hand(schedule, row, date):
    """Whether a rule waters on a date, from what its fields mean."""
    if not (int(schedule.months[row]) >> (date.month - 1)) & 1:
        return False
    if not (int(schedule.weekdays[row]) >> date.weekday()) & 1:
        return False
    words = ["", "odd", "even"]
    parity = words[int(schedule.parity[row])]
    if parity and parity != ("odd" if date.day % 2 else "even"):
        return False
    if schedule.every_days[row]:
        first = datetime.date(1970, 1, 1) + datetime.timedelta(
            int(schedule.first_day[row])
        )
        return (date - first).days % int(schedule.every_days[row]) == 0
    return True


@pytest.mark.parametrize("seed", range(3))
def test_waters_and_minutes_are_those_of_a_loop_over_dates(seed):
    schedule = drawn(seed)
    dates = [FIRST + datetime.timedelta(day) for day in range(COUNT)]
    rows = range(len(schedule.zone))
    expected = [[waters_by_hand(schedule, row, d) for d in dates] for row in rows]
    minutes = np.zeros((6, COUNT))
    for row in rows:
        day_min = schedule.cycles[row] * schedule.cycle_min[row]
        minutes[schedule.zone[row]] += np.array(expected[row]) * day_min

    days = Days.of_calendar(FIRST, COUNT)
    np.testing.assert_array_equal(schedule.waters(days), expected)
    assert schedule.minutes(days, 6) == pytest.approx(minutes)
    assert np.any(expected)


def table(**given):
    """A table of two zones and twelve months, the same rule in each."""
    values = {"weekdays": 0b0000101, "parity": 0, "every_days": 0, "days_per_week": 2.0,
              "cycles": 2, "cycle_min": 6.0, "soak_min": 30.0} | given  # fmt: skip
    cells = {name: np.full((2, 12), value) for name, value in values.items()}
    return Schedule.from_table(**cells, month=np.arange(12))


# By hand: Mondays and Wednesdays of July 2026 are 6, 13, 20, 27 and 1, 8, 15, 22, 29;
# the rules of the other months are silent then.
def test_a_table_waters_each_zone_by_the_rule_of_the_month():
    schedule = table()
    days = Days.of_calendar(datetime.date(2026, 7, 1), 31)

    minutes = schedule.minutes(days, 2)
    assert (np.flatnonzero(minutes[1]) + 1).tolist() == [
        1,
        6,
        8,
        13,
        15,
        20,
        22,
        27,
        29,
    ]
    assert set(minutes[1].tolist()) == {0.0, 12.0}
    july = schedule[:, 6]
    np.testing.assert_array_equal(july.minutes(days, 2), minutes)
    assert july.months.tolist() == [64, 64]
    assert july.starts_min.shape == (2, 0)


# 1 January 2026 is a Thursday (calendar), so the first Monday is the 5th, and every 14
# days from it come 6 and 20 July.
def test_intervals_are_counted_from_the_first_of_their_weekday():
    schedule = table(weekdays=1, every_days=14, days_per_week=0.5)
    counted = schedule.counted_from(datetime.date(2026, 1, 1))[:, 6]
    days = Days.of_calendar(datetime.date(2026, 7, 1), 31)

    assert (np.flatnonzero(counted.waters(days)[0]) + 1).tolist() == [6, 20]
    weekly = table().counted_from(datetime.date(2026, 1, 1))
    assert np.all(weekly.first_day == NO_DAY)


# Exact: rows of one zone add up; 30 min on 2 days a week in June (30 days) and 12 min
# on 1 day a week in June and July make 30/7 * (60 + 12) and 31/7 * 12 minutes.
def test_current_rows_of_a_zone_add_up():
    schedule = Schedule.from_current(
        zone=np.array([1, 1]),
        minutes=np.array([15.0, 12.0]),
        starts=np.array([2.0, 1.0]),
        days_per_week=np.array([2.0, 1.0]),
        months=[(6,), (6, 7)],
    )

    minutes = schedule.minutes_in_months(3)
    assert minutes[1, 5] == pytest.approx(30 / 7 * 72)
    assert minutes[1, 6] == pytest.approx(31 / 7 * 12)
    assert minutes.sum() == pytest.approx(minutes[1, 5:7].sum())


# Brute force over all sets of weekdays: no other set of so many leaves a shorter gap.
@pytest.mark.parametrize("days_a_week", range(1, 8))
def test_current_days_are_as_even_as_a_week_lets_them(days_a_week):
    schedule = Schedule.from_current(
        np.array([0]), np.array([10.0]), np.array([1.0]),
        np.array([float(days_a_week)]), [range(1, 13)],
    )  # fmt: skip

    def longest_gap(bits):
        on = [row for row in range(7) if bits >> row & 1]
        return max((b - a) % 7 or 7 for a, b in zip(on, on[1:] + on[:1], strict=True))

    sets = [bits for bits in range(1, 128) if bits.bit_count() == days_a_week]
    found = int(schedule.weekdays[0])
    assert found.bit_count() == days_a_week
    assert longest_gap(found) == min(map(longest_gap, sets))


RULE = CardRule(
    zone=3, months=(5, 6), weekdays=1, parity=0, every_days=14,
    first_date=datetime.date(2026, 5, 4), days_per_week=0.5, starts_min=(60.0, 120.0),
    cycles=1, cycle_min=10.0, soak_min=0.0,
)  # fmt: skip


# By hand: from Monday 4 May 2026 every 14 days are 4 and 18 May, 1, 15 and 29 June;
# July is not the rule's. Two starts of 10 min, 50 min from the end of one to the other.
def test_a_card_waters_from_its_first_date_in_its_months():
    other = dataclasses.replace(
        RULE, zone=0, every_days=0, first_date=None, starts_min=(5.5,), cycles=3,
        cycle_min=4.0, soak_min=35.0,
    )  # fmt: skip
    schedule = Schedule.from_card([RULE, other])
    days = Days.of_calendar(datetime.date(2026, 5, 1), 92)

    minutes = schedule.minutes(days, 4)
    on = [days.of_month[day] for day in np.flatnonzero(minutes[3])]
    assert on == [4, 18, 1, 15, 29]
    assert set(minutes[3].tolist()) == {0.0, 20.0}
    assert schedule.starts_min.tolist() == [[60.0, 120.0], [5.5, NO_START]]
    assert schedule.cycles.tolist() == [2, 3]
    assert schedule.soak_min.tolist() == [50.0, 35.0]
    assert minutes[0].max() == 12.0


def test_a_card_without_programs_waters_nothing():
    schedule = Schedule.from_card([])

    assert not schedule.minutes(Days.of_common_years(1), 2).any()
    assert not schedule.minutes_in_months(2).any()
