"""What a nozzle gives at a pressure that its chart does not print."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.chart import Chart


@dataclass(frozen=True, slots=True, eq=False)
class Performance:
    """Nozzles of a chart at one pressure, (nozzle,); a throw is NaN where not given.

    `beyond_chart` marks those whose rows do not reach to the pressure.
    """

    flow_l_min: np.ndarray
    radius_m: np.ndarray
    beyond_chart: np.ndarray


def flow_between_rows(
    pressure_kpa: ArrayLike, row_pressure_kpa: ArrayLike, row_flow_l_min: ArrayLike
) -> NDArray[np.float64]:
    """Flow of a nozzle at a pressure between or beyond the rows of its chart.

    Parameters
    ----------
    pressure_kpa : array_like
        Pressure at the head. [kPa]
    row_pressure_kpa : array_like
        Pressures of the chart's rows, rising, one axis. [kPa]
    row_flow_l_min : array_like
        Flow of each row. [L/min]

    Returns
    -------
    ndarray
        Flow, in the shape of `pressure_kpa`; NaN where that is NaN. [L/min]

    Raises
    ------
    ValueError
        If a pressure is not over 0, or a flow is negative.

    Notes
    -----
    Straight in √P between two rows, which is the orifice law wherever the rows keep to
    it. Beyond the rows the orifice law from the nearest: q = q_row · √(P / P_row).

    References
    ----------
    orifice law (from memory).

    Examples
    --------
    Rows of 10 L/min at 225 kPa and 12 L/min at 324 kPa (√P of 15 and 18), at 256 kPa:

    >>> print(f"{flow_between_rows(256, [225, 324], [10, 12]):.2f} L/min")
    10.67 L/min
    """
    root = np.sqrt(numbers_over("pressure_kpa", pressure_kpa, 0))
    row_root = np.sqrt(numbers_over("row_pressure_kpa", row_pressure_kpa, 0))
    row_flow = numbers_from("row_flow_l_min", row_flow_l_min, 0)
    between = np.interp(root, row_root, row_flow)
    scale = np.maximum(root / row_root[-1], 1) * np.minimum(root / row_root[0], 1)
    return np.asarray(between * scale)


def radius_between_rows(
    pressure_kpa: ArrayLike, row_pressure_kpa: ArrayLike, row_radius_m: ArrayLike
) -> NDArray[np.float64]:
    """Throw of a nozzle at a pressure between or beyond the rows of its chart.

    Parameters
    ----------
    pressure_kpa : array_like
        Pressure at the head. [kPa]
    row_pressure_kpa : array_like
        Pressures of the chart's rows, rising, one axis. [kPa]
    row_radius_m : array_like
        Throw of each row; NaN where the chart gives none. [m]

    Returns
    -------
    ndarray
        Throw, in the shape of `pressure_kpa`; NaN where that or every row is NaN. [m]

    Raises
    ------
    ValueError
        If a pressure or a throw is not over 0.

    Notes
    -----
    Straight between rows. Above the last row its throw is held: more pressure makes
    mist, not throw. Below the first row the line of the lowest two goes on downward,
    never under half the first row's throw; one row alone is held.

    References
    ----------
    common practice.

    Examples
    --------
    Rows of 10 m at 200 kPa and 11 m at 300 kPa:

    >>> print(f"{radius_between_rows(250, [200, 300], [10, 11]):.1f} m")
    10.5 m
    """
    pressure = numbers_over("pressure_kpa", pressure_kpa, 0)
    rows = numbers_over("row_pressure_kpa", row_pressure_kpa, 0)
    radius = numbers_over("row_radius_m", row_radius_m, 0)
    given = np.isfinite(radius)
    if not given.any():
        return np.full(pressure.shape, np.nan)
    rows, radius = rows[given], radius[given]
    throw = np.interp(pressure, rows, radius)
    if len(rows) == 1:
        return np.asarray(throw)
    slope = max((radius[1] - radius[0]) / (rows[1] - rows[0]), 0.0)
    below = np.maximum(radius[0] - slope * (rows[0] - pressure), radius[0] / 2)
    return np.asarray(np.where(pressure < rows[0], below, throw))


def performance_at(chart: Chart, pressure_kpa: float) -> Performance:
    """Flow and throw of every nozzle of a chart at a pressure."""
    within = 1e-6
    return Performance(
        np.array([
            float(flow_between_rows(pressure_kpa, rows, flow))
            for rows, flow in zip(chart.pressure_kpa, chart.flow_l_min, strict=True)
        ]),
        np.array([
            float(radius_between_rows(pressure_kpa, rows, radius))
            for rows, radius in zip(chart.pressure_kpa, chart.radius_m, strict=True)
        ]),
        np.array([
            not rows[0] * (1 - within) <= pressure_kpa <= rows[-1] * (1 + within)
            for rows in chart.pressure_kpa
        ]),
    )  # fmt: skip
