"""Formulas of nozzles: rate, flow at pressure, uniformity."""

import numpy as np
import pytest

from scheduler import units
from scheduler.rates import precipitation as nozzles

GPM = units.L_PER_GAL  # L/min
FT = units.M_PER_FT
FT2 = units.M2_PER_FT2
PSI = units.KPA_PER_PSI
IN_H = units.MM_PER_IN  # mm/h


# Precipitation rate


# NIST Handbook 44, appendix C: a US gallon is 231 in³ exactly, so 1 gal/min on 1 ft²
# (144 in²) is 231 * 60 / 144 = 96.25 in/h. Exact, so only float error.
def test_precipitation_rate_of_one_gpm_on_one_square_foot():
    rate_mm_h = nozzles.precipitation_rate(units.L_PER_GAL, units.M2_PER_FT2)

    assert rate_mm_h / units.MM_PER_IN == pytest.approx(96.25, rel=1e-12)


# Merriam and Keller (1978), Farm Irrigation System Evaluation, p. 41-43 (second-hand):
# 4.6 gpm at 30 by 50 ft. With the constant 96.3, as printed there, 0.2953 in/h; with
# the exact 96.25 it is 0.2952.
def test_precipitation_rate_of_a_sprinkler_at_30_by_50_ft():
    rate = nozzles.precipitation_rate(4.6 * GPM, 30 * FT * 50 * FT) / IN_H

    assert rate == pytest.approx(0.2952, abs=0.00005)
    assert rate * 96.3 / 96.25 == pytest.approx(0.2953, abs=0.00005)


# Exact: 1000 L on a hectare of 10,000 m² stand 0.1 mm deep; one minute of it, an hour
# of it. A liter a minute on a square meter is 60 mm/h.
def test_precipitation_rate_in_metric_units_needs_no_constant():
    assert nozzles.precipitation_rate(1, 1) == pytest.approx(60, rel=1e-15)
    assert nozzles.precipitation_rate(1000, 10_000) == pytest.approx(6, rel=1e-15)


def test_precipitation_rate_broadcasts_and_keeps_nan():
    rate = nozzles.precipitation_rate([[10.0], [np.nan]], [20.0, 40.0, np.nan])

    np.testing.assert_allclose(rate[0, :2], [30, 15], rtol=1e-15)
    assert np.isnan(rate).tolist() == [[False, False, True], [True] * 3]


@pytest.mark.parametrize("area_m2", [0.0, -1.0, [20.0, 0.0]])
def test_precipitation_rate_refuses_area_that_is_not_positive(area_m2):
    with pytest.raises(ValueError, match="area_m2 must be over 0, got"):
        nozzles.precipitation_rate(15.2, area_m2)


def test_precipitation_rate_refuses_negative_flow():
    with pytest.raises(ValueError, match="flow_l_min must be 0 or more, got -2"):
        nozzles.precipitation_rate([1.0, -2.0], 20.0)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [((0, 9, 9), "arc_deg must be over 0, got 0"),
     ((361, 9, 9), "arc_deg must be up to 360, got 361"),
     ((90, 0, 9), "spacing_m must be over 0, got 0"),
     ((90, 9, -1), "row_spacing_m must be over 0, got -1")],
)  # fmt: skip
def test_head_area_refuses_what_is_no_arc_or_distance(arguments, message):
    with pytest.raises(ValueError, match=message):
        nozzles.head_area(*arguments)


# Flow at pressure


# Orifice law, from memory: from 40 to 30 psi the flow falls to √(30/40) = 0.866.
def test_flow_at_pressure_falls_to_0_866_from_40_to_30_psi():
    flow = nozzles.flow_at_pressure(4 * GPM, 40 * PSI, 30 * PSI) / GPM

    assert flow / 4 == pytest.approx(0.866, abs=0.0005)
    assert (flow / 4) ** 2 == pytest.approx(3 / 4, rel=1e-12)


# Exact: four times the pressure, twice the flow; at the chart's own, the chart's flow.
def test_flow_at_pressure_doubles_with_four_times_the_pressure():
    flow = nozzles.flow_at_pressure([3.0, 3.0, np.nan], 200, [800, 200, 200])

    np.testing.assert_allclose(flow, [6, 3, np.nan], rtol=1e-15)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [((-1, 300, 300), "flow_l_min must be 0 or more, got -1"),
     ((1, 0, 300), "chart_pressure_kpa must be over 0, got 0"),
     ((1, 300, 0), "pressure_kpa must be over 0, got 0")],
)  # fmt: skip
def test_flow_at_pressure_refuses_what_cannot_be(arguments, message):
    with pytest.raises(ValueError, match=message):
        nozzles.flow_at_pressure(*arguments)


# Uniformity


# By hand: 10 m² at 4, 30 m² at 8 and 60 m² at 10 mm/h. The driest quarter of 100 m² is
# the 10 at 4 and 15 of the 30 at 8: (40 + 120) / 25 = 6.4. The mean is (40 + 240 +
# 600) / 100 = 8.8. 6.4 / 8.8 = 8/11.
@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_lower_quarter_uniformity_splits_the_piece_where_the_quarter_ends(order):
    rate, area = np.array([4.0, 8.0, 10.0]), np.array([10.0, 30.0, 60.0])

    found = nozzles.lower_quarter_uniformity(
        rate[list(order)], area[list(order)], [0, 0, 0], 1
    )

    assert found == pytest.approx([8 / 11], rel=1e-12)


# Exact: what is as even as can be has a uniformity of 1, and each zone has its own.
def test_lower_quarter_uniformity_keeps_zones_apart():
    found = nozzles.lower_quarter_uniformity(
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

    found = nozzles.lower_quarter_uniformity(rate, area, group, 60)

    np.testing.assert_allclose(found, expected, rtol=1e-10)


@pytest.mark.parametrize(
    ("rate", "area", "name"),
    [([0.0], [1.0], "rate_mm_h"), ([1.0], [0.0], "area_m2")],
)
def test_lower_quarter_uniformity_refuses_no_rate_and_no_ground(rate, area, name):
    with pytest.raises(ValueError, match=f"{name} must be over 0, got 0"):
        nozzles.lower_quarter_uniformity(rate, area, [0], 1)


# Irrigation Association, run-time multiplier 1 / (0.4 + 0.6 DU), second-hand; its
# values at DU 0.5 to 0.8 computed from the formula. The regression 0.386 + 0.614 DU of
# the lower half (from memory) is what it stands for, within a hundredth and a half.
@pytest.mark.parametrize(
    ("uniformity", "multiplier", "lower_half"),
    [(0.5, 1.429, 0.693), (0.6, 1.316, 0.754), (0.7, 1.220, 0.816),
     (0.8, 1.136, 0.877)],
)  # fmt: skip
def test_run_time_multiplier_has_the_values_of_its_rule(
    uniformity, multiplier, lower_half
):
    found = nozzles.run_time_multiplier(uniformity)

    assert found == pytest.approx(multiplier, abs=0.0005)
    assert found == pytest.approx(1 / lower_half, abs=0.015)


def test_run_time_multiplier_of_perfect_uniformity_is_1_and_of_nan_nan():
    found = nozzles.run_time_multiplier([1.0, np.nan])

    np.testing.assert_array_equal(found, [1.0, np.nan])


@pytest.mark.parametrize("uniformity", [0.0, -0.1, 1.01, 62.0])
def test_run_time_multiplier_refuses_what_is_no_share(uniformity):
    with pytest.raises(ValueError, match="uniformity must be over 0 and up to 1, got"):
        nozzles.run_time_multiplier(uniformity)
