"""Wind on the throw: water drifts downwind and the throw narrows across the wind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.domain import numbers_from

SHIFT_S_M = 0.02 / units.M_S_PER_MPH
"""Drift over the distance thrown, for each m/s: 2 % a mile an hour (from memory)."""
NARROWED_S_M = 0.02 / units.M_S_PER_MPH
"""Width of the throw lost, for each m/s: as the trade's spacing table, which lets heads
stand 55 % of the diameter apart in 0 to 3 mph and 45 % in 8 to 12 mph (second-hand):
18 % less for 8.5 mph more."""


@dataclass(frozen=True, slots=True)
class Wind:
    """Steady wind while watering; it comes from a direction, clockwise from north."""

    speed_m_s: float
    from_deg: float

    @property
    def shift(self) -> float:
        """Drift downwind over the distance thrown."""
        return SHIFT_S_M * self.speed_m_s

    @property
    def left_across(self) -> float:
        """What is left of the width of the throw across the wind."""
        return 1 - NARROWED_S_M * self.speed_m_s

    def unblown(
        self, east_m: np.ndarray, north_m: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Where the water of places would fall in still air, and how it thins there.

        Places are seen from the head that throws it. Third: weight on the water.
        """
        toward = np.radians(self.from_deg + 180)
        along_east, along_north = np.sin(toward), np.cos(toward)
        along = east_m * along_east + north_m * along_north
        across = (east_m * along_north - north_m * along_east) / self.left_across
        before = still_distance_along(along, across, self.shift)
        thrown = np.sqrt(before**2 + across**2)
        ahead = np.divide(before, thrown, out=np.zeros(thrown.shape), where=thrown > 0)
        return (
            before * along_east + across * along_north,
            before * along_north - across * along_east,
            1 / (1 + self.shift * ahead),
        )


def still_distance_along(
    along_m: ArrayLike, across_m: ArrayLike, shift: ArrayLike
) -> NDArray[np.float64]:
    """How far along the wind the water of a place would have fallen in still air.

    Parameters
    ----------
    along_m : array_like
        Distance from the head to the place, downwind. [m]
    across_m : array_like
        Distance across the wind, in still air. [m]
    shift : array_like
        Drift downwind over the distance thrown, 0 up to under 1. [-]

    Returns
    -------
    ndarray
        Distance downwind of the head in still air; NaN where an argument is NaN. [m]

    Raises
    ------
    ValueError
        If a shift is negative, or not under 1.

    Notes
    -----
    Water thrown to a distance r drifts by s · r, for it flies the longer the farther it
    is thrown: x = x0 + s · √(x0² + y²), solved for x0. So a throw R reaches (1 + s) R
    downwind and (1 - s) R upwind.

    References
    ----------
    RICHARDS93 (from memory): drift that grows with the distance thrown.

    Examples
    --------
    Water that lies 12 m downwind of its head, at a drift of a fifth:

    >>> print(f"{still_distance_along(12, 0, 0.2):.1f} m")
    10.0 m
    """
    drift = numbers_from("shift", shift, 0)
    if np.any(drift >= 1):
        raise ValueError(f"shift must be under 1, got {np.nanmax(drift):g}")
    along, across = (np.asarray(v, dtype=np.float64) for v in (along_m, across_m))
    left = 1 - drift**2
    return np.asarray((along - drift * np.sqrt(along**2 + left * across**2)) / left)
