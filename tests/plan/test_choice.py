"""The choice of a month against brute force over all settings."""

import numpy as np
import pytest

from scheduler.balance import lanes
from scheduler.balance.dates import NEVER
from scheduler.balance.day import quarter_depths
from scheduler.calendar import ALL_DATES, ALL_WEEK, ODD, Days
from scheduler.plan import candidates, choice
from scheduler.plan.times.days import DayRule

RULES = (
    DayRule(ALL_WEEK, ALL_DATES, 7),
    DayRule(0b0010101, ALL_DATES, 3),
    DayRule(ALL_WEEK, ODD, 7),
    DayRule(0b1000000, ALL_DATES, 7),
    DayRule(0, ALL_DATES, 7),
)
YEARS = 6


def drawn_month(seed, valves=8):
    """A month of ground and weather of every kind, and what may be chosen in it."""
    random = np.random.default_rng(seed)
    rain = random.gamma(0.6, 15, (YEARS, 30)) * (random.random((YEARS, 30)) < 0.25)
    et0 = random.uniform(1, 8) * random.uniform(0.6, 1.4, (YEARS, 30))
    total = np.exp(random.uniform(np.log(12), np.log(150), valves))
    uniformity = random.uniform(0.4, 0.9, valves)
    days = Days.of_common_years(YEARS)
    months = (getattr(days, name).reshape(YEARS, 365)[:, 151:181]
              for name in ("number", "month", "weekday", "of_month"))  # fmt: skip
    month = lanes.Month(
        valve=np.arange(valves),
        need_mm=et0 * random.uniform(0.2, 1.0, (valves, 1, 1)),
        rain_mm=rain[None],
        total_mm=total,
        allowed_mm=total * random.uniform(0.3, 0.6, valves),
        shares=quarter_depths(uniformity),
        start_mm=random.random((valves, YEARS, 4)) * total[:, None, None] * 0.7,
        held=np.zeros((valves, YEARS, 30), dtype=bool),
        since=np.full((valves, YEARS), NEVER),
        days=Days(*months),
    )
    rule = random.integers(0, len(RULES), valves)
    need = month.need_mm.mean(axis=(1, 2))
    patterns = candidates.patterns_of_period(
        RULES, (True,) * len(RULES), rule, np.full(valves, 14.0), np.ones(valves), need
    )
    minutes = candidates.settable_minutes(
        np.full(valves, 20.0), np.full(valves, 5.0), np.full(valves, 5.0),
        np.full(valves, 150.0),
    )  # fmt: skip
    shape = patterns.weekdays.shape
    first = random.integers(0, 3, shape)
    last = first + random.integers(0, minutes.count[:, None] - first)
    none = np.zeros(valves)
    within = choice.Range(
        patterns, minutes, first, last, np.full(valves, 0.3),
        random.random(valves) < 0.1,
        random.integers(2, 6, valves),
        np.full(shape, np.inf),
        choice.Filling(none, none, np.zeros((valves, YEARS, 30), dtype=bool)),
    )  # fmt: skip
    return month, within


def every_setting(month, within):
    """What every pattern comes to at every row of minutes."""
    most = int(within.minutes.count.max())
    shape = (len(within.first), choice.OFF + 1, most)
    valve, pattern, row = np.indices(shape).reshape(3, -1)
    row = np.minimum(row, within.minutes.count[valve] - 1)
    found = choice.lanes_of(month, within).outcome(
        choice.trials(within, valve, pattern, row)
    )
    return lanes.Outcome(
        *(
            getattr(found, name).reshape(shape)
            for name in ("water_mm", "dry", "left_dry", "left_mm")
        )
    )


def by_brute_force(tried, within, valve, most_dry, hands_over, before):
    """Every pattern and every minute, and the rules in their words."""
    found = []
    for pattern in range(choice.OFF):
        if not within.patterns.usable[valve, pattern] or within.off_only[valve]:
            continue
        first, last = within.first[valve, pattern], within.last[valve, pattern]
        for row in range(first, last + 1):
            at = valve, pattern, row
            found.append((tried.water_mm[at], tried.dry[at], tried.left_dry[at],
                          pattern, row))  # fmt: skip
    at = valve, choice.OFF, 0
    found.append((0.0, tried.dry[at], tried.left_dry[at], choice.OFF, 0))
    eps = 1e-9
    # Within 2 points of the least dry that any setting reaches the limit gives way.
    limit = max(most_dry, min(c[1] for c in found) + 0.02)
    good = [c for c in found if c[1] <= limit + eps]
    if hands_over:
        left_limit = max(0.25, min(c[2] for c in good) + 0.05)
        good = [c for c in good if c[2] <= left_limit + eps]
    least = min(c[0] for c in good)
    if least == 0:
        off = next(c for c in good if c[0] == 0)
        return choice.OFF, 0, bool(off[1] > most_dry + eps)
    near = [c for c in good if c[0] <= 1.05 * least + 0.5]
    patterns, minutes = within.patterns, within.minutes

    def order(candidate):
        water, _, _, pattern, row = candidate
        days = patterns.weekdays[valve, pattern], patterns.every_days[valve, pattern]
        same = days == before  # fmt: skip
        days_per_week = patterns.days_per_week[valve, pattern]
        cycles = minutes.cycles[valve, row]
        return (cycles > within.most_cycles[valve], not same, days_per_week, cycles,
                water)  # fmt: skip

    best = min(near, key=order)
    return best[3], best[4], bool(best[1] > most_dry + eps)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("hands_over", [True, False])
def test_choose_finds_what_trying_every_setting_finds(seed, hands_over):
    month, within = drawn_month(seed)
    limit = np.random.default_rng(seed).choice([0.0, 0.05, 0.1, 0.3], 8)
    before = (np.full(8, 0b0010101), np.zeros(8, dtype=np.int64))
    chosen = choice.choose(month, within, limit, hands_over, before)

    tried = every_setting(month, within)
    for valve in range(8):
        expected = by_brute_force(
            tried, within, valve, limit[valve], hands_over, (0b0010101, 0)
        )
        got = (chosen.pattern[valve], chosen.row[valve], bool(chosen.stays_dry[valve]))
        assert got == expected, (seed, valve)


# 20-minute cycles at most, steps of 5: one cycle gives 5 to 20, two 30 and 40 (25 is
# two cycles of 12.5, which no step gives), three 45 and 60, four 80 (65 is none).
def test_settable_minutes_are_the_least_cycles_of_whole_steps():
    found = candidates.settable_minutes(
        np.array([20.0]), np.array([5.0]), np.array([5.0]), np.array([80.0])
    )

    assert found.minutes[0].tolist() == [5, 10, 15, 20, 30, 40, 45, 60, 80]
    assert found.cycles[0].tolist() == [1, 1, 1, 1, 2, 2, 3, 3, 4]


@pytest.mark.parametrize("longest", [2.0, 7.0, 33.0])
@pytest.mark.parametrize("step", [1.0, 0.5, 5.0])
@pytest.mark.parametrize("least", [2.0, 6.0])
def test_settable_minutes_by_trying_every_number_of_cycles(longest, step, least):
    longest = max(longest, step)
    most = 120.0
    found = candidates.settable_minutes(
        np.array([longest]), np.array([step]), np.array([least]), np.array([most])
    )
    floor = int(longest / step) * step
    expected = set()
    for cycles in range(1, 200):
        for steps in range(1, int(floor / step) + 1):
            cycle = steps * step
            total = cycles * cycle
            fewest = -(-total // floor)
            if cycles == fewest and cycle >= min(-(-least // step) * step, floor):
                expected.add(total)
    inside = {t for t in found.minutes[0].tolist() if t < most}
    assert inside == {t for t in expected if t < most}
    assert found.minutes[0][-1] == min(t for t in expected if t >= most)


# Most even sets of a week counted round: 2 of 7 days leave gaps of 3 and 4 (calendar).
def test_patterns_are_the_even_sets_and_then_intervals():
    found = candidates.patterns_of_rule(DayRule(ALL_WEEK, ALL_DATES, 7), True)

    every = [5, 6, 8, 9, 10, 12, 14, 16, 18, 21, 24, 28]
    assert found[:, 3].tolist() == [7, 6, 5, 4, 3, 2, 1, *(7 / n for n in every)]
    assert found[:, 4].tolist() == [1, 2, 2, 2, 3, 4, 7, *every]
    assert found[:, 5].tolist() == [1, 1, 1, 1, 2, 3, 7, *every]
    without = candidates.patterns_of_rule(DayRule(ALL_WEEK, ALL_DATES, 7), False)
    assert not without[7:].any()


def test_plants_in_cool_months_stand_twice_their_longest_gap():
    rules, row = (DayRule(ALL_WEEK, ALL_DATES, 7),), np.zeros(2, dtype=int)
    found = candidates.patterns_of_period(
        rules, (True,), row, np.full(2, 7.0), np.ones(2), np.array([1.4, 1.6])
    )

    assert found.longest_gap[0][found.usable[0]].max() == 14
    assert found.longest_gap[1][found.usable[1]].max() == 7


def test_where_no_pattern_is_dense_enough_the_densest_is_taken_and_told():
    rules, row = (DayRule(0b1000000, ALL_DATES, 7),), np.zeros(1, dtype=int)
    found = candidates.patterns_of_period(
        rules, (False,), row, np.array([3.0]), np.ones(1), np.array([5.0])
    )

    assert found.too_few.tolist() == [True]
    assert found.days_per_week[0][found.usable[0]].tolist() == [1.0]


# A law of the rule: just above and just below the least dry share that any setting
# reaches, and 2 points over it, the limit moves smoothly, so water does not jump; and
# a laxer limit never takes more.
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("hands_over", [True, False])
def test_a_limit_just_out_of_reach_asks_for_no_more_water(seed, hands_over):
    month, within = drawn_month(seed)
    tried = every_setting(month, within)
    none = np.zeros(8, dtype=np.int64)

    def least_of(limit):
        found = choice.least_sufficient(month, within, limit, hands_over)
        return found.water_mm.min(axis=1)

    reached = np.full(8, np.inf)
    for valve, pattern in np.argwhere(within.patterns.usable):
        if not within.off_only[valve]:
            last = within.last[valve, pattern]
            reached[valve] = min(reached[valve], tried.dry[valve, pattern, last])
    reached = np.minimum(reached, tried.dry[:, choice.OFF, 0])
    before = None
    for over in (-0.01, -1e-7, 1e-7, 0.01, 0.02 - 1e-7, 0.02 + 1e-7, 0.04):
        limit = np.maximum(reached + over, 0.0)
        water = least_of(limit)
        if over <= 0.02:
            np.testing.assert_array_equal(water, least_of(reached + 0.02))
        if before is not None:
            assert np.all(water <= before + 1e-9)
        before = water
        chosen = choice.choose(month, within, limit, hands_over, (none, none))
        assert np.array_equal(chosen.stays_dry, chosen.dry > limit + 1e-9)
        assert np.all(chosen.dry <= np.maximum(limit, reached + 0.02) + 1e-9)


# Seven days between waterings, 4 mm a day in ground that has 10: it lasts under three.
def test_lightest_watering_is_half_the_store_but_no_more_than_its_gap_needs():
    depth = candidates.least_useful_mm(
        np.array([10.0, 52.0, 3.0, 3.0]),
        np.array([28.0, 23.5, 28.0, 28.0]),
        np.array([False, False, False, True]),
    )

    assert depth.tolist() == [5.0, 23.5, 2.5, 1.5]


def patterns_of(rule, longest, shortest, intervals=True, need=5.0):
    return candidates.patterns_of_period(
        (rule,), (intervals,), np.zeros(1, dtype=int), np.array([float(longest)]),
        np.array([float(shortest)]), np.array([need])
    )  # fmt: skip


ANY_DAY = DayRule(ALL_WEEK, ALL_DATES, 7)


def test_no_pattern_is_closer_than_the_shortest_gap():
    found = patterns_of(ANY_DAY, 28, 14)

    assert set(found.longest_gap[0][found.usable[0]]) == {14, 16, 18, 21, 24, 28}
    assert not found.too_close[0]


# Monday and Thursday are 3 days apart one way round and 4 the other (calendar): a
# shortest gap of 4 days leaves one day a week.
def test_the_shortest_gap_is_counted_round_the_week():
    rule = DayRule(0b0001001, ALL_DATES, 7)
    kept = [patterns_of(rule, 14, gap, False) for gap in (3, 4)]

    assert [set(f.days_per_week[0][f.usable[0]]) for f in kept] == [{2, 1}, {1}]


@pytest.mark.parametrize(
    ("longest", "intervals", "kept"),
    # The longest gap comes first; without intervals a week is the widest there is.
    [(10, True, {10}), (28, False, {7})],
)
def test_the_shortest_gap_yields_to_the_longest_and_to_the_controller(
    longest, intervals, kept
):
    found = patterns_of(ANY_DAY, longest, 14, intervals)

    assert set(found.longest_gap[0][found.usable[0]]) == kept
    assert found.too_close[0]
    assert not found.too_few[0]


def test_lawns_keep_to_weekdays_and_others_may_have_intervals_under_a_week():
    kept = [patterns_of(ANY_DAY, longest, 1) for longest in (7, 14)]
    found = [set(f.every_days[0][f.usable[0]]) - {0} for f in kept]

    assert found == [set(), {5, 6, 8, 9, 10, 12, 14}]


def test_an_interval_holds_no_more_days_in_a_week_than_are_permitted():
    found = patterns_of(DayRule(ALL_WEEK, ALL_DATES, 1), 28, 1)

    # Every 5 or 6 days some week has two of them (calendar).
    assert set(found.every_days[0][found.usable[0]]) & {5, 6} == set()
