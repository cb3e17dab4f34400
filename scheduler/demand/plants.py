"""Plant coefficients by month, and the landscape coefficient."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from
from scheduler.lines import Line

LANDSCAPE = Line(
    "landscape_coefficient",
    "plant_coefficient * microclimate_factor * density_factor",
    "UC-WUCOLS (second-hand)",
)
PLANT_NEED_DAY = Line(
    "plant_need_day", "plant_need / days_in_month", "length of the month"
)
PLANT_NEED = Line(
    "plant_need",
    "et0 * landscape_coefficient * days_in_month",
    "FAO56, eq. 58, p. 103 (from memory)",
)


def coefficients_at_latitude(
    coefficient: ArrayLike, latitude_deg: ArrayLike
) -> NDArray[np.float64]:
    """Monthly coefficients, shifted by half a year south of the equator.

    Parameters
    ----------
    coefficient : array_like
        Coefficients of northern months; the last axis is the month. [-]
    latitude_deg : array_like
        Latitude, north positive; broadcast against all axes but the last. [°]

    Returns
    -------
    ndarray
        Coefficients of the months at that latitude. [-]

    Raises
    ------
    ValueError
        If a coefficient is negative.

    Notes
    -----
    Published monthly sets are northern; July there is January in the south.

    References
    ----------
    None: common practice.

    Examples
    --------
    >>> northern = [0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0]
    >>> print(coefficients_at_latitude(northern, -35).argmax())
    0
    """
    north = numbers_from("coefficient", coefficient, 0)
    south = np.roll(north, 6, axis=-1)
    is_south = np.asarray(latitude_deg)[..., None] < 0
    return np.where(is_south, south, north)


def landscape_coefficient(
    plant_coefficient: ArrayLike,
    microclimate_factor: ArrayLike,
    density_factor: ArrayLike,
) -> NDArray[np.float64]:
    """Coefficient of a planting where it stands.

    Parameters
    ----------
    plant_coefficient : array_like
        Coefficient of the plant. [-]
    microclimate_factor : array_like
        Shade under 1, walls and paving over 1. [-]
    density_factor : array_like
        Sparse planting under 1. [-]

    Returns
    -------
    ndarray
        Product of the three, broadcast. [-]

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    KL = ks · kmc · kd.

    References
    ----------
    UC-WUCOLS (second-hand).

    Examples
    --------
    Moderate shrubs, in shade, planted thinly:

    >>> print(f"{landscape_coefficient(0.5, 0.8, 0.9):.2f}")
    0.36
    """
    return np.asarray(
        numbers_from("plant_coefficient", plant_coefficient, 0)
        * numbers_from("microclimate_factor", microclimate_factor, 0)
        * numbers_from("density_factor", density_factor, 0)
    )
