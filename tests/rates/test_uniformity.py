"""Evenness: of cans, of pieces of ground, and the run time that it asks for."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.rates import uniformity

# Open package `spreval`, reference page of its function DU: 15 cans, mL, as printed.
SPREVAL_ML = [47, 42, 45, 24, 13, 26, 33, 34, 27, 30, 40, 44, 32, 12, 12]
# Open package `spreval`, page of PELQ; from Merriam and Keller 1978, Farm irrigation
# system evaluation, Utah State University, p. 41-43: catch rates, in/h, as printed.
MERRIAM_KELLER_IN_H = [0.23, 0.31, 0.24, 0.24, 0.28, 0.31, 0.27, 0.22, 0.26, 0.31, 0.31,
                       0.25, 0.20, 0.22, 0.32]  # fmt: skip


# As printed there: DU 49.62039 %.
def test_lower_quarter_is_that_of_the_printed_set():
    percent = 100 * uniformity.lower_quarter_of_cans(SPREVAL_ML)

    assert percent == pytest.approx(49.62039, abs=0.000005)


# As printed there: PELQ 73.64892 %, the low-quarter catch over the rate of a nozzle of
# 4.6 gpm at 30 by 50 ft, with 96.3. By hand: the cans add up to 3.97 in/h, so their
# mean is 0.26467; the driest four are 0.20, 0.22, 0.22 and 0.23, mean 0.2175.
def test_lower_quarter_of_merriam_and_keller():
    mean = 3.97 / 15
    low_quarter = uniformity.lower_quarter_of_cans(MERRIAM_KELLER_IN_H) * mean

    assert low_quarter == pytest.approx(0.2175, rel=1e-12)
    assert 100 * low_quarter / (96.3 * 4.6 / (30 * 50)) == pytest.approx(
        73.64892, abs=0.000005
    )


# The same by hand: 15/2 = 7.5 is 8 cans: 0.20 + 0.22 + 0.22 + 0.23 + 0.24 + 0.24 + 0.25
# + 0.26 = 1.86, mean 0.2325, over 3.97/15.
def test_lower_half_of_merriam_and_keller():
    assert uniformity.lower_half_of_cans(MERRIAM_KELLER_IN_H) == pytest.approx(
        (1.86 / 8) / (3.97 / 15), rel=1e-12
    )


# The rule that the printed sets follow: the nearest whole number to n/4. 46 cans have
# 12 (`spreval`); 15 have 4, as above.
@pytest.mark.parametrize(
    ("count", "quarter"),
    [(8, 2), (9, 2), (10, 3), (11, 3), (12, 3), (15, 4), (16, 4), (46, 12)],
)
def test_nearest_part_is_the_nearest_whole_number_half_up(count, quarter):
    assert uniformity.nearest_part(count, 4) == quarter


# Christiansen 1942: CU = 100 (1 - sum |x - m| / (n m)). By hand for 2, 4, 6, 8: m = 5,
# deviations 3 + 1 + 1 + 3 = 8, 8 / (4 * 5) = 0.4.
def test_christiansen_by_hand():
    assert uniformity.christiansen_coefficient([2, 4, 6, 8]) == pytest.approx(
        60, rel=1e-12
    )


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
    assert uniformity.lower_quarter_of_cans(catches) == pytest.approx(
        driest(4), abs=1e-12
    )
    assert uniformity.lower_half_of_cans(catches) == pytest.approx(driest(2), abs=1e-12)
    assert uniformity.christiansen_coefficient(catches) == pytest.approx(
        float(100 * (1 - spread / mean)), abs=1e-9
    )


# Laws: the order of the cans and the unit of the catch do not matter; the drier quarter
# is no wetter than the drier half, and that no wetter than all; even cans make 1.
@given(CATCHES, st.randoms(use_true_random=False), st.floats(0.01, 100))
def test_uniformities_follow_their_laws(catches, random, unit):
    shuffled = list(catches)
    random.shuffle(shuffled)
    for formula in (
        uniformity.lower_quarter_of_cans,
        uniformity.lower_half_of_cans,
        uniformity.christiansen_coefficient,
    ):
        value = formula(catches)

        assert formula(shuffled) == pytest.approx(value, abs=1e-9)
        assert formula(np.array(catches) * unit) == pytest.approx(value, abs=1e-9)
    quarter, half = (
        uniformity.lower_quarter_of_cans(catches),
        uniformity.lower_half_of_cans(catches),
    )
    assert 0 <= quarter <= half + 1e-12
    assert half <= 1 + 1e-12


def test_uniformities_of_even_cans_are_whole():
    assert uniformity.lower_quarter_of_cans([7.0] * 9) == 1
    assert uniformity.lower_half_of_cans([7.0] * 9) == 1
    assert uniformity.christiansen_coefficient([7.0] * 9) == 100


@pytest.mark.parametrize(
    "formula",
    [
        uniformity.lower_quarter_of_cans,
        uniformity.lower_half_of_cans,
        uniformity.christiansen_coefficient,
    ],
)
def test_uniformities_have_the_shape_without_cans_and_let_nan_through(formula):
    result = formula([[1.0, 2.0, 3.0, 4.0], [1.0, np.nan, 3.0, 4.0]])

    assert result.shape == (2,)
    assert np.isnan(result).tolist() == [False, True]


@pytest.mark.parametrize(
    "formula", [uniformity.lower_quarter_of_cans, uniformity.lower_half_of_cans]
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


# By hand: 10 m² at 4, 30 m² at 8 and 60 m² at 10 mm/h. The driest quarter of 100 m² is
# the 10 at 4 and 15 of the 30 at 8: (40 + 120) / 25 = 6.4. The mean is (40 + 240 +
# 600) / 100 = 8.8. 6.4 / 8.8 = 8/11.
@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_lower_quarter_uniformity_splits_the_piece_where_the_quarter_ends(order):
    rate, area = np.array([4.0, 8.0, 10.0]), np.array([10.0, 30.0, 60.0])

    found = uniformity.lower_quarter_uniformity(
        rate[list(order)], area[list(order)], [0, 0, 0], 1
    )

    assert found == pytest.approx([8 / 11], rel=1e-12)


# Exact: what is as even as can be has a uniformity of 1, and each zone has its own.
def test_lower_quarter_uniformity_keeps_zones_apart():
    found = uniformity.lower_quarter_uniformity(
        [7, 4, 7, 8, np.nan, 10, 5],
        [3, 10, 9, 30, 5, 60, 5],
        [2, 0, 2, 0, 3, 0, 3],
        4,
    )

    np.testing.assert_allclose(found, [8 / 11, np.nan, 1, np.nan], rtol=1e-12)


# An independent count: each zone's ground laid out square foot by square foot, driest
# first, and the mean of the first quarter of them.
def test_lower_quarter_uniformity_is_the_mean_of_the_driest_square_feet():
    random = np.random.default_rng(4)
    area = random.integers(1, 40, 600)
    rate = random.uniform(5, 50, 600)
    group = random.integers(0, 60, 600)
    expected = []
    for zone in range(60):
        feet = np.sort(np.repeat(rate[group == zone], 4 * area[group == zone]))
        expected.append(feet[: len(feet) // 4].mean() / feet.mean())

    found = uniformity.lower_quarter_uniformity(rate, area, group, 60)

    np.testing.assert_allclose(found, expected, rtol=1e-10)


# By hand: a third of the ground dry, so its driest quarter gets nothing: 0 over 20/3.
# Where no water falls at all there is no mean to compare with.
def test_lower_quarter_uniformity_of_dry_ground_is_0_and_of_no_water_nan():
    found = uniformity.lower_quarter_uniformity(
        [0, 10, 0, 0], [10, 20, 5, 5], [0, 0, 1, 1], 2
    )

    np.testing.assert_array_equal(found, [0, np.nan])


@pytest.mark.parametrize(
    ("rate", "area", "message"),
    [([-1.0], [1.0], "rate_mm_h must be 0 or more, got -1"),
     ([1.0], [0.0], "area_m2 must be over 0, got 0")],
)  # fmt: skip
def test_lower_quarter_uniformity_refuses_a_negative_rate_and_no_ground(
    rate, area, message
):
    with pytest.raises(ValueError, match=message):
        uniformity.lower_quarter_uniformity(rate, area, [0], 1)


# Irrigation Association, run-time multiplier 1 / (0.4 + 0.6 DU), second-hand; its
# values at DU 0.5 to 0.8 computed from the formula. The regression 0.386 + 0.614 DU of
# the lower half (from memory) is what it stands for, within a hundredth and a half.
@pytest.mark.parametrize(
    ("even", "multiplier", "lower_half"),
    [(0.5, 1.429, 0.693), (0.6, 1.316, 0.754), (0.7, 1.220, 0.816),
     (0.8, 1.136, 0.877)],
)  # fmt: skip
def test_run_time_multiplier_has_the_values_of_its_rule(even, multiplier, lower_half):
    found = uniformity.run_time_multiplier(even)

    assert found == pytest.approx(multiplier, abs=0.0005)
    assert found == pytest.approx(1 / lower_half, abs=0.015)


# Exact: 1 / (0.4 + 0.6) and 1 / 0.4.
def test_run_time_multiplier_runs_from_1_to_2_and_a_half():
    found = uniformity.run_time_multiplier([1.0, np.nan, 0.0])

    np.testing.assert_array_equal(found, [1.0, np.nan, 2.5])


@pytest.mark.parametrize(
    ("even", "message"),
    [(-0.1, "uniformity must be 0 or more, got -0.1"),
     (1.01, "uniformity must be up to 1, got 1.01"),
     (62.0, "uniformity must be up to 1, got 62")],
)  # fmt: skip
def test_run_time_multiplier_refuses_what_is_no_share(even, message):
    with pytest.raises(ValueError, match=message):
        uniformity.run_time_multiplier(even)


# Fifteen cans of the page for DU of the open package `spreval`; CU by Christiansen's
# definition, 1942, is 69.1396 % (second-hand; recomputed).
def test_christiansen_coefficient_of_fifteen_cans():
    cans = [47, 42, 45, 24, 13, 26, 33, 34, 27, 30, 40, 44, 32, 12, 12]
    value = uniformity.christiansen_coefficient(cans, np.ones(15))

    assert value == pytest.approx(69.1396, abs=5e-5)


# Ground of 1 and 3 at 10 and 30: like four pieces of one; mean 25, |x - m| 15 and 5.
def test_christiansen_coefficient_weighs_by_area():
    value = uniformity.christiansen_coefficient([10, 30], [1, 3])

    assert value == pytest.approx(100 * (1 - (15 + 3 * 5) / (4 * 25)), rel=1e-12)
    assert np.isnan(uniformity.christiansen_coefficient([0, 0], [1, 1]))
    assert np.isnan(uniformity.christiansen_coefficient([np.nan, 1], [1, 1]))


@pytest.mark.parametrize(
    ("rate", "area", "message"),
    [([-1, 2], [1, 1], "rate_mm_h must be 0 or more"),
     ([1, 2], [1, 0], "area_m2 must be over 0")],
)  # fmt: skip
def test_christiansen_coefficient_refuses_what_is_no_ground(rate, area, message):
    with pytest.raises(ValueError, match=message):
        uniformity.christiansen_coefficient(rate, area)


# A million heads drawn from a normal law, each on ground of its own spread: the driest
# quarter of all that ground over its mean, by definition. For a normal law 1 - DU is
# 1.2711 deviations. Spreads that add make it to 0.002, the noise of the draw; spreads
# that multiply lift the driest ground a little, so that ours is on the careful side.
@pytest.mark.parametrize(
    ("within", "between"), [(0.70, 0.71), (0.65, 0.90), (0.80, 0.80), (0.70, 1.0)]
)
def test_combined_uniformity_is_that_of_drawn_samples(within, between):
    draw = np.random.default_rng(20260101)
    spread = (1 - np.array([within, between])) / 1.2711
    head, ground = spread[1::-1, None] * draw.standard_normal((2, 1_000_000))
    combined = uniformity.combined_uniformity(within, between)

    assert combined == pytest.approx(drawn_uniformity(1 + head + ground), abs=0.002)
    product = drawn_uniformity((1 + head) * (1 + ground))
    assert product - 0.02 <= combined <= product + 0.002


def drawn_uniformity(depth):
    return np.sort(depth)[:250_000].mean() / depth.mean()


# Pythagoras: spreads of 0.3 and 0.4 make one of 0.5. With heads that are even the
# usual value stands; two that leave a quarter dry leave no less than nothing.
@pytest.mark.parametrize(
    ("one", "other", "both"), [(0.7, 0.6, 0.5), (0.65, 1, 0.65), (0.1, 0.2, 0.0)]
)
def test_combined_uniformity_adds_spreads_as_squares(one, other, both):
    assert uniformity.combined_uniformity(one, other) == pytest.approx(both, abs=1e-12)
    assert uniformity.combined_uniformity(other, one) == pytest.approx(both, abs=1e-12)


def test_combined_uniformity_keeps_shape_and_nan_and_refuses_what_cannot_be():
    found = uniformity.combined_uniformity([[0.7], [np.nan]], [1.0, 0.6])

    assert found.shape == (2, 2)
    assert np.isnan(found[1]).all()
    with pytest.raises(ValueError, match="imbalance must be up to 1, got 71"):
        uniformity.combined_uniformity(0.7, 71)
    with pytest.raises(ValueError, match=r"uniformity must be 0 or more, got -0\.1"):
        uniformity.combined_uniformity(-0.1, 0.7)
