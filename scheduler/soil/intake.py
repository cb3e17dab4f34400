"""Intake rate, allowed surface accumulation, the longest run without runoff, soak."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.domain import numbers_from, numbers_over
from scheduler.lines import Line

RUNOFF_LIMIT = Line(
    "runoff_limit", "60 * accumulation / (peak_rate - intake)", "IA-ASA (second-hand)"
)
SOAK = Line(
    "soak_to_go_in", "cycle_minutes * (peak_rate - intake) / intake", "water balance"
)


def slope_class(
    slope_percent: ArrayLike, limits_percent: ArrayLike
) -> NDArray[np.intp]:
    """Row of the slope class that a slope falls in.

    Parameters
    ----------
    slope_percent : array_like
        Slope of the ground. [%]
    limits_percent : array_like
        Upper limits of the classes but the last, rising, one axis. [%]

    Returns
    -------
    ndarray
        Class from 0; a slope at a limit belongs to the flatter class. [-]

    Raises
    ------
    ValueError
        If a slope is negative.

    Notes
    -----
    The published classes are 0-3, 4-6, 7-12 and over 12 %; a slope between two of
    them goes with the steeper.

    References
    ----------
    IA-ASA.

    Examples
    --------
    >>> print(slope_class([0, 3, 3.5, 12, 20], [3, 6, 12]))
    [0 0 1 2 3]
    """
    slope = numbers_from("slope_percent", slope_percent, 0)
    return np.searchsorted(np.asarray(limits_percent, float), slope, side="left")


def longest_run_without_runoff(
    accumulation_mm: ArrayLike, peak_rate_mm_h: ArrayLike, intake_mm_h: ArrayLike
) -> NDArray[np.float64]:
    """Longest run before water stands deeper than the ground may hold.

    Parameters
    ----------
    accumulation_mm : array_like
        Allowed surface accumulation. [mm]
    peak_rate_mm_h : array_like
        Highest precipitation rate on the ground. [mm/h]
    intake_mm_h : array_like
        Basic intake rate of the soil. [mm/h]

    Returns
    -------
    ndarray
        Minutes; infinite where the soil takes in all that falls. [min]

    Raises
    ------
    ValueError
        If the accumulation is negative, or a rate is not over 0.

    Notes
    -----
    t = 60 ASA / (PR - IR) for PR > IR. It takes the intake rate as constant, which is
    careful: dry ground takes in more at first.

    References
    ----------
    IA-ASA (second-hand).

    Examples
    --------
    Loam on flat ground under 38.1 mm/h (1.50 in/h):

    >>> print(f"{longest_run_without_runoff(7.62, 38.1, 8.89):.2f} min")
    15.65 min
    """
    accumulation = numbers_from("accumulation_mm", accumulation_mm, 0)
    excess = numbers_over("peak_rate_mm_h", peak_rate_mm_h, 0) - numbers_over(
        "intake_mm_h", intake_mm_h, 0
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        limit = units.MIN_PER_H * accumulation / excess
    return np.where(excess <= 0, np.inf, limit)


def rate_for_cycles(
    depth_mm: ArrayLike,
    accumulation_mm: ArrayLike,
    intake_mm_h: ArrayLike,
    cycles: ArrayLike,
) -> NDArray[np.float64]:
    """Highest precipitation rate that lays a depth in so many cycles without runoff.

    Parameters
    ----------
    depth_mm : array_like
        Depth of one watering. [mm]
    accumulation_mm : array_like
        Allowed surface accumulation. [mm]
    intake_mm_h : array_like
        Basic intake rate of the soil. [mm/h]
    cycles : array_like
        Number of cycles. [-]

    Returns
    -------
    ndarray
        Rate; infinite where the surface can hold the whole depth. [mm/h]

    Raises
    ------
    ValueError
        If the depth, the intake rate or the cycles are not over 0, or the
        accumulation is negative.

    Notes
    -----
    n cycles of D/n are as long as the longest run without runoff when
    PR = D IR / (D - n ASA).

    References
    ----------
    IA-ASA (second-hand), solved for the rate.

    Examples
    --------
    Half an inch on clay loam at 5 % slope, in one cycle:

    >>> print(f"{rate_for_cycles(12.7, 5.588, 5.08, 1):.2f} mm/h")
    9.07 mm/h
    """
    depth = numbers_over("depth_mm", depth_mm, 0)
    held = numbers_over("cycles", cycles, 0) * numbers_from(
        "accumulation_mm", accumulation_mm, 0
    )
    intake = numbers_over("intake_mm_h", intake_mm_h, 0)
    with np.errstate(divide="ignore"):
        rate = depth * intake / np.maximum(depth - held, 0)
    return np.asarray(rate)


def soak_to_go_in(
    cycle_min: ArrayLike, peak_rate_mm_h: ArrayLike, intake_mm_h: ArrayLike
) -> NDArray[np.float64]:
    """Time for what stands on the surface after a cycle to go in.

    Parameters
    ----------
    cycle_min : array_like
        Length of the cycle. [min]
    peak_rate_mm_h : array_like
        Highest precipitation rate on the ground. [mm/h]
    intake_mm_h : array_like
        Basic intake rate of the soil. [mm/h]

    Returns
    -------
    ndarray
        Minutes; 0 where the soil takes in all that falls. [min]

    Raises
    ------
    ValueError
        If the cycle is negative, or a rate is not over 0.

    Notes
    -----
    After c minutes (PR - IR) c / 60 stands on the surface, and goes in at IR.

    References
    ----------
    None: water balance.

    Examples
    --------
    Ten minutes at three times the intake rate leave twenty minutes' worth:

    >>> print(f"{soak_to_go_in(10, 30, 10):.0f} min")
    20 min
    """
    cycle = numbers_from("cycle_min", cycle_min, 0)
    intake = numbers_over("intake_mm_h", intake_mm_h, 0)
    excess = numbers_over("peak_rate_mm_h", peak_rate_mm_h, 0) - intake
    return np.asarray(cycle * np.maximum(excess, 0) / intake)
