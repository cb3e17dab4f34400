"""The driest patch of a zone: how dry, where, and what would mend it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.inputs.site import Heads
from scheduler.rates.coverage.ground import Grid
from scheduler.rates.coverage.throw import Spray, profile_uniform
from scheduler.units import MIN_PER_H

PATCH_SHARE = 0.05
"""Part of the ground that the driest patch holds (common practice)."""
DRY_SHARE = 0.7
"""Ground under this share of the mean is dry to the eye (rule of this program)."""
_POOR_NOZZLE = 0.75


@dataclass(frozen=True, slots=True)
class Patch:
    """The driest square of a twentieth of the ground, and its share of the mean rate.

    `half_m` is half its side.
    """

    share: float
    x_m: float
    y_m: float
    half_m: float

    @property
    def minutes_for_an_hour(self) -> float:
        """Run time after which the patch has what the mean gets in an hour."""
        return MIN_PER_H / self.share if self.share > 0 else np.inf


@dataclass(frozen=True, slots=True)
class Mend:
    """What would help a patch, by why it is dry.

    `why` is "even" (nothing to do), "nozzle" (a head that lays much less than the rest
    on its arc; `share` of what the middle one of them lays), "unreached", "one-head" or
    "far" (heads reach it, with the thin end of their throw). `head` is the row of the
    head meant, `away_m` and `toward_deg` lead from it to the patch.
    """

    why: str
    head: int
    away_m: float
    toward_deg: float
    share: float


def driest_patch(water: np.ndarray, ground: np.ndarray, grid: Grid) -> Patch:
    """The driest patch, of water in L/min and ground in m² of each cell.

    A patch is a square around a cell, grown until it holds its share of the ground;
    between two sizes of it the outer ring counts in part, so that every patch holds
    the same ground. Of patches alike to float error the first from the south-west.
    """
    rows, columns = (np.flatnonzero(ground.any(axis=axis)) for axis in (1, 0))
    box = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    mean = float(water.sum() / ground.sum())
    rate, half = np.full(ground[box].shape, np.inf), np.zeros(ground[box].shape)
    for open_, filled, cells in _filled(water[box], ground[box], grid.cell_m2):
        rate[open_], half[open_] = filled, cells
    least = float(rate.min())
    row, column = np.unravel_index(
        np.flatnonzero(rate <= least + 1e-9 * mean)[0], rate.shape
    )
    step = (grid.step_x_m + grid.step_y_m) / 2
    return Patch(
        max(least, 0.0) / mean if mean > 0 else 0.0,
        float(grid.x_m[columns[0] + column]),
        float(grid.y_m[rows[0] + row]),
        float(half[row, column]) * step,
    )


def mend_patch(
    heads: Heads, mine: np.ndarray, flow_l_min: np.ndarray, patch: Patch
) -> Mend:
    """What would help the driest patch of heads `mine`, with a flow for each of them.

    A head counts as reaching the patch where the middle of that is in its arc and
    throw.
    """
    east, north = patch.x_m - heads.x_m[mine], patch.y_m - heads.y_m[mine]
    away = np.hypot(east, north)
    reaches = np.array([
        Spray(profile_uniform, float(heads.radius_m[head]), float(heads.arc_deg[head]),
              float(np.nan_to_num(heads.facing_deg[head])))
        .weight(east[[i]], north[[i]], 1e-6)[0] > 0.4
        for i, head in enumerate(mine.tolist())
    ])  # fmt: skip
    nearest = int(np.argmin(away))
    on_arc = flow_l_min / heads.arc_deg[mine]
    share = on_arc / np.median(on_arc)
    poor = (reaches | (np.arange(len(mine)) == nearest)) & (share < _POOR_NOZZLE)
    at = nearest
    if patch.share >= DRY_SHARE:
        why = "even"
    elif poor.any():
        why = "nozzle"
        at = int(np.argmin(np.where(poor, share, np.inf)))
    else:
        why = {0: "unreached", 1: "one-head"}.get(int(reaches.sum()), "far")
    toward = float(np.degrees(np.arctan2(east[at], north[at]))) % 360
    return Mend(why, int(mine[at]), float(away[at]), toward, float(share[at]))


def _filled(
    water: np.ndarray, ground: np.ndarray, cell_m2: float
) -> Iterator[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Cells whose square holds its share, its mean in L/min a m², half its side."""
    wanted = PATCH_SHARE * float(ground.sum())
    sums = [_summed(values) for values in (water, ground)]
    reach = int(np.floor((np.sqrt(wanted / cell_m2) - 1) / 2 - 1e-9))
    held_water = held = np.zeros(ground.shape)
    inner = 0.0
    if reach >= 0:
        held_water, held = (_windows(values, reach) for values in sums)
        inner = reach + 0.5
    open_ = (ground > 0) & (held < wanted)
    while open_.any():
        reach += max(1, reach // 6)
        more_water, more = (_windows(values, reach) for values in sums)
        full = open_ & (more >= wanted * (1 - 1e-12))
        part = (wanted - held[full]) / (more[full] - held[full])
        filled = held_water[full] + part * (more_water[full] - held_water[full])
        outer = reach + 0.5
        half = np.sqrt(inner**2 + part * (outer**2 - inner**2))
        yield full, filled / wanted, half
        open_ &= ~full
        held_water, held, inner = more_water, more, outer


def _summed(values: np.ndarray) -> np.ndarray:
    """Sums of all cells to the south-west, with a row and a column of zeros."""
    return np.pad(values.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def _windows(summed: np.ndarray, reach: int) -> np.ndarray:
    """Sum over the square that reaches so many cells from each cell."""
    ends = []
    for count in (summed.shape[0] - 1, summed.shape[1] - 1):
        place = np.arange(count)
        ends += [np.maximum(place - reach, 0), np.minimum(place + reach + 1, count)]
    south, north, west, east = ends
    across = summed[north] - summed[south]
    return across[:, east] - across[:, west]
