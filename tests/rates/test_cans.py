"""Catch-can tests: depth, rate, uniformity, and what reaches the plan."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import units
from scheduler.inputs.site import Cans
from scheduler.rates import cans

# Open package `spreval`, reference page of its function DU: 15 cans, mL, as printed.
SPREVAL_ML = [47, 42, 45, 24, 13, 26, 33, 34, 27, 30, 40, 44, 32, 12, 12]
# Open package `spreval`, page of PELQ; from Merriam and Keller 1978, Farm irrigation
# system evaluation, Utah State University, p. 41-43: catch rates, in/h, as printed.
MERRIAM_KELLER_IN_H = [0.23, 0.31, 0.24, 0.24, 0.28, 0.31, 0.27, 0.22, 0.26, 0.31, 0.31,
                       0.25, 0.20, 0.22, 0.32]  # fmt: skip


# As printed there: DU 49.62039 %.
def test_lower_quarter_is_that_of_the_printed_set():
    percent = 100 * cans.lower_quarter(SPREVAL_ML)

    assert percent == pytest.approx(49.62039, abs=0.000005)


# As printed there: PELQ 73.64892 %, the low-quarter catch over the rate of a nozzle of
# 4.6 gpm at 30 by 50 ft, with 96.3. By hand: the cans add up to 3.97 in/h, so their
# mean is 0.26467; the driest four are 0.20, 0.22, 0.22 and 0.23, mean 0.2175.
def test_lower_quarter_of_merriam_and_keller():
    mean = 3.97 / 15
    low_quarter = cans.lower_quarter(MERRIAM_KELLER_IN_H) * mean

    assert low_quarter == pytest.approx(0.2175, rel=1e-12)
    assert 100 * low_quarter / (96.3 * 4.6 / (30 * 50)) == pytest.approx(
        73.64892, abs=0.000005
    )


# The same by hand: 15/2 = 7.5 is 8 cans: 0.20 + 0.22 + 0.22 + 0.23 + 0.24 + 0.24 + 0.25
# + 0.26 = 1.86, mean 0.2325, over 3.97/15.
def test_lower_half_of_merriam_and_keller():
    assert cans.lower_half(MERRIAM_KELLER_IN_H) == pytest.approx(
        (1.86 / 8) / (3.97 / 15), rel=1e-12
    )


# The rule that the printed sets follow: the nearest whole number to n/4. 46 cans have
# 12 (`spreval`); 15 have 4, as above.
@pytest.mark.parametrize(
    ("count", "quarter"),
    [(8, 2), (9, 2), (10, 3), (11, 3), (12, 3), (15, 4), (16, 4), (46, 12)],
)
def test_nearest_part_is_the_nearest_whole_number_half_up(count, quarter):
    assert cans.nearest_part(count, 4) == quarter


# Christiansen 1942: CU = 100 (1 - sum |x - m| / (n m)). By hand for 2, 4, 6, 8: m = 5,
# deviations 3 + 1 + 1 + 3 = 8, 8 / (4 * 5) = 0.4.
def test_christiansen_by_hand():
    assert cans.christiansen([2, 4, 6, 8]) == pytest.approx(60, rel=1e-12)


CATCHES = st.lists(st.integers(0, 200), min_size=8, max_size=40).filter(any)


# Brute force in exact fractions.
@given(CATCHES)
def test_uniformities_are_those_of_exact_fractions(catches):
    mean = Fraction(sum(catches), len(catches))
    ordered = sorted(catches)

    def driest(parts: int) -> float:
        count = int(Fraction(len(catches), parts) + Fraction(1, 2))
        return float(Fraction(sum(ordered[:count]), count) / mean)

    spread = sum(abs(value - mean) for value in catches) / len(catches)
    assert cans.lower_quarter(catches) == pytest.approx(driest(4), abs=1e-12)
    assert cans.lower_half(catches) == pytest.approx(driest(2), abs=1e-12)
    assert cans.christiansen(catches) == pytest.approx(
        float(100 * (1 - spread / mean)), abs=1e-9
    )


# Laws: the order of the cans and the unit of the catch do not matter; the drier quarter
# is no wetter than the drier half, and that no wetter than all; even cans make 1.
@given(CATCHES, st.randoms(use_true_random=False), st.floats(0.01, 100))
def test_uniformities_follow_their_laws(catches, random, unit):
    shuffled = list(catches)
    random.shuffle(shuffled)
    for formula in (cans.lower_quarter, cans.lower_half, cans.christiansen):
        value = formula(catches)

        assert formula(shuffled) == pytest.approx(value, abs=1e-9)
        assert formula(np.array(catches) * unit) == pytest.approx(value, abs=1e-9)
    quarter, half = cans.lower_quarter(catches), cans.lower_half(catches)
    assert 0 <= quarter <= half + 1e-12
    assert half <= 1 + 1e-12


def test_uniformities_of_even_cans_are_whole():
    assert cans.lower_quarter([7.0] * 9) == 1
    assert cans.lower_half([7.0] * 9) == 1
    assert cans.christiansen([7.0] * 9) == 100


@pytest.mark.parametrize(
    "formula", [cans.lower_quarter, cans.lower_half, cans.christiansen]
)
def test_uniformities_have_the_shape_without_cans_and_let_nan_through(formula):
    result = formula([[1.0, 2.0, 3.0, 4.0], [1.0, np.nan, 3.0, 4.0]])

    assert result.shape == (2,)
    assert np.isnan(result).tolist() == [False, True]


@pytest.mark.parametrize(
    "formula", [cans.lower_quarter, cans.lower_half, cans.christiansen]
)
@pytest.mark.parametrize(
    ("catches", "message"),
    [
        ([1, -1, 2], "rate_mm_h must be 0 or more"),
        ([0, 0, 0], "rate_mm_h must be over 0 in some can"),
        ([1], "rate_mm_h must have 2 cans or more"),
    ],
)
def test_uniformities_refuse_what_is_outside_their_domain(formula, catches, message):
    with pytest.raises(ValueError, match=message):
        formula(catches)


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
def test_can_tests_take_a_dry_quarter_as_next_to_nothing():
    tests = cans.can_tests(depths(([0.0] * 6 + [5.0] * 18, 20.0)))

    assert [caution.code for caution in tests.cautions] == ["driest-quarter-dry"]
    assert tests.run_time_multiplier[0] == pytest.approx(2.5, abs=0.005)


def test_can_tests_of_no_cans_are_empty():
    tests = cans.can_tests(depths(([], 1.0)))

    assert tests.cans.tolist() == [0]
    assert np.isnan(tests.rate_mm_h).all()


def test_without_tests_takes_the_cans_of_a_zone_out():
    both = depths(([5.0] * 8, 20.0), ([6.0] * 9, 20.0))
    tests = cans.can_tests(cans.without_tests(both, [0]))

    assert tests.cans.tolist() == [0, 9]
