"""One day of the ground: water, rain, drainage, then what plants take."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.lines import HOUSE_RULE, Line
from scheduler.soil.storage import STORE_LET_PASS

QUARTERS = 4
DRIEST = 0
"""Row of the quarter that gets least water."""
WETTER = slice(1, QUARTERS)
"""The three wetter quarters, which a plan keeps from going dry."""
QUARTER_STEP = 0.2554
"""Mean of the second quarter of a normal law over that of the lowest, from the middle:
0.3247 / 1.2711 (exact to four digits; tests compare with scipy)."""
DORMANT_SHARE = 0.3
"""Share of the need that dormant plants draw in a month of frost (from memory)."""

NEED_TODAY = Line(
    "need_today", "et0_today * landscape_coefficient", "FAO56, eq. 56 (from memory)"
)
NEED_DORMANT = Line("need_today", "0.3 * et0_today * landscape_coefficient", HOUSE_RULE)
WATERED_MEAN = Line(
    "watered_mean", "minutes_today * rate / 60", "definition of the rate"
)
DEPTH_OF_QUARTER = (
    Line("quarter_share", "uniformity", "definition of uniformity"),
    Line("quarter_share", "1 - 0.2554 * (1 - uniformity)", HOUSE_RULE),
    Line("quarter_share", "1 + 0.2554 * (1 - uniformity)", HOUSE_RULE),
    Line("quarter_share", "2 - uniformity", HOUSE_RULE),
)
"""Depth on a quarter over the mean, driest first."""
WATERED = Line("watered", "watered_mean * quarter_share", HOUSE_RULE)
REFILLED = Line(
    "refilled",
    "max(0, start_depletion - watered - rain_today)",
    "FAO56, eq. 85, p. 170",
)
DRAINED = Line(
    "drained",
    "max(0, watered + rain_today - start_depletion)",
    "FAO56, eq. 88, p. 171; drained before plants drink, as in example 38",
)
STRESS = Line(
    "stress",
    "min(1, (total_available_water - refilled)"
    " / (total_available_water - allowed_depletion))",
    "FAO56, eq. 84, p. 169",
)
TAKEN = Line(
    "taken",
    "min(need_today * stress, total_available_water - refilled)",
    "FAO56, eq. 81, p. 161",
)
END = Line("end_depletion", "refilled + taken", "FAO56, eq. 85, p. 170")
ASKED = Line("asked_depletion", "refilled + need_today", HOUSE_RULE)
DRY_OVER = Line("dry_over", "1.1 * max(allowed_depletion, need_today)", HOUSE_RULE)


@dataclass(frozen=True, slots=True, eq=False)
class Day:
    """How a day ends; all arrays of one shape, mm but for `stress`.

    `refilled_mm` is the depletion after water and rain, before plants drink.
    """

    refilled_mm: np.ndarray
    drained_mm: np.ndarray
    stress: np.ndarray
    et_mm: np.ndarray
    depletion_mm: np.ndarray


def quarter_depths(uniformity: ArrayLike) -> NDArray[np.float64]:
    """Depth of water on each quarter of the ground over the mean, driest first.

    Parameters
    ----------
    uniformity : array_like
        Lower-quarter distribution uniformity.

    Returns
    -------
    ndarray
        One axis of four more than `uniformity`; the four make 4.

    Raises
    ------
    ValueError
        If a uniformity is not from 0 to 1.

    Notes
    -----
    Quarter means of a normal law whose lowest quarter has the mean `uniformity`.

    References
    ----------
    None: follows from the normal law.

    Examples
    --------
    Rotors of DU 0.7:

    >>> print([f"{share:.2f}" for share in quarter_depths(0.7)])
    ['0.70', '0.92', '1.08', '1.30']
    """
    lowest = np.asarray(uniformity, dtype=np.float64)
    if np.any((lowest < 0) | (lowest > 1)):
        raise ValueError("uniformity must be from 0 to 1")
    short = 1 - lowest
    steps = np.array([-1.0, -QUARTER_STEP, QUARTER_STEP, 1.0])
    return 1 + short[..., None] * steps


def dry_limit(
    allowed_depletion_mm: ArrayLike, need_mm: ArrayLike
) -> NDArray[np.float64]:
    """Depletion over which a quarter counts as dry, its day's need drawn in full.

    Parameters
    ----------
    allowed_depletion_mm, need_mm : array_like
        Allowed depletion, and the day's need; broadcast. [mm]

    Returns
    -------
    ndarray
        The larger of the two and a tenth, for the store is an estimate. [mm]

    Raises
    ------
    ValueError
        Never: any number is taken.

    Notes
    -----
    A store under one day's need is never refilled more than once a day: such a quarter
    is dry on each day that does not begin nearly full. What counts is the depletion
    after water and rain and the whole need on top, not what plants can still draw, for
    a store that is empty ends no day below its bottom.

    References
    ----------
    None: a rule of this program.

    Examples
    --------
    Half an inch of store:

    >>> print(f"{dry_limit(12.7, 5.0):.2f} mm")
    13.97 mm
    """
    return np.asarray(STORE_LET_PASS * np.maximum(allowed_depletion_mm, need_mm))


def played_day(
    depletion_mm: np.ndarray,
    water_mm: np.ndarray,
    rain_mm: np.ndarray,
    need_mm: np.ndarray,
    total_available_water_mm: np.ndarray,
    allowed_depletion_mm: np.ndarray,
) -> Day:
    """One day in the terms of FAO-56, from how the day before ended.

    Water early in the day and rain first, then what passes field capacity drains, then
    plants take their need, less where the ground is drier than the allowed depletion
    (eq. 84). Examples 37 and 38 have that order; equation 88, taken to the letter,
    would let plants drink what drains. Arguments broadcast. [mm]
    """
    after = depletion_mm - water_mm - rain_mm
    refilled = np.maximum(after, 0.0)
    spare = total_available_water_mm - allowed_depletion_mm
    stress = np.minimum((total_available_water_mm - refilled) / spare, 1.0)
    taken = np.minimum(need_mm * stress, total_available_water_mm - refilled)
    return Day(refilled, refilled - after, stress, taken, refilled + taken)
