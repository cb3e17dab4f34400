"""How heads spread their water: profiles along the throw, arcs, and cells of a grid."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.domain import numbers_from
from scheduler.inputs.site import Heads
from scheduler.rates.coverage.ground import Grid, Inside
from scheduler.rates.coverage.wind import Wind

Profile = Callable[[ArrayLike], NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class Spray:
    """How one head spreads its water."""

    profile: Profile
    radius_m: float
    arc_deg: float
    facing_deg: float
    wind: Wind | None = None

    @property
    def reach_m(self) -> float:
        """How far from the head water may fall."""
        return self.radius_m * (1 if self.wind is None else 1 + self.wind.shift)

    def weight(
        self, east_m: np.ndarray, north_m: np.ndarray, width_m: ArrayLike
    ) -> np.ndarray:
        """Weight of cells of a width, at places seen from the head."""
        if self.wind is None:
            return self._still_weight(east_m, north_m, width_m)
        east, north, thinned = self.wind.unblown(east_m, north_m)
        return thinned * self._still_weight(east, north, width_m)

    def _still_weight(
        self, east_m: np.ndarray, north_m: np.ndarray, width_m: ArrayLike
    ) -> np.ndarray:
        distance = np.sqrt(east_m**2 + north_m**2)
        rim = np.clip(0.5 + (self.radius_m - distance) / width_m, 0, 1)
        weight = self.profile(np.minimum(distance / self.radius_m, 1)) * rim
        if self.arc_deg < 360:
            weight *= self._in_arc(east_m, north_m, distance, width_m)
        return weight

    def _in_arc(
        self,
        east_m: np.ndarray,
        north_m: np.ndarray,
        distance_m: np.ndarray,
        width_m: ArrayLike,
    ) -> np.ndarray:
        """Share of a cell in the arc: of the angle that it fills, seen from the head.

        Arcs that together make a circle add up to 1 in every cell, and a cell right at
        the head gets arc/360.
        """
        facing, half = np.radians(self.facing_deg), np.radians(self.arc_deg / 2)
        ahead = east_m * np.sin(facing) + north_m * np.cos(facing)
        aside = east_m * np.cos(facing) - north_m * np.sin(facing)
        off = np.abs(np.arctan2(aside, ahead))
        reach = np.full(distance_m.shape, np.pi)
        np.divide(width_m, 2 * distance_m, out=reach, where=distance_m > 0)
        np.minimum(reach, np.pi, out=reach)
        ahead_of = np.minimum(off + reach, half) - np.maximum(off - reach, -half)
        behind = off + reach - (2 * np.pi - half)
        overlap = np.maximum(ahead_of, 0) + np.maximum(behind, 0)
        return np.minimum(overlap / (2 * reach), 1)


def profile_triangular(share_of_radius: ArrayLike) -> NDArray[np.float64]:
    """Rate along the throw that falls in a straight line from the head to the rim.

    Parameters
    ----------
    share_of_radius : array_like
        Distance from the head over the throw radius. [-]

    Returns
    -------
    ndarray
        Rate over that at the head; 0 beyond the rim; NaN where the argument is. [-]

    Raises
    ------
    ValueError
        If a distance is negative.

    Notes
    -----
    1 - r. Heads of this profile that throw to the next head lay water rather evenly,
    which is why they are spaced so.

    References
    ----------
    CHRISTIANSEN (from memory): geometric profiles of sprinklers.

    Examples
    --------
    >>> print(f"{profile_triangular(0.25):.2f} of the rate at the head, -")
    0.75 of the rate at the head, -
    """
    share = numbers_from("share_of_radius", share_of_radius, 0)
    return np.asarray(1 - np.minimum(share, 1))


def profile_elliptical(share_of_radius: ArrayLike) -> NDArray[np.float64]:
    """Rate along the throw that falls as a quarter of an ellipse, slowly, then fast.

    Parameters
    ----------
    share_of_radius : array_like
        Distance from the head over the throw radius. [-]

    Returns
    -------
    ndarray
        Rate over that at the head; 0 beyond the rim; NaN where the argument is. [-]

    Raises
    ------
    ValueError
        If a distance is negative.

    Notes
    -----
    √(1 - r²).

    References
    ----------
    CHRISTIANSEN (from memory): geometric profiles of sprinklers.

    Examples
    --------
    >>> print(f"{profile_elliptical(0.6):.2f} of the rate at the head, -")
    0.80 of the rate at the head, -
    """
    share = numbers_from("share_of_radius", share_of_radius, 0)
    return np.asarray(np.sqrt(1 - np.minimum(share, 1) ** 2))


def profile_uniform(share_of_radius: ArrayLike) -> NDArray[np.float64]:
    """Rate along the throw that is the same out to the rim.

    Parameters
    ----------
    share_of_radius : array_like
        Distance from the head over the throw radius. [-]

    Returns
    -------
    ndarray
        1 up to the rim, 0 beyond it; NaN where the argument is. [-]

    Raises
    ------
    ValueError
        If a distance is negative.

    Notes
    -----
    No head does so; it stands for the other end of what heads do.

    References
    ----------
    CHRISTIANSEN (from memory): geometric profiles of sprinklers.

    Examples
    --------
    >>> print(f"{profile_uniform(0.9):.2f} of the rate at the head, -")
    1.00 of the rate at the head, -
    """
    share = numbers_from("share_of_radius", share_of_radius, 0)
    return np.where(np.isnan(share), np.nan, np.where(share <= 1, 1.0, 0.0))


PROFILES: Mapping[str, Profile] = {
    "triangular": profile_triangular,
    "elliptical": profile_elliptical,
    "uniform": profile_uniform,
}
"""Shapes of the rate along the throw; the first is the default."""


def water_on_grid(
    grid: Grid,
    inside: Inside,
    heads: Heads,
    mine: np.ndarray,
    flow_l_min: np.ndarray,
    profile: Profile,
    wind: Wind | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Water of each cell, all of it and what falls on the ground. [L/min]

    A head's weights are scaled to its flow, so its water is conserved whatever the
    cell. A cell that the outline cuts counts as two parts, each weighed at its middle:
    a half circle that waters along the outline wets the inner part alone.
    """
    water = np.zeros((grid.rows, grid.columns))
    x, y = grid.x_m, grid.y_m
    width = (grid.step_x_m + grid.step_y_m) / 2
    whole = np.ones(water.shape)
    whole.flat[inside.edge] = 0.0
    share = inside.share.flat[inside.edge]
    shares = np.concatenate([share, 1 - share])
    parts = np.concatenate([inside.inner_m, inside.outer_m])
    part_water = np.zeros(len(parts))
    for head in mine.tolist():
        east, north = heads.x_m[head], heads.y_m[head]
        spray = Spray(
            profile, float(heads.radius_m[head]), float(heads.arc_deg[head]),
            float(np.nan_to_num(heads.facing_deg[head])), wind,
        )  # fmt: skip
        reach = spray.reach_m
        columns = _span(east, reach, grid.west_m, grid.step_x_m, grid.columns)
        rows = _span(north, reach, grid.south_m, grid.step_y_m, grid.rows)
        near = np.flatnonzero(np.max(np.abs(parts - [east, north]), axis=1) <= reach)
        weight = whole[rows, columns] * spray.weight(
            x[None, columns] - east, y[rows, None] - north, width
        )
        of_parts = shares[near] * spray.weight(
            parts[near, 0] - east, parts[near, 1] - north, shares[near] * width / 2
        )
        total = weight.sum() + of_parts.sum()
        flow = flow_l_min[head] * heads.count[head]
        if total > 0:
            water[rows, columns] += (flow / total) * weight
            part_water[near] += (flow / total) * of_parts
        else:
            place = np.argmin(np.abs(y - north)), np.argmin(np.abs(x - east))
            water[place] += flow
    on_ground = water * (inside.share == 1)
    inner = part_water[: len(share)]
    on_ground.flat[inside.edge] += inner + water.flat[inside.edge] * share
    water.flat[inside.edge] += inner + part_water[len(share) :]
    return water, on_ground


def _span(place: float, radius: float, start: float, step: float, count: int) -> slice:
    """Cells along one axis that a throw may reach."""
    first = int(np.floor((place - radius - start) / step))
    last = int(np.ceil((place + radius - start) / step))
    return slice(max(first, 0), min(max(last, first + 1), count))
