"""Irrigation that runs off where cycles are longer than the ground takes in."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from, numbers_over
from scheduler.units import MIN_PER_H


def runoff_of_cycles(
    cycles: ArrayLike,
    cycle_min: ArrayLike,
    soak_min: ArrayLike,
    rate_mm_h: ArrayLike,
    intake_mm_h: ArrayLike,
    accumulation_mm: ArrayLike,
) -> NDArray[np.float64]:
    """Depth that runs off in one watering, cycle by cycle.

    Parameters
    ----------
    cycles : array_like
        Cycles of the watering; 0 gives 0. All arguments broadcast. [-]
    cycle_min : array_like
        Length of a cycle. [min]
    soak_min : array_like
        Pause between two cycles. [min]
    rate_mm_h : array_like
        Precipitation rate on the ground. [mm/h]
    intake_mm_h : array_like
        Basic intake rate of the soil. [mm/h]
    accumulation_mm : array_like
        Depth that the surface may hold. [mm]

    Returns
    -------
    ndarray
        Depth of runoff. [mm]

    Raises
    ------
    ValueError
        If a number is negative, or the intake rate is not over 0.

    Notes
    -----
    A cycle adds (PR - IR) t to what stands on the surface; what stands deeper than
    the surface may hold runs off, and in the pause IR t of it goes in. The surface is
    bare of water when the watering begins.

    References
    ----------
    None: water balance.

    Examples
    --------
    An hour of 20 mm/h on soil that takes in 10, with 4 mm allowed to stand:

    >>> print(f"{runoff_of_cycles(1, 60, 0, 20, 10, 4):.1f} mm")
    6.0 mm
    """
    turns = numbers_from("cycles", cycles, 0)
    run = numbers_from("cycle_min", cycle_min, 0) / MIN_PER_H
    pause = numbers_from("soak_min", soak_min, 0) / MIN_PER_H
    intake = numbers_over("intake_mm_h", intake_mm_h, 0)
    held = numbers_from("accumulation_mm", accumulation_mm, 0)
    excess = (numbers_from("rate_mm_h", rate_mm_h, 0) - intake) * run
    shape = np.broadcast_shapes(
        turns.shape, excess.shape, pause.shape, intake.shape, held.shape
    )
    standing, lost = np.zeros(shape), np.zeros(shape)
    for turn in range(int(np.max(turns, initial=0))):
        on = turn < turns
        standing = np.maximum(standing + excess * on, 0.0)
        over = np.maximum(standing - held, 0.0)
        lost += over
        standing = np.maximum(standing - over - intake * pause, 0.0)
    return lost
