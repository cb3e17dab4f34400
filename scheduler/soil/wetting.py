"""The ground that emitters wet: how wide a bulb, and what share of the root zone."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.site import Zones
from scheduler.lines import Line

COARSE_FROM_MM_H, FINE_TO_MM_H = 0.45 * units.MM_PER_IN, 0.20 * units.MM_PER_IN
"""Intake rates from which a soil counts as coarse, and up to which as fine: the table
of bulbs knows three textures (rule of this program)."""
_DEPTHS_MM = np.array([2.5, 5.0]) * units.M_PER_FT * units.MM_PER_M
_WIDTHS_M = np.array([[1.5, 2.5], [3.0, 4.0], [3.5, 5.0]]) * units.M_PER_FT
"""Width of a bulb by texture (coarse, medium, fine) and depth of roots: NEH 623
chapter 7, uniform soil, one emitter of 1 gal/h (from memory)."""
_TABLE_FLOW_L_MIN = units.L_PER_GAL / units.MIN_PER_H
_POWER_OF_FLOW = 0.17
"""Width goes with this power of the flow (Schwartzman and Zur 1986, from memory)."""
CIRCLE = 0.7854
"""π / 4: area of a circle over the square of its width."""
STRIP_FROM = 0.8
"""Emitters as near as this share of the width wet a strip (NEH 623, from memory)."""

FILLS_OF_A_RUN = 3.0
"""A run of drip under so many fillings of its lines is uneven (common practice)."""
BERM_MM = 3.0 * units.MM_PER_IN
"""Depth to which a bubbler's basin is filled, short of its berm: 2 to 4 in (common
practice)."""
BASIN_WIDTH_M = 2.0
"""Width of a basin where plants and canopies do not tell it (rule of this program)."""
TUBE_L_M = 0.182
"""Water in a meter of the usual tube of 0.600 in inside (exact for that width)."""

WETTED_BY_COUNT = Line(
    "wetted_share",
    "min(1, emitters * 0.7854 * bulb_width ** 2 / area)",
    "geometry of circles",
)
WETTED_STRIP = Line(
    "wetted_share", "min(1, bulb_width / emitter_row_spacing)", "geometry of strips"
)
WETTED_CIRCLES = Line(
    "wetted_share",
    "min(1, 0.7854 * bulb_width ** 2 / (emitter_spacing * emitter_row_spacing))",
    "geometry of circles",
)
TABLE_OF_BULBS = "NEH 623, chapter 7 (from memory)"


def bulb_width(
    intake_mm_h: ArrayLike, root_depth_mm: ArrayLike, emitter_flow_l_min: ArrayLike
) -> NDArray[np.float64]:
    """Width of the ground that one emitter wets.

    Parameters
    ----------
    intake_mm_h : array_like
        Basic intake rate of the soil, which tells its texture. [mm/h]
    root_depth_mm : array_like
        Depth of the roots that are watered. [mm]
    emitter_flow_l_min : array_like
        Flow of the emitter. [L/min]

    Returns
    -------
    ndarray
        Width; NaN where any argument is NaN. [m]

    Raises
    ------
    ValueError
        If an argument is not over 0.

    Notes
    -----
    Between the depths of the table in a straight line, outside them as at its ends;
    for other flows than its 1 gal/h by the flow's power 0.17. For uniform soil:
    layers make bulbs wider.

    References
    ----------
    NEH 623, chapter 7, table of wetted widths (from memory).

    Examples
    --------
    An emitter of 1 gal/h on loam, roots 2.5 ft deep:

    >>> print(f"{bulb_width(8.9, 762, 3.785 / 60):.2f} m")
    0.91 m
    """
    intake = numbers_over("intake_mm_h", intake_mm_h, 0)
    depth = numbers_over("root_depth_mm", root_depth_mm, 0)
    flow = numbers_over("emitter_flow_l_min", emitter_flow_l_min, 0)
    fine = intake <= FINE_TO_MM_H * (1 + 1e-9)
    row = np.where(intake >= COARSE_FROM_MM_H, 0, np.where(fine, 2, 1))
    deep = np.clip((depth - _DEPTHS_MM[0]) / (_DEPTHS_MM[1] - _DEPTHS_MM[0]), 0.0, 1.0)
    shallow, wide = _WIDTHS_M[row, 0], _WIDTHS_M[row, 1]
    width = shallow + deep * (wide - shallow)
    found = width * (flow / _TABLE_FLOW_L_MIN) ** _POWER_OF_FLOW
    return np.asarray(np.where(np.isnan(intake), np.nan, found))


def wetted_share_by_count(
    emitters: ArrayLike, bulb_width_m: ArrayLike, area_m2: ArrayLike
) -> NDArray[np.float64]:
    """Share of the ground that so many emitters wet.

    Parameters
    ----------
    emitters : array_like
        How many there are. [-]
    bulb_width_m : array_like
        Width that one wets. [m]
    area_m2 : array_like
        Ground of the roots. [m²]

    Returns
    -------
    ndarray
        Share, 1 at most; NaN where any argument is NaN. [-]

    Raises
    ------
    ValueError
        If an argument is not over 0.

    Notes
    -----
    Circles that do not overlap: π/4 · width² each.

    References
    ----------
    None: geometry.

    Examples
    --------
    Four emitters wetting 3 ft each under a canopy of 10 ft across:

    >>> print(f"{wetted_share_by_count(4, 3.0, 78.5):.2f}")
    0.36
    """
    count = numbers_over("emitters", emitters, 0)
    width = numbers_over("bulb_width_m", bulb_width_m, 0)
    area = numbers_over("area_m2", area_m2, 0)
    return np.asarray(np.minimum(count * CIRCLE * width**2 / area, 1.0))


def wetted_share_of_grid(
    bulb_width_m: ArrayLike, spacing_m: ArrayLike, row_spacing_m: ArrayLike
) -> NDArray[np.float64]:
    """Share of the ground that emitters on lines wet.

    Parameters
    ----------
    bulb_width_m : array_like
        Width that one emitter wets. [m]
    spacing_m : array_like
        Between emitters on a line. [m]
    row_spacing_m : array_like
        Between lines. [m]

    Returns
    -------
    ndarray
        Share, 1 at most; NaN where any argument is NaN. [-]

    Raises
    ------
    ValueError
        If an argument is not over 0.

    Notes
    -----
    Emitters within 0.8 of the width wet a strip as wide as one of them; further apart
    each wets its circle.

    References
    ----------
    NEH 623, chapter 7 (from memory) for the 0.8; geometry.

    Examples
    --------
    Lines 4 ft apart, emitters that wet 3 ft every 2 ft:

    >>> print(f"{wetted_share_of_grid(3.0, 2.0, 4.0):.2f}")
    0.75
    """
    width = numbers_over("bulb_width_m", bulb_width_m, 0)
    spacing = numbers_over("spacing_m", spacing_m, 0)
    rows = numbers_over("row_spacing_m", row_spacing_m, 0)
    strip = spacing <= STRIP_FROM * width * (1 + 1e-9)
    circles = CIRCLE * width**2 / (spacing * rows)
    return np.asarray(np.minimum(np.where(strip, width / rows, circles), 1.0))


def basin_depth(
    width_m: ArrayLike, slope_percent: ArrayLike, berm_mm: ArrayLike = BERM_MM
) -> NDArray[np.float64]:
    """Mean depth of water that a bubbler's basin holds.

    Parameters
    ----------
    width_m : array_like
        Width of the basin, along the slope. [m]
    slope_percent : array_like
        Slope of the ground in it. [%]
    berm_mm : array_like
        Depth of the water at the berm, on the low side. [mm]

    Returns
    -------
    ndarray
        Depth, mean of the basin's ground; NaN where an argument is NaN. [mm]

    Raises
    ------
    ValueError
        If a width or berm is not over 0, or a slope is negative.

    Notes
    -----
    Water stands level: where the slope rises less over the width than the berm is
    deep, half of that rise is lost; else the water is a wedge.

    References
    ----------
    None: geometry.

    Examples
    --------
    A berm of 75 mm around 2 m of ground that falls by 2 %:

    >>> print(f"{basin_depth(2.0, 2.0, 75.0):.0f} mm")
    55 mm
    """
    width = numbers_over("width_m", width_m, 0)
    slope = numbers_from("slope_percent", slope_percent, 0)
    berm = numbers_over("berm_mm", berm_mm, 0)
    rise = slope / 100 * width * units.MM_PER_M
    wedge = berm**2 / (2 * np.maximum(rise, berm))
    return np.asarray(np.where(rise < berm, berm - rise / 2, wedge))


def line_fill(
    spacing_m: ArrayLike, emitter_flow_l_min: ArrayLike
) -> NDArray[np.float64]:
    """Time in which the emitters' own flow fills an empty line.

    Parameters
    ----------
    spacing_m : array_like
        Between emitters on the line. [m]
    emitter_flow_l_min : array_like
        Flow of one emitter. [L/min]

    Returns
    -------
    ndarray
        Time; NaN where an argument is NaN. [min]

    Raises
    ------
    ValueError
        If an argument is not over 0.

    Notes
    -----
    A tube of 0.600 in holds 0.182 L in a meter; each emitter has one spacing of it to
    fill. Pipes between valve and lines are not in it.

    References
    ----------
    None: geometry.

    Examples
    --------
    Emitters of 2.3 L/h every 0.3 m:

    >>> print(f"{line_fill(0.3, 2.3 / 60):.1f} min")
    1.4 min
    """
    spacing = numbers_over("spacing_m", spacing_m, 0)
    flow = numbers_over("emitter_flow_l_min", emitter_flow_l_min, 0)
    return np.asarray(TUBE_L_M * spacing / flow)


def wetted_share_of_emitters(
    zones: Zones, intake_mm_h: np.ndarray, root_depth_mm: np.ndarray
) -> NDArray[np.float64]:
    """Share of each zone's roots that its emitters wet; NaN where they are not told.

    A count of emitters on known ground stands before a grid.
    """
    width = bulb_width(intake_mm_h, root_depth_mm, zones.emitter_flow_l_min)
    counted = wetted_share_by_count(zones.emitters, width, zones.area_m2)
    grid = wetted_share_of_grid(
        width, zones.emitter_spacing_m, zones.emitter_row_spacing_m
    )
    return np.where(np.isnan(counted), grid, counted)
