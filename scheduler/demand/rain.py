"""Effective rain: how much of a month's rain plants get to use."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from, shares
from scheduler.lines import COMMON_PRACTICE, Line
from scheduler.units import MM_PER_IN

LEAST_STORAGE_IN, MOST_STORAGE_IN = 0.75, 7.0
"""Range of the printed table of storage factors."""

# TR-21's own constants, in inches.
_RAIN_FACTOR, _RAIN_POWER, _RAIN_LESS = 0.70917, 0.82416, 0.11556
_NEED_POWER_OF_10 = 0.02426
_STORAGE_POLYNOMIAL = (0.531747, 0.295164, -0.057697, 0.003804)

STORAGE_IN = Line(
    "storage_in",
    "min(max(allowed_depletion / 25.4, 0.75), 7)",
    "TR21: range of the printed table",
    "min(max(allowed_depletion, 0.75), 7)",
)
STORAGE_FACTOR = Line(
    "storage_factor",
    "0.531747 + 0.295164 * storage_in - 0.057697 * storage_in ** 2 "
    "+ 0.003804 * storage_in ** 3",
    "TR21, NEH 623 eq. 2-85 (second-hand)",
)
RAIN_TR21 = Line(
    "usable_rain",
    "storage_factor * (1.252496 * rain ** 0.82416 - 2.935224) "
    "* 10 ** (0.000955118 * plant_need)",
    "TR21, NEH 623 eq. 2-84 (second-hand)",
    "storage_factor * (0.70917 * rain ** 0.82416 - 0.11556) "
    "* 10 ** (0.02426 * plant_need)",
)
RAIN_SHARE = Line("usable_rain", "rain_share * rain", COMMON_PRACTICE)
NET_NEED = Line("net_need", "plant_need - effective_rain", "water balance")
RAIN_COUNTED = Line(
    "effective_rain",
    "max(0, min(usable_rain, rain, plant_need))",
    "never above rain or need, never below 0",
)


def storage_factor(storage_mm: ArrayLike) -> NDArray[np.float64]:
    """Factor of effective rain for the water that the root zone can take up.

    Parameters
    ----------
    storage_mm : array_like
        Usable storage, here the allowed depletion. [mm]

    Returns
    -------
    ndarray
        Factor; NaN where the argument is NaN. [-]

    Raises
    ------
    ValueError
        If a storage is negative.

    Notes
    -----
    SF = 0.531747 + 0.295164 D - 0.057697 D² + 0.003804 D³ with D in inches, held to
    the printed table's range of 0.75 to 7 in.

    References
    ----------
    TR21, NEH 623 eq. 2-85 (second-hand).

    Examples
    --------
    Three inches, the storage that the printed rain table is for:

    >>> print(f"{storage_factor(76.2):.3f}")
    1.001
    """
    storage_in = np.clip(
        numbers_from("storage_mm", storage_mm, 0) / MM_PER_IN,
        LEAST_STORAGE_IN,
        MOST_STORAGE_IN,
    )
    a, b, c, d = _STORAGE_POLYNOMIAL
    return np.asarray(a + storage_in * (b + storage_in * (c + storage_in * d)))


def rain_term(rain_mm: ArrayLike) -> NDArray[np.float64]:
    """Part of TR-21 that hangs on rain alone, for a storage factor of 1 and no need.

    Parameters
    ----------
    rain_mm : array_like
        Rain of the month. [mm]

    Returns
    -------
    ndarray
        Depth; below 0 for a very dry month. [mm]

    Raises
    ------
    ValueError
        If rain is negative.

    Notes
    -----
    0.70917 P^0.82416 - 0.11556 in inches: the power belongs to P alone.

    References
    ----------
    TR21, NEH 623 eq. 2-84 (second-hand).

    Examples
    --------
    >>> print(f"{rain_term(25.4):.2f} mm")
    15.08 mm
    """
    rain_in = numbers_from("rain_mm", rain_mm, 0) / MM_PER_IN
    return np.asarray((_RAIN_FACTOR * rain_in**_RAIN_POWER - _RAIN_LESS) * MM_PER_IN)


def effective_rain_tr21(
    rain_mm: ArrayLike, plant_need_mm: ArrayLike, storage_mm: ArrayLike
) -> NDArray[np.float64]:
    """Share of a month's rain that plants use, after SCS Technical Release 21.

    Parameters
    ----------
    rain_mm : array_like
        Rain of the month. [mm]
    plant_need_mm : array_like
        Water that plants need in the month. [mm]
    storage_mm : array_like
        Usable storage of the root zone. [mm]

    Returns
    -------
    ndarray
        Effective rain of the month; NaN where any argument is NaN. [mm]

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    Pe = SF (0.70917 P^0.82416 - 0.11556) 10^(0.02426 ETc) in inches, never above rain
    or need, never below 0. It was fitted to monthly totals at 22 stations; storms and
    slopes are not in it.

    References
    ----------
    TR21, NEH 623 eq. 2-84 and 2-85 (second-hand).

    Examples
    --------
    Two inches of rain, four of need, three of storage:

    >>> print(f"{effective_rain_tr21(50.8, 101.6, 76.2) / 25.4:.3f} in")
    1.426 in
    """
    need = numbers_from("plant_need_mm", plant_need_mm, 0)
    rain = numbers_from("rain_mm", rain_mm, 0)
    usable = storage_factor(storage_mm) * rain_term(rain) * need_term(need)
    return np.maximum(0, np.minimum(np.minimum(usable, rain), need))


def need_term(plant_need_mm: ArrayLike) -> NDArray[np.float64]:
    """Factor of TR-21 for the month's need: thirsty plants use more of the rain.

    Parameters
    ----------
    plant_need_mm : array_like
        Water that plants need in the month. [mm]

    Returns
    -------
    ndarray
        Factor, 1 or more. [-]

    Raises
    ------
    ValueError
        If a need is negative.

    Notes
    -----
    10^(0.02426 ETc) with ETc in inches.

    References
    ----------
    TR21, NEH 623 eq. 2-84 (second-hand).

    Examples
    --------
    >>> print(f"{need_term(101.6):.3f}")
    1.250
    """
    need = numbers_from("plant_need_mm", plant_need_mm, 0)
    return np.asarray(np.exp(need * (np.log(10) * _NEED_POWER_OF_10 / MM_PER_IN)))


def effective_rain_share(
    rain_mm: ArrayLike, plant_need_mm: ArrayLike, share: ArrayLike
) -> NDArray[np.float64]:
    """Stated share of a month's rain, never above the need.

    Parameters
    ----------
    rain_mm : array_like
        Rain of the month. [mm]
    plant_need_mm : array_like
        Water that plants need in the month. [mm]
    share : array_like
        Share of rain that is counted, over 0 and up to 1. [-]

    Returns
    -------
    ndarray
        Effective rain of the month; NaN where any argument is NaN. [mm]

    Raises
    ------
    ValueError
        If rain or need is negative, or the share not over 0 and up to 1.

    Notes
    -----
    Half of the rain is the usual share in landscapes.

    References
    ----------
    None: common practice.

    Examples
    --------
    >>> print(f"{effective_rain_share(40, 15, 0.5):.0f} mm")
    15 mm
    """
    rain = numbers_from("rain_mm", rain_mm, 0)
    need = numbers_from("plant_need_mm", plant_need_mm, 0)
    return np.minimum(rain * shares("share", share), need)
