"""Checks flow and throw between the rows of a chart, and beyond them."""

import numpy as np
import pytest

from scheduler.inputs.chart import Chart
from scheduler.rates.choice import performance
from scheduler.rates.precipitation import flow_at_pressure


# Exact: rows that keep to the orifice law q = k √P give k √P everywhere, between and
# beyond: with k = 0.5, 0.5 · √(100, 200, 300, 900).
@pytest.mark.parametrize("pressure_kpa", [100.0, 200.0, 300.0, 900.0])
def test_flow_follows_the_orifice_law_where_the_rows_do(pressure_kpa):
    rows = np.array([150.0, 250.0, 400.0])

    flow = performance.flow_between_rows(pressure_kpa, rows, 0.5 * np.sqrt(rows))

    assert flow == pytest.approx(0.5 * np.sqrt(pressure_kpa), rel=1e-12)


# Exact: √225 = 15, √324 = 18, √256 = 16, a third of the way from 10 to 13.
def test_flow_between_rows_is_straight_in_the_root_of_the_pressure():
    flow = performance.flow_between_rows([225, 256, 324], [225, 324], [10, 13])

    assert flow == pytest.approx([10, 11, 13], rel=1e-12)


# Reference pack, 5.1: from 40 to 30 psi a nozzle keeps 0.866 of its flow (computed
# from the orifice law, which is from memory).
def test_flow_of_a_chart_with_one_pressure_goes_with_the_root():
    assert performance.flow_between_rows(30, [40], [1]) == pytest.approx(
        0.866, abs=5e-4
    )


def test_flow_beyond_the_rows_is_that_of_the_nearest_row():
    rows, flows = [200.0, 300.0], [8.0, 9.0]

    assert performance.flow_between_rows(100, rows, flows) == pytest.approx(
        flow_at_pressure(8, 200, 100)
    )
    assert performance.flow_between_rows(500, rows, flows) == pytest.approx(
        flow_at_pressure(9, 300, 500)
    )


# Exact: half-way between 10 and 11 m; above the rows held; 100 kPa below the first
# row 1 m less; never under half the first row's.
@pytest.mark.parametrize(
    ("pressure_kpa", "radius_m"),
    [(250, 10.5), (300, 11), (900, 11), (150, 9.5), (100, 9.0), (200, 10)],
)
def test_radius_is_straight_between_rows_and_held_above(pressure_kpa, radius_m):
    radius = performance.radius_between_rows(pressure_kpa, [200, 300], [10, 11])

    assert radius == pytest.approx(radius_m)


def test_radius_of_a_steep_chart_stays_over_half_of_the_first_row():
    assert performance.radius_between_rows(1, [200, 210], [10, 11]) == 5.0


def test_radius_of_one_row_is_held():
    assert performance.radius_between_rows([100, 500], [200], [10]).tolist() == [10, 10]


def test_radius_leaves_out_rows_without_one():
    radius = performance.radius_between_rows(250, [200, 240, 300], [10, np.nan, 11])

    assert radius == pytest.approx(10.5)
    assert np.isnan(performance.radius_between_rows(250, [200], [np.nan]))


def test_nan_in_nan_out():
    assert np.isnan(performance.flow_between_rows(np.nan, [1, 2], [1, 2]))
    assert np.isnan(performance.radius_between_rows(np.nan, [1, 2], [1, 2]))


@pytest.mark.parametrize(
    "function", [performance.flow_between_rows, performance.radius_between_rows]
)
@pytest.mark.parametrize("arguments", [(0, [1, 2], [1, 2]), (1, [-1, 2], [1, 2])])
def test_a_pressure_must_be_over_0(function, arguments):
    with pytest.raises(ValueError, match="pressure_kpa must be over 0, got"):
        function(*arguments)


def test_flow_refuses_a_negative_row_and_radius_one_of_0():
    with pytest.raises(ValueError, match="row_flow_l_min must be 0 or more, got -1"):
        performance.flow_between_rows(1, [1, 2], [-1, 2])
    with pytest.raises(ValueError, match="row_radius_m must be over 0, got 0"):
        performance.radius_between_rows(1, [1, 2], [0, 2])


def test_performance_marks_nozzles_beyond_their_rows():
    rows = (np.array([200.0, 300.0]), np.array([250.0]), np.array([260.0, 400.0]))
    chart = Chart(
        "chart.csv", ("a", "b", "c"), np.full(3, np.nan), np.zeros(3, bool),
        np.full(3, -1), rows, rows, rows,
    )  # fmt: skip

    at = performance.performance_at(chart, 250.0)

    assert at.beyond_chart.tolist() == [False, False, True]
