"""Catch-can tests: depth, rate, uniformity, and what reaches the plan."""

from __future__ import annotations

import numpy as np
import pytest

from scheduler import units
from scheduler.inputs.site import Cans
from scheduler.rates import cans


# Common form of the trade: in/h = 3.66 mL / (min in²). Exact: a cubic inch is 2.54³ mL,
# so 60 / 16.387064 = 3.6614.
def test_catch_rate_of_one_milliliter_a_minute_on_a_square_inch():
    depth_mm = cans.catch_depth(1, units.MM_PER_IN**2)
    rate_in_h = cans.catch_rate(depth_mm, 1) / units.MM_PER_IN

    assert rate_in_h == pytest.approx(3.66, abs=0.005)
    assert rate_in_h == pytest.approx(60 / 2.54**3, rel=1e-12)


# Metric form: mm/h = 600 mL / (min cm²). 100 mL in 20 min in a can of 150 cm²: 20 mm/h.
def test_catch_rate_in_the_metric_form():
    assert cans.catch_rate(cans.catch_depth(100, 15_000), 20) == pytest.approx(20)


# Texas A&M AgriLife handout on catch cans (a write-up of it): 0.25 in caught in 5 min
# lay an inch in 20 min, that is 3 in/h.
def test_catch_rate_of_the_agrilife_handout():
    rate_mm_h = cans.catch_rate(0.25 * units.MM_PER_IN, 5)

    assert 60 / (rate_mm_h / units.MM_PER_IN) == pytest.approx(20)


def test_catch_formulas_broadcast_and_let_nan_through():
    catches = np.array([1.0, np.nan])

    assert np.isnan(cans.catch_depth(catches, 100)).tolist() == [False, True]
    assert cans.catch_rate(catches, np.array([[1.0], [2.0]])).shape == (2, 2)


def test_catch_formulas_refuse_what_is_outside_their_domain():
    with pytest.raises(ValueError, match="catch_ml must be 0 or more"):
        cans.catch_depth(-1, 100)
    with pytest.raises(ValueError, match="can_area_mm2 must be over 0"):
        cans.catch_depth(1, 0)
    with pytest.raises(ValueError, match="catch_mm must be 0 or more"):
        cans.catch_rate(-1, 10)
    with pytest.raises(ValueError, match="run_min must be over 0"):
        cans.catch_rate(1, 0)


def depths(*zones: tuple[list[float], float]) -> Cans:
    """Cans of zones z0, z1, …, each with its depths and minutes."""
    zone = np.concatenate([[i] * len(mm) for i, (mm, _) in enumerate(zones)])
    mm = np.concatenate([mm for mm, _ in zones])
    minutes = np.concatenate([[m] * len(mm) for mm, m in zones])
    blank = np.full(mm.size, np.nan)
    return Cans(
        zones=tuple(f"z{i}" for i in range(len(zones))),
        zone=zone.astype(np.intp),
        can=tuple(f"c{i}" for i in range(mm.size)),
        catch_ml=blank,
        can_area_mm2=blank,
        catch_mm=mm,
        minutes=minutes.astype(float),
    )


# By hand. z0: mean 5 mm in 20 min are 15 mm/h; the driest two of eight are 2 and 3,
# mean 2.5, so 0.5, and 1 / (0.4 + 0.3) = 1.4286. z1 has no can, z2 is even.
def test_can_tests_by_zone():
    tests = cans.can_tests(
        depths(([2, 3, 4, 5, 5, 6, 7, 8], 20.0), ([], 1.0), ([6.0] * 30, 15.0))
    )

    assert tests.cans.tolist() == [8, 0, 30]
    assert tests.rate_mm_h == pytest.approx([15, np.nan, 24], nan_ok=True)
    assert tests.uniformity == pytest.approx([0.5, np.nan, 1], nan_ok=True)
    # (2 + 3 + 4 + 5) / 4 = 3.5 over 5; deviations 3 + 2 + 1 + 0 + 0 + 1 + 2 + 3 = 12,
    # 12 / 40 = 0.3.
    assert tests.uniformity_lh == pytest.approx([0.7, np.nan, 1], nan_ok=True)
    assert tests.christiansen_percent == pytest.approx([70, np.nan, 100], nan_ok=True)
    assert tests.run_time_multiplier == pytest.approx([1 / 0.7, np.nan, 1], nan_ok=True)
    assert tests.driest[0] == ("c0", "c1")
    assert tests.driest[1] == ()


# The audit guideline's number of cans, 24: from memory.
@pytest.mark.parametrize(("count", "codes"), [(23, ["cans-too-few"]), (24, [])])
def test_can_tests_caution_fewer_cans_than_an_audit_asks_for(count, codes):
    tests = cans.can_tests(depths(([5.0] * count, 20.0)))

    assert [caution.code for caution in tests.cautions] == codes


# A dry quarter makes DU 0; 1 / 0.4 = 2.5 is the largest multiplier there is.
def test_can_tests_with_a_dry_quarter_ask_for_the_largest_multiplier():
    tests = cans.can_tests(depths(([0.0] * 6 + [5.0] * 18, 20.0)))

    assert [caution.code for caution in tests.cautions] == ["driest-quarter-dry"]
    assert tests.uniformity[0] == 0
    assert tests.run_time_multiplier[0] == 2.5


def test_can_tests_of_no_cans_are_empty():
    tests = cans.can_tests(depths(([], 1.0)))

    assert tests.cans.tolist() == [0]
    assert np.isnan(tests.rate_mm_h).all()


def test_without_tests_takes_the_cans_of_a_zone_out():
    both = depths(([5.0] * 8, 20.0), ([6.0] * 9, 20.0))
    tests = cans.can_tests(cans.without_tests(both, [0]))

    assert tests.cans.tolist() == [0, 9]
