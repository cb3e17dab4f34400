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


# Exact: a strip nozzle of 4 x 15 ft wets a rectangle of 60 ft²; half of a cell of 15 by
# twice 4 ft is the same ground. From both sides of the head, 4 x 30 ft, it is 120.
def test_head_area_of_a_strip_nozzle_is_its_rectangle():
    assert nozzles.head_area(180, 15, 2 * 4) == pytest.approx(4 * 15, rel=1e-15)
    assert nozzles.head_area(180, 30, 2 * 4) == pytest.approx(4 * 30, rel=1e-15)


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
