"""Cycles and soak against the method, worked once more on exact fractions.

The method is steps 9 and 10 of the design; what is computed here is written from its
words, on Python's own fractions.
"""

import math
from fractions import Fraction

import numpy as np
import pytest

from scheduler.plan.times import cycles


def exact(number):
    """A fraction of a decimal as people write it: 0.1 is 1/10."""
    return Fraction(str(number))


def split_by_the_method(x, longest, step):
    """Step 9: "Least cycles n0 = ⌈0.95·x/L⌉. For n = n0, n0+1, n0+2 take the
    whole-step cycle minutes c ≤ L with n·c ≥ 0.95·x nearest to x/n; the first n with
    0.98·x ≤ n·c ≤ 1.05·x is chosen, else the n·c nearest to x of all, ties to fewer
    cycles." A tie between two c goes to the longer (the method is silent).
    """
    n0 = math.ceil(exact(0.95) * x / longest)
    days = []
    for n in (n0, n0 + 1, n0 + 2):
        whole = math.floor(x / n / step)
        lengths = [k * step for k in range(max(whole - 1, 1), whole + 3)]
        lengths.append(longest)
        may = [c for c in lengths if c <= longest and n * c >= exact(0.95) * x]
        c = min(may, key=lambda c: (abs(c - x / n), -c))
        days.append((n, c))
    for n, c in days:
        if exact(0.98) * x <= n * c <= exact(1.05) * x:
            return n, c
    return min(days, key=lambda day: (abs(day[0] * day[1] - x), day[0]))


def assert_split(minutes, longest, step):
    found = cycles.split_minutes(
        np.array([float(x) for x in minutes]),
        np.array([float(limit) for limit in longest]),
        np.array([float(s) for s in step]),
    )
    for row, case in enumerate(zip(minutes, longest, step, strict=True)):
        n, c = split_by_the_method(*case)
        got = found.cycles[row], found.cycle_min[row]
        # Whole steps: only float error, far under the least step.
        assert got == (n, pytest.approx(float(c), rel=1e-12)), [*map(float, case)]


# A longest cycle is of whole steps; x is anything from half a step up.
def test_split_minutes_is_that_of_the_method_for_random_minutes():
    random = np.random.default_rng(9)
    step = [exact(s) for s in random.choice(["0.1", "0.5", "1", "2", "5"], 2000)]
    longest = [s * int(k) for s, k in zip(step, random.integers(1, 60, 2000),
                                          strict=True)]  # fmt: skip
    share = np.exp(random.uniform(np.log(0.02), np.log(9), 2000))
    minutes = [
        max(Fraction(part) * limit, s * exact(0.50001))
        for part, limit, s in zip(share, longest, step, strict=True)
    ]

    assert_split(minutes, longest, step)


# Round minutes meet the edges of every rule: halves of a step, 0.95, 0.98 and 1.05.
@pytest.mark.parametrize("step", ["0.5", "1", "5"])
def test_split_minutes_is_that_of_the_method_on_every_twentieth_of_a_minute(step):
    cases = [
        (Fraction(k, 20), exact(step) * m, exact(step))
        for m in (1, 3, 10)
        for k in range(math.ceil(10 * exact(step)), 1200, 1)
        if Fraction(k, 20) <= 12 * exact(step) * m
    ]

    assert len(cases) > 1500
    assert_split(*zip(*cases, strict=True))


# By hand. 20 in cycles of 10: 0.95 · 20 / 10 = 1.9, so two of 10. 20.6: 1.957, two of
# 10 make 20, 0.971 of it and too little; three of 7 make 21, 1.019. 10.5 with 10: one
# of 10 has 0.952 but not 0.98; two of 5 (0.952) and three of 4 (1.143) are no better
# or fall outside, so 10 it stays, in one. 240 are 0.980 of 244.8, but 0.950 of 252.6,
# where two of 126 are nearer. 2.4 at steps of 1: 2 is 0.83 of it, less than
# 0.95, so one of 3, 1.25; two of 2 are 4 and three of 1 are 3 again: the 3 in one.
@pytest.mark.parametrize(
    ("x", "longest", "step", "expected"),
    [(20, 10, 1, (2, 10)), (20.6, 10, 1, (3, 7)), (10.5, 10, 1, (1, 10)),
     (2.4, 10, 1, (1, 3)), (0.5, 10, 1, (1, 1)), (28.85, 10, 1, (3, 10)),
     (240, 240, 1, (1, 240)), (244.8, 240, 1, (1, 240)), (252.6, 240, 1, (2, 126))],
)  # fmt: skip
def test_split_minutes_by_hand(x, longest, step, expected):
    found = cycles.split_minutes(np.array([x]), np.array([longest]), np.array([step]))

    assert (found.cycles[0], found.cycle_min[0]) == expected


# A chain of published formulas, worked outside this program: a turf zone of 28.85 min
# an event and a limit of 10.61 min needs three cycles of 9.62 min; in whole minutes
# three of 10.
def test_split_minutes_of_the_chain_of_formulas():
    longest, too_short = cycles.longest_cycle(
        np.array([10.61]), np.array([240.0]), np.array([1.0])
    )
    found = cycles.split_minutes(np.array([28.85]), longest, np.array([1.0]))

    assert not too_short[0]
    assert longest[0] == 10
    assert found.cycles[0] == 3
    assert abs(found.cycle_min[0] - 28.85 / 3) <= 0.5


def test_split_minutes_keeps_its_laws():
    random = np.random.default_rng(10)
    step = random.choice([0.5, 1.0, 5.0], (40, 250))
    longest = step * random.integers(1, 200, step.shape)
    minutes = step * random.uniform(0.5, 1500, step.shape)
    before = minutes.copy()

    found = cycles.split_minutes(minutes, longest, step)

    day = found.cycles * found.cycle_min
    np.testing.assert_array_equal(found.cycle_min % step, 0)
    assert np.all(found.cycles >= 1)
    assert np.all(found.cycle_min <= longest)
    assert np.all(day >= 0.95 * minutes - 1e-9)
    # A whole step in each of three cycles is the most that rounding adds.
    assert np.all(day <= np.maximum(1.05 * minutes, minutes + 3 * step) + 1e-9)
    np.testing.assert_array_equal(minutes, before)


# The method, step 9: the least of runoff limit and longest run, rounded down to the
# step; a limit under 2 minutes or under a step cannot be kept, and L is the larger.
@pytest.mark.parametrize(
    ("runoff", "longest_run", "step", "expected"),
    [(15.65, 240, 1, (15, False)), (np.inf, 240, 1, (240, False)),
     (15.65, 240, 5, (15, False)), (14.99, 240, 5, (10, False)),
     (15.65, 240, 0.5, (15.5, False)), (30, 12.7, 0.5, (12.5, False)),
     (2, 240, 1, (2, False)), (1.99, 240, 1, (2, True)), (0.3, 240, 0.5, (2, True)),
     (4.99, 240, 5, (5, True)), (5, 240, 5, (5, False)), (2.4, 240, 0.5, (2, False)),
     (15 - 1e-12, 240, 1, (15, False)), (2 - 1e-12, 240, 1, (2, False))],
)  # fmt: skip
def test_longest_cycle_is_whole_steps_of_the_least_limit(
    runoff, longest_run, step, expected
):
    longest, too_short = cycles.longest_cycle(
        np.array([runoff]), np.array([longest_run]), np.array([step])
    )

    assert (longest[0], too_short[0]) == expected


# The method, step 10: rounded up to 5 minutes, and at least the shortest soak.
@pytest.mark.parametrize(
    ("to_go_in", "shortest", "expected"),
    [(0, 30, 30), (29, 30, 30), (30, 30, 30), (30.01, 30, 35), (62.5, 30, 65),
     (62.5, 90, 90), (0.1, 0, 5), (0, 0, 0), (35 + 1e-12, 30, 35), (12, 7, 15),
     (3, 7, 7)],
)  # fmt: skip
def test_soak_minutes_are_whole_fives_and_at_least_the_shortest(
    to_go_in, shortest, expected
):
    found = cycles.soak_minutes(np.array([to_go_in]), np.array([shortest]))

    assert found[0] == expected
