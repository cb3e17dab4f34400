"""Where the water falls: each head's water laid on a grid, and how even that is.

Still air and ideal profiles: wind, slope and worn nozzles are not modelled, so a test
with catch cans mostly comes out lower. A modelled uniformity may lower the one that a
plan uses, never raise it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler import units
from scheduler.cautions import Caution
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Site
from scheduler.rates.cans import can_tests
from scheduler.rates.coverage.ground import (
    Grid,
    convex_hull,
    distance_outside,
    grid_over,
    inside_outline,
)
from scheduler.rates.coverage.throw import PROFILES, water_on_grid
from scheduler.rates.point import Points, find_points
from scheduler.rates.precipitation import head_rates
from scheduler.rates.uniformity import (
    christiansen_coefficient,
    lower_quarter_uniformity,
)

CELL_M = 0.25
"""Cell of the grid where none is asked for: about the mouth of a large catch can."""
WINDOW_SHARE = 0.05
"""Part of the ground that the scheduling coefficient looks at (common practice)."""
OUTSIDE_BY_M = 0.3
"""A head so far outside the outline is a slip, not the tape's error."""
_CELLS_A_RADIUS = 16
_MOST_FINER = 8
_MOST_CELLS = 1_000_000
_MOST_KEPT, _MOST_KEPT_CELLS = 64, 100_000
_KEPT: dict[tuple[object, ...], ZoneCoverage] = {}
"""Zones worked out before, some hundred megabytes at the most."""


@dataclass(frozen=True, slots=True, eq=False)
class ZoneCoverage:
    """Where the water of one zone falls, and how even that is.

    Arrays over the grid are (row, column) from the south-west: `rate_mm_h` is the mean
    of a cell, in the ground and out of it; `ground_m2` what of the cell is ground;
    `ground_l_min` the water on that; `ground_mm_h` its rate, NaN where there is none.
    """

    zone: int
    heads: np.ndarray
    corners_m: np.ndarray
    outlined: bool
    grid: Grid
    rate_mm_h: np.ndarray
    ground_m2: np.ndarray
    ground_l_min: np.ndarray
    ground_mm_h: np.ndarray
    flow_l_min: float
    thrown_l_min: float
    mean_mm_h: float
    uniformity_lq: float
    driest_x_m: float
    driest_y_m: float
    driest_mm_h: float

    @property
    def area_m2(self) -> float:
        """Ground that counts."""
        return float(self.ground_m2.sum())

    @property
    def christiansen_percent(self) -> float:
        """Christiansen's coefficient; no plan asks for it."""
        counts = self.ground_m2 > 0
        rate, area = self.ground_mm_h[counts], self.ground_m2[counts]
        return float(christiansen_coefficient(rate, area))

    @property
    def scheduling_coefficient(self) -> float:
        """Mean rate over that of the driest window; no plan asks for it."""
        driest = _driest_window(self.ground_l_min, self.ground_m2, self.grid)
        window = units.MIN_PER_H * driest
        return self.mean_mm_h / window if window > 0 else np.inf


@dataclass(frozen=True, slots=True, eq=False)
class Coverage:
    """Coverage of the zones whose heads have places; `without` are rows of the rest."""

    profile: str
    zones: tuple[ZoneCoverage, ...]
    without: tuple[int, ...]
    cautions: tuple[Caution, ...]


def cover_site(
    site: Site,
    profile: str = "triangular",
    cell_m: float = CELL_M,
    only: int | None = None,
    points: Points | None = None,
) -> Coverage:
    """Where the water of a site's zones falls.

    `only` is the row of one zone; `points` are the operating points of its zones where
    they were found before.
    """
    rows = range(len(site.zones)) if only is None else (only,)
    placed = np.isfinite(site.heads.x_m) & np.isfinite(site.heads.y_m)
    wanted = [row for row in rows if np.any(placed & (site.heads.zone == row))]
    without = tuple(row for row in rows if row not in wanted)
    if not wanted:
        return Coverage(profile, (), without, ())
    kinds = head_kinds()
    if points is None:
        tested = can_tests(site.cans).rate_mm_h
        points = find_points(site.zones, site.heads, kinds, site.supply, tested)
    flow_l_min = head_rates(
        site.zones, site.heads, kinds, points.pressure_kpa, points.most_flow_l_min
    ).flow_l_min
    zones = []
    cautions: list[Caution] = []
    for row in wanted:
        mine = np.flatnonzero(site.heads.zone == row)
        unknown = list(_what_is_missing(site, row, mine, flow_l_min))
        cautions += unknown
        if not unknown:
            zone = _kept_zone(site, row, mine, flow_l_min, profile, cell_m)
            zones.append(zone)
            cautions += _zone_cautions(site, zone)
    return Coverage(profile, tuple(zones), without, tuple(cautions))


def modelled_uniformity(found: Coverage, zones: int) -> NDArray[np.float64]:
    """Lower-quarter uniformity of so many zones, NaN where heads lack their places.

    It may be 0: a quarter of the ground gets no water.
    """
    uniformity = np.full(zones, np.nan)
    for zone in found.zones:
        uniformity[zone.zone] = zone.uniformity_lq
    return uniformity


def _what_is_missing(
    site: Site, row: int, mine: np.ndarray, flow_l_min: np.ndarray
) -> Iterator[Caution]:
    """Why a zone with some places cannot be modelled."""
    heads = site.heads
    if head_kinds().drips[site.zones.head_kind[row]]:
        yield Caution(
            "coverage-unknown", site.zones.zone[row], None, {"missing": "spray"}
        )
        return
    part = heads.arc_deg < 360
    for missing, blank in (
        ("place", np.isnan(heads.x_m) | np.isnan(heads.y_m)),
        ("facing", part & np.isnan(heads.facing_deg)),
        ("radius", np.isnan(heads.radius_m)),
        ("flow", np.isnan(flow_l_min)),
    ):
        names = [heads.head[i] for i in mine[blank[mine]]]
        if names:
            values = {"missing": missing, "heads": names}
            yield Caution("coverage-unknown", site.zones.zone[row], None, values)
            return
    if not len(site.outlines[row]):
        hull = convex_hull(heads.x_m[mine], heads.y_m[mine])
        if len(hull) < 3:
            values = {"missing": "ground"}
            yield Caution("coverage-unknown", site.zones.zone[row], None, values)


def _zone_cautions(site: Site, zone: ZoneCoverage) -> Iterator[Caution]:
    heads, name = site.heads, site.zones.zone[zone.zone]
    if zone.outlined:
        x, y = heads.x_m[zone.heads], heads.y_m[zone.heads]
        outside = distance_outside(zone.corners_m, x, y)
        if np.any(outside > OUTSIDE_BY_M):
            names = [heads.head[i] for i in zone.heads[outside > OUTSIDE_BY_M]]
            values = {"heads": names, "distance_m": float(outside.max())}
            yield Caution("head-outside", name, None, values)
    dry = zone.ground_m2[zone.ground_mm_h <= 0].sum() / zone.area_m2
    if dry > 0.005:
        yield Caution("ground-dry", name, None, {"share": float(dry)})


def _kept_zone(
    site: Site,
    row: int,
    mine: np.ndarray,
    flow_l_min: np.ndarray,
    profile: str,
    cell_m: float,
) -> ZoneCoverage:
    """Coverage of a zone, worked out once for like heads, flows and ground.

    A site is planned again and again with other hours or settings, and this takes
    most of a plan's time.
    """
    heads = site.heads
    arrays = (heads.x_m, heads.y_m, heads.arc_deg, heads.facing_deg, heads.radius_m,
              heads.count, flow_l_min)  # fmt: skip
    key = (
        (row, profile, cell_m, mine.tobytes(), site.outlines[row].tobytes()),
        *(array[mine].tobytes() for array in arrays),
    )
    if key in _KEPT:
        return _KEPT[key]
    zone = _cover_zone(site, row, mine, flow_l_min, profile, cell_m)
    if len(_KEPT) >= _MOST_KEPT:
        _KEPT.clear()
    if zone.ground_m2.size <= _MOST_KEPT_CELLS:
        _KEPT[key] = zone
    return zone


def _cover_zone(
    site: Site,
    row: int,
    mine: np.ndarray,
    flow_l_min: np.ndarray,
    profile: str,
    cell_m: float,
) -> ZoneCoverage:
    heads = site.heads
    corners = site.outlines[row]
    outlined = len(corners) > 0
    if not outlined:
        corners = convex_hull(heads.x_m[mine], heads.y_m[mine])
    radius = heads.radius_m[mine]
    places = np.column_stack([heads.x_m[mine], heads.y_m[mine]])
    low, high = places - radius[:, None], places + radius[:, None]
    grid = _grid(corners, low.min(axis=0), high.max(axis=0), cell_m)
    finer = int(np.ceil(_CELLS_A_RADIUS * grid.step_x_m / radius.min()))
    room = int(np.sqrt(2 * _MOST_CELLS / (grid.rows * grid.columns)))
    finer = max(min(finer, _MOST_FINER, room), 1)
    fine = grid.finer(finer)
    inside = inside_outline(fine, corners)
    water, ground_water = water_on_grid(
        fine, inside, heads, mine, flow_l_min, PROFILES[profile]
    )
    water, ground_water, ground = (
        _gathered(values, finer)
        for values in (water, ground_water, inside.share * fine.cell_m2)
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        ground_rate = units.MIN_PER_H * ground_water / ground
    driest = _driest_cell(ground_rate, ground, grid)
    mean, uniformity = _evenness(ground_rate, ground)
    return ZoneCoverage(
        zone=row,
        heads=mine,
        corners_m=corners,
        outlined=outlined,
        grid=grid,
        rate_mm_h=units.MIN_PER_H * water / grid.cell_m2,
        ground_m2=ground,
        ground_l_min=ground_water,
        ground_mm_h=ground_rate,
        flow_l_min=float(flow_l_min[mine] @ heads.count[mine]),
        thrown_l_min=float(water.sum() - ground_water.sum()),
        mean_mm_h=mean,
        uniformity_lq=uniformity,
        driest_x_m=float(grid.x_m[driest[1]]),
        driest_y_m=float(grid.y_m[driest[0]]),
        driest_mm_h=float(ground_rate[driest]),
    )


def _grid(
    corners_m: np.ndarray, low_m: np.ndarray, high_m: np.ndarray, cell_m: float
) -> Grid:
    """Grid of the cell asked for, coarser where a zone is so large that it must be."""
    size = np.maximum(high_m, corners_m.max(axis=0)) - np.minimum(
        low_m, corners_m.min(axis=0)
    )
    least = float(np.sqrt(size[0] * size[1] / _MOST_CELLS))
    return grid_over(corners_m, low_m, high_m, max(cell_m, least))


def _gathered(values: np.ndarray, times: int) -> np.ndarray:
    """Sums over blocks of `times` by `times` cells."""
    rows, columns = (count // times for count in values.shape)
    return values.reshape(rows, times, columns, times).sum(axis=(1, 3))


def _evenness(rate_mm_h: np.ndarray, ground_m2: np.ndarray) -> tuple[float, float]:
    """Mean rate and lower-quarter uniformity, weighted by area."""
    counts = ground_m2 > 0
    rate, area = rate_mm_h[counts], ground_m2[counts]
    mean = float((rate * area).sum() / area.sum())
    even = float(lower_quarter_uniformity(rate, area, np.zeros(len(area), int), 1)[0])
    return mean, even if mean > 0 else 0.0


def _driest_window(water: np.ndarray, ground: np.ndarray, grid: Grid) -> float:
    """Least mean of a contiguous window, in L/min a m².

    The window is a square around a cell, grown until it holds its share of the ground;
    between two sizes of it the outer ring counts in part, so that every window holds
    the same ground.
    """
    rows, columns = (np.flatnonzero(ground.any(axis=axis)) for axis in (1, 0))
    box = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    water, ground = water[box], ground[box]
    wanted = WINDOW_SHARE * float(ground.sum())
    sums = [_summed(values) for values in (water, ground)]
    reach = int(np.floor((np.sqrt(wanted / grid.cell_m2) - 1) / 2 - 1e-9))
    held_water = held = np.zeros(ground.shape)
    if reach >= 0:
        held_water, held = (_windows(values, reach) for values in sums)
    least = np.inf
    open_ = (ground > 0) & (held < wanted)
    while open_.any():
        reach += max(1, reach // 6)
        more_water, more = (_windows(values, reach) for values in sums)
        full = open_ & (more >= wanted * (1 - 1e-12))
        part = (wanted - held[full]) / (more[full] - held[full])
        filled = held_water[full] + part * (more_water[full] - held_water[full])
        least = min(least, float(filled.min(initial=np.inf)) / wanted)
        open_ &= ~full
        held_water, held = more_water, more
    return max(least, 0.0)


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


def _driest_cell(
    rate: np.ndarray, ground: np.ndarray, grid: Grid
) -> tuple[np.intp, np.intp]:
    """Row and column of the driest cell that is half ground or more.

    Of cells alike to float error the first from the south-west.
    """
    eligible = ground >= min(0.5 * grid.cell_m2, float(ground.max()))
    rates = np.where(eligible, rate, np.inf)
    least = float(rates.min())
    row, column = np.unravel_index(
        np.flatnonzero(rates <= least + 1e-9 * float(rates[eligible].max()))[0],
        rates.shape,
    )
    return row, column
