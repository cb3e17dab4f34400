"""Watering days against a count of every set of weekdays, and of 400 years of dates."""

import itertools
import math

import numpy as np
import pytest

from scheduler.calendar import (
    ALL_DATES,
    EVEN,
    ODD,
    weekday_bits,
    weekday_names,
    weekday_rows,
)
from scheduler.plan.times import days

WEEK = range(7)  # Monday 0
EVERY_DAY = tuple(WEEK)
CALENDAR_DAYS = 146_097  # 400 Gregorian years, a whole number of weeks: exact


def bits_of(rows):
    return sum(2**row for row in rows)


def gaps_round_the_week(rows):
    """Days from each watering to the next, the last of the week to the first."""
    return [(after - row - 1) % 7 + 1 for row, after in zip(rows, [*rows[1:], rows[0]],
                                                            strict=True)]  # fmt: skip


def chosen_by_the_method(permitted, most_days, gap_limit):
    """Step 8: "The fewest permitted days a week whose longest gap, counted round the
    week from Monday, is within the gap limit; among equals the set with the smallest
    largest gap, then the smallest sum of squared gaps, then the earliest in the week.
    Never more than permitted: too few → `days-too-few`." Where too few, as many as
    permitted, chosen alike. Earliest: the first day that differs is earlier.
    """
    most = min(most_days, len(permitted))
    for size in range(1, most + 1):
        within = []
        for rows in itertools.combinations(permitted, size):
            gaps = gaps_round_the_week(rows)
            if max(gaps) <= gap_limit or size == most:
                within.append((max(gaps), sum(g * g for g in gaps), rows))
        enough = [one for one in within if one[0] <= gap_limit]
        if enough:
            return min(enough)[2], True
        if size == most:
            return min(within)[2], False
    return (), False


ALL_SETS = [
    rows for size in range(1, 8) for rows in itertools.combinations(WEEK, size)
]  # fmt: skip


# All 127 sets of permitted weekdays, 7 limits of days a week and 13 gap limits below
# the intervals of 14 days.
@pytest.mark.parametrize("most_days", range(1, 8))
def test_choose_days_is_that_of_the_method_for_every_rule(most_days):
    for permitted in ALL_SETS:
        rule = days.DayRule(bits_of(permitted), ALL_DATES, most_days)
        for gap_limit in range(1, 14):
            rows, enough = chosen_by_the_method(permitted, most_days, gap_limit)
            expected = days.DayChoice(bits_of(rows), 0, len(rows), enough)

            assert days.choose_days(rule, gap_limit, True) == expected


# By hand, any day permitted, Monday first: gaps of 7; of 3 and 4; of 2, 2 and 3; of 1,
# 2, 2 and 2 (the 1 first is the earliest in the week); and every day.
@pytest.mark.parametrize(
    ("gap_limit", "names"),
    [(7, ("mon",)), (6, ("mon", "thu")), (4, ("mon", "thu")),
     (3, ("mon", "wed", "fri")), (2, ("mon", "tue", "thu", "sat")),
     (1, ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))],
)  # fmt: skip
def test_choose_days_takes_the_earliest_of_equals(gap_limit, names):
    choice = days.choose_days(days.DayRule(127, ALL_DATES, 7), gap_limit, True)

    assert weekday_names(choice.weekdays) == names
    assert choice.enough


# By hand, Tuesday, Thursday and Saturday permitted: a gap limit of 4 or 5 takes Tuesday
# and Saturday (4 and 3 days), not the earlier Tuesday and Thursday (2 and 5); 2 days
# would need more than the three.
@pytest.mark.parametrize(
    ("gap_limit", "names", "enough"),
    [(7, ("tue",), True), (5, ("tue", "sat"), True), (4, ("tue", "sat"), True),
     (3, ("tue", "thu", "sat"), True), (2, ("tue", "thu", "sat"), False)],
)  # fmt: skip
def test_choose_days_on_three_permitted_days(gap_limit, names, enough):
    rule = days.DayRule(weekday_bits(("tue", "thu", "sat")), ALL_DATES, 7)

    choice = days.choose_days(rule, gap_limit, True)

    assert weekday_names(choice.weekdays) == names
    assert choice.enough is enough


@pytest.mark.parametrize("parity", [ALL_DATES, ODD, EVEN])
def test_choose_days_finds_none_where_none_is_permitted(parity):
    for gap_limit in (1, 7, 28):
        choice = days.choose_days(days.DayRule(0, parity, 7), gap_limit, True)

        assert (choice.weekdays, choice.days_per_week, choice.enough) == (0, 0, False)


# The method, step 8: a gap limit of 14 days or more waters every 14, 21 or 28 days, the
# largest that fits, on the first permitted weekday; days a week are 7 over that.
@pytest.mark.parametrize(
    ("gap_limit", "every"),
    [(14, 14), (20, 14), (21, 21), (27, 21), (28, 28), (40, 28), (60, 28)],
)
@pytest.mark.parametrize("permitted", [EVERY_DAY, (3, 5), (6,)])
def test_choose_days_waters_at_intervals_from_14_days_up(gap_limit, every, permitted):
    rule = days.DayRule(bits_of(permitted), ALL_DATES, 3)

    choice = days.choose_days(rule, gap_limit, True)

    assert choice == days.DayChoice(2 ** permitted[0], every, 7 / every, True)


# Same step: without intervals in the controller 14 days or more become once a week, as
# 7 to 13 days are.
@pytest.mark.parametrize("gap_limit", [7, 13, 14, 21, 28])
def test_choose_days_without_intervals_waters_once_a_week(gap_limit):
    rule = days.DayRule(bits_of((2, 4)), ALL_DATES, 7)

    choice = days.choose_days(rule, gap_limit, False)

    assert choice == days.DayChoice(4, 0, 1, True)


SATURDAY = 5  # 1 January 2000, Monday 0


def calendar(parity):
    """Weekday of each date of 400 years, and whether it is odd or even as asked."""
    dates = np.arange("2000-01-01", "2400-01-01", dtype="datetime64[D]")
    of_month = (dates - dates.astype("datetime64[M]")).astype(int) + 1
    weekday = (dates.astype(int) + 3) % 7  # 1 January 1970 was a Thursday
    assert len(dates) == CALENDAR_DAYS
    assert weekday[0] == SATURDAY
    return weekday, of_month % 2 == (parity == ODD)


@pytest.fixture(scope="module", params=[ODD, EVEN])
def counted(request):
    """Of each set of weekdays on dates of a parity: how many, longest gap, squares."""
    weekday, right = calendar(request.param)
    sets = {}
    for rows in ALL_SETS:
        hits = np.flatnonzero(right & np.isin(weekday, rows))
        gaps = np.diff(hits, append=hits[0] + CALENDAR_DAYS)
        busiest = np.bincount((hits + SATURDAY) // 7).max()
        sets[rows] = (len(hits), int(gaps.max()), int((gaps * gaps).sum()), busiest)
    return request.param, sets


# "With "odd" or "even" the same choice is made among sets of weekdays whose dates also
# have the right parity; days a week and longest gap are counted on the calendar,
# intervals are not used." Reading: "fewest" counts weekdays, as their dates differ
# only in the fourth digit between sets of as many; "most_days_a_week" is held in the
# busiest week from Monday to Sunday.
def chosen_on_the_calendar(sets, permitted, most_days, gap_limit):
    may = [
        (len(rows), rows)
        for rows in sets
        if {*rows} <= {*permitted} and sets[rows][3] <= most_days
    ]
    within = [one for one in may if sets[one[1]][1] <= gap_limit]
    size = min(within)[0] if within else max(may)[0]
    pool = [rows for count, rows in (within or may) if count == size]
    best = min(pool, key=lambda rows: (*sets[rows][1:3], rows))
    return best, bool(within)


def test_choose_days_on_odd_or_even_dates_is_that_of_the_calendar(counted):
    parity, sets = counted
    random = np.random.default_rng(5)
    rules = [(EVERY_DAY, most, gap) for most in range(1, 8) for gap in range(1, 29)]
    for _ in range(400):
        permitted = ALL_SETS[random.integers(127)]
        rules.append((permitted, random.integers(1, 8), random.integers(1, 29)))
    for permitted, most_days, gap_limit in rules:
        rows, enough = chosen_on_the_calendar(sets, permitted, most_days, gap_limit)
        rule = days.DayRule(bits_of(permitted), parity, int(most_days))

        choice = days.choose_days(rule, int(gap_limit), True)

        assert (choice.weekdays, choice.every_days, choice.enough) == (
            bits_of(rows), 0, enough,
        )  # fmt: skip
        mean = sets[rows][0] * 7 / CALENDAR_DAYS
        assert choice.days_per_week == pytest.approx(mean, rel=1e-12)


# By hand: odd dates run 29, 31, 1, 3 or 29, 1, 3 or 27, 29, 1: never more than 2 days
# apart, and never each day. Even dates: 30, 2 over a 31st, 3 apart.
@pytest.mark.parametrize(("parity", "least"), [(ODD, 2), (EVEN, 3)])
def test_choose_days_on_odd_or_even_dates_cannot_water_every_day(parity, least):
    rule = days.DayRule(127, parity, 7)

    assert not days.choose_days(rule, least - 1, True).enough
    assert days.choose_days(rule, least, True).enough
    assert days.choose_days(rule, least, True).weekdays == 127


def test_day_table_holds_the_choice_of_each_rule_and_gap_limit():
    rules = (days.DayRule(127, ALL_DATES, 7), days.DayRule(0b10101, ALL_DATES, 2),
             days.DayRule(127, EVEN, 3), days.DayRule(0, ALL_DATES, 7))  # fmt: skip
    intervals = (True, False, True, True)

    table = days.day_table(rules, intervals)

    for row, (rule, own) in enumerate(zip(rules, intervals, strict=True)):
        for gap_limit in range(1, 29):
            choice = days.choose_days(rule, gap_limit, own)
            at = row, gap_limit
            assert table.weekdays[at] == choice.weekdays
            assert table.every_days[at] == choice.every_days
            assert table.days_per_week[at] == choice.days_per_week
            assert table.enough[at] == choice.enough


def test_weekdays_as_bits_go_there_and_back():
    for rows in ALL_SETS:
        names = weekday_names(bits_of(rows))

        assert weekday_bits(names) == bits_of(rows)
        assert weekday_rows(bits_of(rows)) == rows


# The method, step 7, by hand: ⌊1.1 · 20 / 5⌋ = 4; ⌊1.1 · 20 / 5.6⌋ = 3; at least 1; at
# most the plant's longest; 1.1 · 20 / 5.5 is 4, though 3.9999999999999996 or so in
# float; no need at all leaves the plant's longest.
@pytest.mark.parametrize(
    ("store_mm", "need_mm_day", "longest", "expected"),
    [(20, 5, 7, 4), (20, 5.6, 7, 3), (2, 6, 7, 1), (200, 2, 7, 7), (200, 2, 28, 28),
     (20, 5.5, 7, 4), (20, 0, 14, 14)],
)  # fmt: skip
def test_gap_limit_by_hand(store_mm, need_mm_day, longest, expected):
    found = days.gap_limit(
        np.array([store_mm], float), np.array([need_mm_day], float), np.array([longest])
    )

    assert found[0] == expected


# The method, step 8, light events, by hand. 2.5 mm at 0.4 a day take 6.25, so 7 days;
# at 0.3 8.3, so two weeks; at 0.1 25, so four weeks; at 2.5 / 28 just 28 days; under
# that a month is too light. The store lets through ⌊store / need⌋: 3 mm at 0.3 a day 10
# days; 3.9 at 0.6 6 days where 5 are wanted. A gap that is long enough stays.
@pytest.mark.parametrize(
    ("gap", "store_mm", "need_mm_day", "raised", "too_light"),
    [(4, 20, 0.4, 7, False), (7, 20, 0.3, 14, False), (7, 20, 0.1, 28, False),
     (7, 20, 2.5 / 28, 28, False), (7, 20, 0.089, 7, True), (7, 3, 0.3, 10, False),
     (1, 3.9, 0.6, 5, False), (1, 1.2, 0.6, 2, False), (4, 20, 5, 4, False),
     (14, 20, 0.4, 14, False), (7, 20, 0, 7, True)],
)  # fmt: skip
def test_light_event_gap_by_hand(gap, store_mm, need_mm_day, raised, too_light):
    found = days.light_event_gap(
        np.array([gap], float), np.array([store_mm]), np.array([need_mm_day])
    )

    assert (found.gap_days[0], found.too_light[0]) == (raised, too_light)
    assert found.raised[0] == (raised > gap)
    # At the gap that was given a watering puts down gap · need.
    assert found.lighter[0] == (gap * need_mm_day < 2.5 - 1e-9)


# A law: where the store allows it, a watering at the raised gap puts down 2.5 mm.
def test_light_event_gap_reaches_2_5_mm_where_the_store_lets_it():
    need = np.geomspace(2.5 / 28, 2.4, 400)
    gap = np.ones(400)

    found = days.light_event_gap(gap, np.full(400, 1000.0), need)
    raised = found.gap_days

    assert not found.too_light.any()
    np.testing.assert_array_equal(found.in_weeks, raised > 7)
    assert np.all(raised * need >= 2.5 - 1e-9)
    assert all(g <= 7 or g % 7 == 0 for g in raised)
    assert all(math.isclose(g, round(g)) for g in raised)
