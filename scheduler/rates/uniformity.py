"""How evenly water falls: the driest quarter, Christiansen's coefficient, run time."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.site import Zones
from scheduler.lines import Line

MULTIPLIER = Line(
    "run_time_multiplier", "1 / (0.4 + 0.6 * uniformity)", "IA-LQ (second-hand)"
)
COMBINED = Line(
    "uniformity", "1 - sqrt((1 - usual_uniformity) ** 2 + (1 - imbalance) ** 2)",
    "definition of spreads on their own: variances add",
)  # fmt: skip


def lower_quarter_uniformity(
    rate_mm_h: ArrayLike, area_m2: ArrayLike, group: ArrayLike, groups: int
) -> NDArray[np.float64]:
    """Distribution uniformity between pieces of ground that differ in rate.

    Parameters
    ----------
    rate_mm_h : array_like
        Rate on each piece, one axis. [mm/h]
    area_m2 : array_like
        Area of each piece. [m²]
    group : array_like
        Zone of each piece, 0 to `groups` - 1. [-]
    groups : int
        How many zones there are. [-]

    Returns
    -------
    ndarray
        Mean rate of the driest quarter of a zone's area over its mean rate; NaN for a
        zone without pieces or water, or with a NaN in one of them. [-]

    Raises
    ------
    ValueError
        If a rate is negative, or an area is not over 0.

    Notes
    -----
    The quarter is one of area: a piece on its edge is split. It takes each piece as
    evenly wetted, and so can only be an upper limit of the zone's uniformity.

    References
    ----------
    IA-LQ, the lower-quarter definition, weighted by area.

    Examples
    --------
    A quarter of the ground at 5 mm/h, the rest at 10 mm/h:

    >>> du = lower_quarter_uniformity([5, 10], [25, 75], [0, 0], 1)[0]
    >>> print(f"{du:.3f}")
    0.571
    """
    rate = numbers_from("rate_mm_h", rate_mm_h, 0)
    area = numbers_over("area_m2", area_m2, 0)
    zone = np.asarray(group, dtype=np.intp)
    unknown = np.bincount(zone, ~np.isfinite(rate * area), groups) > 0
    driest = np.bincount(zone, driest_quarter(rate, area, zone, groups) * rate, groups)
    water = np.bincount(zone, area * rate, groups)
    with np.errstate(invalid="ignore"):
        return np.where(unknown, np.nan, 4 * driest / water)


def driest_quarter(
    rate_mm_h: NDArray[np.float64],
    area_m2: NDArray[np.float64],
    group: NDArray[np.intp],
    groups: int,
) -> NDArray[np.float64]:
    """Part of each piece of ground that belongs to the driest quarter of its zone."""
    area = np.nan_to_num(area_m2)
    order = np.lexsort((rate_mm_h, group))
    area, zone = area[order], group[order]
    total = np.bincount(zone, area, groups)
    before_zone = np.concatenate([[0.0], np.cumsum(total)])[zone]
    before = np.cumsum(area) - area - before_zone
    part = np.empty(area.shape)
    part[order] = np.clip(total[zone] / 4 - before, 0, area)
    return part


def combined_uniformity(
    uniformity: ArrayLike, imbalance: ArrayLike
) -> NDArray[np.float64]:
    """Distribution uniformity of ground that two causes make uneven, each on its own.

    Parameters
    ----------
    uniformity : array_like
        Uniformity within the ground of each head, 0 to 1. [-]
    imbalance : array_like
        Uniformity between the heads, 0 to 1. [-]

    Returns
    -------
    ndarray
        Uniformity of both; NaN where either argument is NaN. [-]

    Raises
    ------
    ValueError
        If a uniformity is outside 0 to 1.

    Notes
    -----
    DU = 1 - √((1 - DU_1)² + (1 - DU_2)²): spreads that know nothing of each other add
    as squares, and 1 - DU is 1.27 standard deviations of a normal law. Not below 0,
    where a quarter of the ground gets no water.

    References
    ----------
    None: the sum of variances.

    Examples
    --------
    >>> print(f"{combined_uniformity(0.70, 0.71):.2f}")
    0.58
    """
    spread = []
    for name, value in (("uniformity", uniformity), ("imbalance", imbalance)):
        even = numbers_from(name, value, 0)
        if np.any(even > 1 + 1e-12):
            raise ValueError(f"{name} must be up to 1, got {np.nanmax(even):g}")
        spread.append(np.maximum(1 - even, 0.0))
    return np.asarray(np.maximum(1 - np.hypot(*spread), 0.0))


def lower_quarter_of_cans(rate_mm_h: ArrayLike) -> NDArray[np.float64]:
    """Distribution uniformity of the lower quarter of cans.

    Parameters
    ----------
    rate_mm_h : array_like
        What each can shows, cans along the last axis; a depth or a volume will do as
        well. [mm/h]

    Returns
    -------
    ndarray
        Mean of the driest quarter over the mean of all; NaN where a can is NaN. [-]

    Raises
    ------
    ValueError
        If a value is negative, or there are fewer than two cans, or all are dry.

    Notes
    -----
    A quarter of n cans is n/4 to the nearest whole number, a half up: 15 cans have 4,
    14 have 4 and 13 have 3.

    References
    ----------
    IA-LQ (second-hand).

    Examples
    --------
    >>> print(f"{lower_quarter_of_cans([5, 8, 9, 10, 10, 11, 13, 14]):.2f}")
    0.65
    """
    return _driest_over_mean(rate_mm_h, 4)


def lower_half_of_cans(rate_mm_h: ArrayLike) -> NDArray[np.float64]:
    """Distribution uniformity of the lower half of cans.

    Parameters
    ----------
    rate_mm_h : array_like
        What each can shows, cans along the last axis; a depth or a volume will do as
        well. [mm/h]

    Returns
    -------
    ndarray
        Mean of the drier half over the mean of all; NaN where a can is NaN. [-]

    Raises
    ------
    ValueError
        If a value is negative, or there are fewer than two cans, or all are dry.

    Notes
    -----
    Half of n cans is n/2 to the nearest whole number, a half up. The run-time
    multiplier, from the lower quarter, is near one over this.

    References
    ----------
    IA-LQ (second-hand).

    Examples
    --------
    >>> print(f"{lower_half_of_cans([5, 8, 9, 10, 10, 11, 13, 14]):.2f}")
    0.80
    """
    return _driest_over_mean(rate_mm_h, 2)


def nearest_part(cans: int, parts: int) -> int:
    """Whole number of cans nearest to one of so many parts, a half up."""
    return math.floor(cans / parts + 0.5)


def christiansen_coefficient(
    rate_mm_h: ArrayLike, area_m2: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Christiansen's coefficient of uniformity, weighted by area.

    Parameters
    ----------
    rate_mm_h : array_like
        Rate in each can or on each piece of ground, along the last axis. [mm/h]
    area_m2 : array_like, optional
        Area of each piece, broadcast against the rates; cans count alike. [m²]

    Returns
    -------
    ndarray
        Coefficient; 100 where all is even, NaN where no water falls or a rate is NaN.
        [%]

    Raises
    ------
    ValueError
        If a rate is negative, or an area is not over 0.

    Notes
    -----
    CU = 100 · (1 - Σ a·|x - m| / (m · Σ a)), m the mean by area. It counts too much
    like too little, and is below 0 where most of the water falls on little of the
    ground.

    References
    ----------
    CHRISTIANSEN (second-hand).

    Examples
    --------
    Half the ground at 8 mm/h, half at 12 mm/h:

    >>> print(f"{christiansen_coefficient([8, 12], [50, 50]):.0f} %")
    80 %
    """
    rate = np.atleast_1d(numbers_from("rate_mm_h", rate_mm_h, 0))
    area = np.broadcast_to(numbers_over("area_m2", area_m2, 0), rate.shape)
    total = area.sum(axis=-1)
    mean = np.asarray((rate * area).sum(axis=-1) / total)
    with np.errstate(invalid="ignore", divide="ignore"):
        off = (area * np.abs(rate - mean[..., None])).sum(axis=-1) / (mean * total)
    return np.asarray(100 * (1 - off))


def run_time_multiplier(uniformity: ArrayLike) -> NDArray[np.float64]:
    """How much longer a zone runs so that its drier parts get enough.

    Parameters
    ----------
    uniformity : array_like
        Distribution uniformity of the lower quarter, 0 to 1. [-]

    Returns
    -------
    ndarray
        Factor on the run time, 1 to 2.5; NaN where the argument is NaN. [-]

    Raises
    ------
    ValueError
        If a uniformity is outside 0 to 1.

    Notes
    -----
    RTM = 1/(0.4 + 0.6 DU). It waters for the drier half of the zone, not for its
    driest spot (the older rule, 1/DU), which overwaters all else; ground that gets no
    water at all is to be mended, not timed.

    References
    ----------
    IA-LQ (second-hand).

    Examples
    --------
    >>> print(f"{run_time_multiplier(0.7):.2f}")
    1.22
    """
    even = numbers_from("uniformity", uniformity, 0)
    if np.any(even > 1):
        raise ValueError(f"uniformity must be up to 1, got {np.nanmax(even):g}")
    return np.asarray(1 / (0.4 + 0.6 * even))


def held_uniformity(
    zones: Zones, usual: np.ndarray, imbalance: np.ndarray, modelled: np.ndarray
) -> NDArray[np.float64]:
    """A uniformity held down by the heads' imbalance and by a coverage model, (zone,).

    A value that is given holds for the zone with its heads, and is held to the
    imbalance; the usual one of a kind of head knows nothing of it, so both spread the
    water, each on its own.
    """
    both = combined_uniformity(usual, np.where(np.isnan(imbalance), 1.0, imbalance))
    known = np.isfinite(zones.uniformity)
    return np.fmin(np.where(known, np.fmin(usual, imbalance), both), modelled)


def _driest_over_mean(rate_mm_h: ArrayLike, parts: int) -> NDArray[np.float64]:
    rate = numbers_from("rate_mm_h", rate_mm_h, 0)
    if rate.ndim == 0 or rate.shape[-1] < 2:
        raise ValueError(f"rate_mm_h must have 2 cans or more, got {rate.size}")
    mean = rate.mean(axis=-1)
    if np.any(mean == 0):
        raise ValueError("rate_mm_h must be over 0 in some can, got 0 in all")
    cans = nearest_part(rate.shape[-1], parts)
    return np.asarray(np.sort(rate, axis=-1)[..., :cans].mean(axis=-1) / mean)
