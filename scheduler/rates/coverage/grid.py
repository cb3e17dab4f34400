"""Where the water falls: each head's water laid on a grid, and how even that is.

Ideal profiles, in still air or a steady wind: slope and worn nozzles are not modelled,
so a test with catch cans mostly comes out lower. A modelled uniformity may lower the
one that a plan uses, never raise it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler import units
from scheduler.cautions import Caution
from scheduler.inputs.library import head_kinds
from scheduler.inputs.positions import MOST_WIND_M_S
from scheduler.inputs.site import Site
from scheduler.rates.cans import can_tests
from scheduler.rates.coverage.ground import (
    Grid,
    convex_hull,
    distance_outside,
    grid_over,
    inside_outline,
)
from scheduler.rates.coverage.patch import Patch, driest_patch
from scheduler.rates.coverage.throw import PROFILES, water_on_grid
from scheduler.rates.coverage.wind import Wind
from scheduler.rates.point import Points, find_points
from scheduler.rates.precipitation import head_rates
from scheduler.rates.uniformity import (
    christiansen_coefficient,
    lower_quarter_uniformity,
)

CELL_M = 0.25
"""Cell of the grid where none is asked for: about the mouth of a large catch can."""
BANDS = (0.7, 0.9, 1.1, 1.3)
"""Shares of the mean between which ground counts as alike (rule of this program)."""
OUTSIDE_BY_M = 0.3
"""A head so far outside the outline is a slip, not the tape's error."""
DRY_LET_PASS = 0.005
"""Share of the ground that may lie dry before it is told (rule of this program)."""
_WINDY_CELL_M = 2 * CELL_M
_CELLS_A_RADIUS = 16
_MOST_FINER = 8
_MOST_CELLS = 1_000_000
_MOST_KEPT, _MOST_KEPT_CELLS = 160, 100_000
_KEPT: dict[tuple[object, ...], ZoneCoverage] = {}
"""Zones worked out before, some hundred megabytes at the most."""


@dataclass(frozen=True, slots=True, eq=False)
class ZoneCoverage:
    """Where the water of one zone falls, and how even that is.

    Arrays over the grid are (row, column) from the south-west: `rate_mm_h` is the mean
    of a cell, in the ground and out of it; `ground_m2` what of the cell is ground;
    `ground_l_min` the water on that; `ground_mm_h` its rate, NaN where there is none.
    `head_l_min` is the flow of each of `heads`.
    """

    zone: int
    heads: np.ndarray
    head_l_min: np.ndarray
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
        """Mean rate over that of the driest patch; no plan asks for it."""
        share = self.patch.share
        return 1 / share if share > 0 else np.inf

    @property
    def patch(self) -> Patch:
        """The driest patch; no plan asks for it."""
        return driest_patch(self.ground_l_min, self.ground_m2, self.grid)

    @property
    def band_shares(self) -> NDArray[np.float64]:
        """Share of the ground in each band of `BANDS`, from dry to wet, (band,)."""
        counts = self.ground_m2 > 0
        area = self.ground_m2[counts]
        edges = np.multiply(BANDS, self.mean_mm_h)
        band = np.searchsorted(edges, self.ground_mm_h[counts] * (1 + 1e-9), "right")
        return np.bincount(band, area, len(BANDS) + 1) / area.sum()


@dataclass(frozen=True, slots=True, eq=False)
class Coverage:
    """Coverage of the zones whose heads have places; `without` are rows of the rest."""

    profile: str
    zones: tuple[ZoneCoverage, ...]
    without: tuple[int, ...]
    cautions: tuple[Caution, ...]
    wind: Wind | None = None


def cover_site(
    site: Site,
    profile: str = "triangular",
    cell_m: float = CELL_M,
    only: int | None = None,
    points: Points | None = None,
    wind: Wind | None = None,
) -> Coverage:
    """Where the water of a site's zones falls.

    `only` is the row of one zone; `points` are the operating points of its zones where
    they were found before. No wind is still air.
    """
    if wind is not None and wind.speed_m_s == 0:
        wind = None
    rows = range(len(site.zones)) if only is None else (only,)
    placed = np.isfinite(site.heads.x_m) & np.isfinite(site.heads.y_m)
    wanted = [row for row in rows if np.any(placed & (site.heads.zone == row))]
    without = tuple(row for row in rows if row not in wanted)
    if not wanted:
        return Coverage(profile, (), without, (), wind)
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
            zone = _kept_zone(site, row, mine, flow_l_min, profile, cell_m, wind)
            zones.append(zone)
            cautions += _zone_cautions(site, zone)
    return Coverage(profile, tuple(zones), without, tuple(cautions), wind)


def modelled_uniformity(found: Coverage, zones: int) -> NDArray[np.float64]:
    """Lower-quarter uniformity of so many zones, NaN where heads lack their places.

    It may be 0: a quarter of the ground gets no water.
    """
    uniformity = np.full(zones, np.nan)
    for zone in found.zones:
        uniformity[zone.zone] = zone.uniformity_lq
    return uniformity


def planned_uniformity(
    site: Site, still: Coverage, points: Points | None
) -> NDArray[np.float64]:
    """Uniformity that a plan is held down to: the lower of still air and wind, (zone,).

    Nobody writes from where it blows, so it is the lowest of four directions, on cells
    coarse enough for a plan. More wind than anybody waters in counts as that much.
    """
    uniformity = modelled_uniformity(still, len(site.zones))
    speed = min(site.supply.wind_m_s or 0.0, MOST_WIND_M_S)
    if speed > 0 and still.zones:
        for from_deg in range(0, 360, 90):
            wind = Wind(speed, from_deg)
            blown = cover_site(site, still.profile, _WINDY_CELL_M, None, points, wind)
            windy = modelled_uniformity(blown, len(site.zones))
            uniformity = np.minimum(uniformity, windy)
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
    if dry > DRY_LET_PASS:
        yield Caution("ground-dry", name, None, {"share": float(dry)})


def _kept_zone(
    site: Site,
    row: int,
    mine: np.ndarray,
    flow_l_min: np.ndarray,
    profile: str,
    cell_m: float,
    wind: Wind | None,
) -> ZoneCoverage:
    """Coverage of a zone, worked out once for like heads, flows and ground.

    A site is planned again and again with other hours or settings, and this takes
    most of a plan's time.
    """
    heads = site.heads
    arrays = (heads.x_m, heads.y_m, heads.arc_deg, heads.facing_deg, heads.radius_m,
              heads.count, flow_l_min)  # fmt: skip
    key = (
        (row, profile, cell_m, wind, mine.tobytes(), site.outlines[row].tobytes()),
        *(array[mine].tobytes() for array in arrays),
    )
    if key in _KEPT:
        return _KEPT[key]
    zone = _cover_zone(site, row, mine, flow_l_min, profile, cell_m, wind)
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
    wind: Wind | None,
) -> ZoneCoverage:
    heads = site.heads
    corners = site.outlines[row]
    outlined = len(corners) > 0
    if not outlined:
        corners = convex_hull(heads.x_m[mine], heads.y_m[mine])
    radius = heads.radius_m[mine]
    places = np.column_stack([heads.x_m[mine], heads.y_m[mine]])
    reach = radius[:, None] * (1 if wind is None else 1 + wind.shift)
    low, high = places - reach, places + reach
    grid = _grid(corners, low.min(axis=0), high.max(axis=0), cell_m)
    finer = int(np.ceil(_CELLS_A_RADIUS * grid.step_x_m / radius.min()))
    room = int(np.sqrt(2 * _MOST_CELLS / (grid.rows * grid.columns)))
    finer = max(min(finer, _MOST_FINER, room), 1)
    fine = grid.finer(finer)
    inside = inside_outline(fine, corners)
    water, ground_water = water_on_grid(
        fine, inside, heads, mine, flow_l_min, PROFILES[profile], wind
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
        head_l_min=flow_l_min[mine],
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
