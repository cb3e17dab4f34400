"""The root zone as a store: how much it holds, how much may be used, how long."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.domain import numbers_from, numbers_over, shares
from scheduler.inputs.library import HeadKinds, Plants, Soils
from scheduler.inputs.site import Zones
from scheduler.lines import HOUSE_RULE, Line
from scheduler.soil.wetting import wetted_share_of_emitters

STORE_LET_PASS = 1.1
"""The store is an estimate, so a tenth over the allowed depletion is let pass."""

TOTAL_AVAILABLE_WATER = Line(
    "total_available_water",
    "available_water / 1000 * root_depth * wetted_share",
    "FAO56, eq. 82, p. 162",
    "available_water * root_depth * wetted_share",
)
ALLOWED_DEPLETION = Line(
    "allowed_depletion", "total_available_water * depletion", "FAO56, eq. 83, p. 162"
)
CARRIED = Line("event_need", "net_need + carried_in", "water balance of the store")
STORE_LASTS = Line(
    "store_lasts",
    "1.1 * allowed_depletion / plant_need_day",
    f"FAO56, eq. 83, p. 162; the tenth over: {HOUSE_RULE}",
)


@dataclass(frozen=True, slots=True, eq=False)
class RootZones:
    """The root zone of each zone, (zone,)."""

    root_depth_mm: np.ndarray
    wetted_share: np.ndarray
    available_water_mm_m: np.ndarray
    depletion: np.ndarray
    total_available_water_mm: np.ndarray
    allowed_depletion_mm: np.ndarray


def total_available_water(
    available_water_mm_m: ArrayLike,
    root_depth_mm: ArrayLike,
    wetted_share: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Depth of water that the root zone holds for plants.

    Parameters
    ----------
    available_water_mm_m : array_like
        Water between field capacity and wilting point. [mm/m]
    root_depth_mm : array_like
        Depth of the roots that are watered. [mm]
    wetted_share : array_like
        Share of the root zone that gets wet, over 0 and up to 1. [-]

    Returns
    -------
    ndarray
        Depth of water; NaN where any argument is NaN. [mm]

    Raises
    ------
    ValueError
        If the water or a depth is not over 0, or a share not over 0 and up to 1.

    Notes
    -----
    TAW = 1000 (FC - WP) Zr, times the share of the root zone that emitters wet.

    References
    ----------
    FAO56, eq. 82, p. 162.

    Examples
    --------
    Silt of 170 mm/m under onions rooted 0.4 m deep (FAO56, example 36):

    >>> print(f"{total_available_water(170, 400):.0f} mm")
    68 mm
    """
    water = numbers_over("available_water_mm_m", available_water_mm_m, 0)
    depth = numbers_over("root_depth_mm", root_depth_mm, 0)
    return np.asarray(
        water * depth / units.MM_PER_M * shares("wetted_share", wetted_share)
    )


def allowed_depletion(
    total_available_water_mm: ArrayLike, depletion: ArrayLike
) -> NDArray[np.float64]:
    """Depth of water that plants may use up before the next watering.

    Parameters
    ----------
    total_available_water_mm : array_like
        Depth of water that the root zone holds. [mm]
    depletion : array_like
        Share of it that may be used up, over 0 and up to 1. [-]

    Returns
    -------
    ndarray
        Depth of water; NaN where either argument is NaN. [mm]

    Raises
    ------
    ValueError
        If the water is negative, or a share not over 0 and up to 1.

    Notes
    -----
    RAW = p TAW.

    References
    ----------
    FAO56, eq. 83, p. 162.

    Examples
    --------
    Silt under onions, p = 0.30 (FAO56, example 36):

    >>> print(f"{allowed_depletion(68, 0.30):.0f} mm")
    20 mm
    """
    water = numbers_from("total_available_water_mm", total_available_water_mm, 0)
    return np.asarray(water * shares("depletion", depletion))


def carry_small_needs(
    net_need_mm: np.ndarray, allowed_depletion_mm: np.ndarray, month_axis: int = -1
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Months that the store carries, and what each month has to make up for.

    Parameters
    ----------
    net_need_mm : array_like
        Net need of each month or other period, around the year. [mm]
    allowed_depletion_mm : array_like
        Water that plants may use up; broadcast against the need. [mm]
    month_axis : int
        Axis of the months. [-]

    Returns
    -------
    tuple of ndarray
        Whether the store carries the month; and the need of the month before, where
        that one was carried and this one is not. [mm]

    Raises
    ------
    ValueError
        If a need is negative.

    Notes
    -----
    A month is carried when its net need is under half the allowed depletion and a
    month next to it, around the year, needs nothing. The month after it pays.

    References
    ----------
    None: rule of this program.

    Examples
    --------
    A store of 20 mm carries the 8 mm of April, and May pays for it:

    >>> need = np.array([0, 0, 0, 8, 60, 90, 90, 80, 50, 20, 0, 0.0])
    >>> carried, carried_in = carry_small_needs(need, np.array(20.0))
    >>> print(carried.nonzero()[0] + 1, f"{carried_in[4]:.0f} mm")
    [4] 8 mm
    """
    net = numbers_from("net_need_mm", net_need_mm, 0)
    nothing = net == 0
    place = np.arange(net.shape[month_axis])
    before, after = np.roll(place, 1), np.roll(place, -1)
    beside = nothing.take(before, month_axis) | nothing.take(after, month_axis)
    carried = (net < allowed_depletion_mm / 2) & ~nothing & beside
    carried_in = (net * carried).take(before, month_axis)
    return carried, carried_in * ~carried


def root_zones(
    zones: Zones, plants: Plants, soils: Soils, kinds: HeadKinds
) -> RootZones:
    """Root zones of a site; what zones.csv leaves blank is the plant's or usual."""
    depth = np.where(
        np.isnan(zones.root_depth_mm),
        plants.root_depth_mm[zones.plant],
        zones.root_depth_mm,
    )
    emitted = wetted_share_of_emitters(zones, soils.intake_mm_h[zones.soil], depth)
    usual = np.where(
        np.isnan(emitted) | ~kinds.drips[zones.head_kind],
        kinds.wetted_share[zones.head_kind],
        emitted,
    )
    wetted = np.where(np.isnan(zones.wetted_share), usual, zones.wetted_share)
    share = np.where(
        np.isnan(zones.depletion), plants.depletion[zones.plant], zones.depletion
    )
    available = soils.available_water_mm_m[zones.soil]
    total = total_available_water(available, depth, wetted)
    return RootZones(
        depth, wetted, available, share, total, allowed_depletion(total, share)
    )
