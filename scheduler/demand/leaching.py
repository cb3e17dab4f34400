"""Water beyond the plants' need that keeps salt from building up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from, numbers_over
from scheduler.lines import Line

MOST_LEACHING = 0.5
"""Beyond this the water does not suit the plant, and no run time mends it."""

LEACHING = Line(
    "leaching_requirement",
    "salinity / (5 * salt_threshold - salinity)",
    "FAO29, p. 26 (from memory)",
)
GROSS_NEED = Line("gross_need", "event_need * run_time_multiplier", "definition")
GROSS_NEED_LEACHED = Line(
    "gross_need",
    "event_need * run_time_multiplier / (1 - leaching_requirement)",
    "FAO29, p. 26 (from memory)",
)


def leaching_requirement(
    salinity_ds_m: ArrayLike, salt_threshold_ds_m: ArrayLike
) -> NDArray[np.float64]:
    """Share of the water that has to pass below the roots.

    Parameters
    ----------
    salinity_ds_m : array_like
        Salinity of the irrigation water, ECw. [dS/m]
    salt_threshold_ds_m : array_like
        Salinity of the soil that the plant stands without loss, ECe. [dS/m]

    Returns
    -------
    ndarray
        Share, 0 to 0.5; 0 where the threshold is NaN, NaN where the salinity is. [-]

    Raises
    ------
    ValueError
        If the salinity is negative, or a threshold is not over 0.

    Notes
    -----
    LR = ECw / (5 ECe - ECw), held to 0.5: with more, the water does not suit the
    plant. The caution `salinity-high` says so.

    References
    ----------
    FAO29, p. 26 (from memory).

    Examples
    --------
    Water of 1 dS/m on a plant that stands 2 dS/m:

    >>> print(f"{leaching_requirement(1.0, 2.0):.3f}")
    0.111
    """
    water = numbers_from("salinity_ds_m", salinity_ds_m, 0)
    soil = numbers_over("salt_threshold_ds_m", salt_threshold_ds_m, 0)
    room = 5 * soil - water
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(room <= 0, np.inf, water / room)
    share = np.minimum(share, MOST_LEACHING)
    return np.where(np.isnan(soil), 0.0, share)


def gross_factor(
    run_time_multiplier: ArrayLike, leaching_requirement: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Water to lay down for a unit of what the driest quarter is to keep.

    Parameters
    ----------
    run_time_multiplier : array_like
        Factor for the ground that gets least. [-]
    leaching_requirement : array_like
        Share of the water that has to pass below the roots, under 1. [-]

    Returns
    -------
    ndarray
        Factor; NaN where either argument is NaN. [-]

    Raises
    ------
    ValueError
        If the multiplier is negative, or the requirement not from 0 to under 1.

    Notes
    -----
    Gross = net · multiplier / (1 - LR): a share LR of all that goes in passes below
    the roots, so 1 - LR of it is left to the plants.

    References
    ----------
    FAO29, p. 26 (from memory).

    Examples
    --------
    A fifth more for uniformity, and a tenth of the water to wash salt down:

    >>> print(f"{gross_factor(1.2, 0.1):.3f}")
    1.333
    """
    multiplier = numbers_from("run_time_multiplier", run_time_multiplier, 0)
    share = numbers_from("leaching_requirement", leaching_requirement, 0)
    if np.any(share >= 1):
        raise ValueError(
            f"leaching_requirement must be under 1, got {np.nanmax(share):g}"
        )
    return np.asarray(multiplier / (1 - share))
