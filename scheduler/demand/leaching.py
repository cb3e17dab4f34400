"""Water beyond the plants' need that keeps salt from building up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from, numbers_over
from scheduler.lines import Line

MOST_LEACHING = 1 / 3
"""Beyond this other water or other plants are the way out, not more of the same (common
practice)."""
LIGHT_LEACHING = 0.10
"""Up to this the unevenness of sprinklers washes salt down as it is (common practice:
usual losses below the roots are as large already)."""

_INSERTIONS = 60

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
        Share, 0 to 1/3; 0 where the threshold is NaN, NaN where the salinity is. [-]

    Raises
    ------
    ValueError
        If the salinity is negative, or a threshold is not over 0.

    Notes
    -----
    LR = ECw / (5 ECe - ECw), held to a third: with more, the water does not suit the
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


def leaching_beside_rain(
    salinity_ds_m: ArrayLike,
    salt_threshold_ds_m: ArrayLike,
    irrigation_mm: ArrayLike,
    rain_mm: ArrayLike,
    drained_mm: ArrayLike,
) -> NDArray[np.float64]:
    """Share of the irrigation that has to pass below the roots, where rain helps.

    Parameters
    ----------
    salinity_ds_m : array_like
        Salinity of the irrigation water, ECw. [dS/m]
    salt_threshold_ds_m : array_like
        Salinity of the soil that the plant stands without loss, ECe. [dS/m]
    irrigation_mm : array_like
        What is laid down in a year. [mm]
    rain_mm : array_like
        What falls in a year. [mm]
    drained_mm : array_like
        What of both passes below the roots in a year as it is. [mm]

    Returns
    -------
    ndarray
        Share of the irrigation with what is to be added to it, 0 to 1/3; 0 where the
        threshold is NaN or nothing is irrigated. [-]

    Raises
    ------
    ValueError
        If an argument is negative, or a threshold is not over 0.

    Notes
    -----
    Rain thins the water, s = ECw I / (I + R), and what drains washes as well. Added is
    the X for which D + X = LR(s) (I + R + X), by repeated insertion. Without rain and
    drainage X / (I + X) is ECw / (5 ECe - ECw). Salt is taken to be even in the ground
    through the year.

    References
    ----------
    FAO29, p. 26 (from memory), with rain as part of the water.

    Examples
    --------
    A winter that washes 150 mm through the roots, under 600 mm of water of 2 dS/m:

    >>> print(f"{leaching_beside_rain(2.0, 3.9, 600, 400, 150):.3f}")
    0.000
    """
    water = numbers_from("salinity_ds_m", salinity_ds_m, 0)
    soil = numbers_over("salt_threshold_ds_m", salt_threshold_ds_m, 0)
    irrigated = numbers_from("irrigation_mm", irrigation_mm, 0)
    rain = numbers_from("rain_mm", rain_mm, 0)
    drained = numbers_from("drained_mm", drained_mm, 0)
    most = irrigated * MOST_LEACHING / (1 - MOST_LEACHING)
    added = np.zeros(np.broadcast_shapes(
        water.shape, soil.shape, irrigated.shape, rain.shape, drained.shape
    ))  # fmt: skip
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(_INSERTIONS):
            salt = water * (irrigated + added)
            everything = irrigated + rain + added
            room = 5 * soil - salt / everything
            wanted = np.where(room <= 0, np.inf, salt / room) - drained
            added = np.clip(np.nan_to_num(wanted, posinf=np.inf), 0.0, most)
        share = np.where(irrigated > 0, added / (irrigated + added), 0.0)
    return np.where(np.isnan(soil), 0.0, share)


def salinity_of_soil(
    salinity_ds_m: ArrayLike,
    irrigation_mm: ArrayLike,
    rain_mm: ArrayLike,
    drained_mm: ArrayLike,
) -> NDArray[np.float64]:
    """Salinity that the soil of the roots comes to in the long run.

    Parameters
    ----------
    salinity_ds_m : array_like
        Salinity of the irrigation water, ECw. [dS/m]
    irrigation_mm : array_like
        What is laid down in a year. [mm]
    rain_mm : array_like
        What falls in a year. [mm]
    drained_mm : array_like
        What of both passes below the roots in a year. [mm]

    Returns
    -------
    ndarray
        ECe; infinite where nothing drains. [dS/m]

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    ECe = s (1 + 1 / LF) / 5: the leaching requirement solved for the soil, with
    LF = D / (I + R) and s = ECw I / (I + R).

    References
    ----------
    FAO29, p. 26 (from memory).

    Examples
    --------
    Water of 1.5 dS/m of which a fifth drains:

    >>> print(f"{salinity_of_soil(1.5, 1000, 0, 200):.2f} dS/m")
    1.80 dS/m
    """
    irrigated = numbers_from("irrigation_mm", irrigation_mm, 0)
    rain = numbers_from("rain_mm", rain_mm, 0)
    drained = numbers_from("drained_mm", drained_mm, 0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        everything = irrigated + rain
        share = drained / everything
        thinned = numbers_from("salinity_ds_m", salinity_ds_m, 0) * irrigated
        return np.asarray(thinned / everything * (1 + 1 / share) / 5)


def leaching_added(
    leaching_requirement: ArrayLike, sprinklers: ArrayLike
) -> NDArray[np.float64]:
    """Share that is added for leaching: none under sprinklers while it is light.

    Parameters
    ----------
    leaching_requirement : array_like
        Share of the water that has to pass below the roots. [-]
    sprinklers : array_like
        Whether the water falls unevenly, from heads that throw. [-]

    Returns
    -------
    ndarray
        The share, or 0. [-]

    Raises
    ------
    ValueError
        If a requirement is negative.

    Notes
    -----
    Common practice: no more water for a requirement under a tenth, since the wetter
    ground of sprinklers drains as much as it is; drip lays water down evenly.

    References
    ----------
    None: common practice.

    Examples
    --------
    >>> print(leaching_added([0.08, 0.08, 0.12], [True, False, True]))
    [0.   0.08 0.12]
    """
    share = numbers_from("leaching_requirement", leaching_requirement, 0)
    light = np.asarray(sprinklers, dtype=bool) & (share < LIGHT_LEACHING)
    return np.where(light, 0.0, share)


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
