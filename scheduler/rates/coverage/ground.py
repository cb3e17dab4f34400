"""Ground on a grid: outline or hull of the heads, and what of each cell is in it.

Places are in m, x to the east and y to the north; arrays over a grid are (row, column)
from the south-west.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

SLIVER = 1e-9
"""Share of a cell that is float error, not ground."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells of one size from the south-west corner `west_m`, `south_m`."""

    west_m: float
    south_m: float
    step_x_m: float
    step_y_m: float
    rows: int
    columns: int

    @property
    def x_m(self) -> np.ndarray:
        """Middle of each column."""
        return self.west_m + self.step_x_m * (np.arange(self.columns) + 0.5)

    @property
    def y_m(self) -> np.ndarray:
        """Middle of each row."""
        return self.south_m + self.step_y_m * (np.arange(self.rows) + 0.5)

    @property
    def cell_m2(self) -> float:
        """Area of a cell."""
        return self.step_x_m * self.step_y_m

    def finer(self, times: int) -> Grid:
        """Grid with each cell cut into `times` by `times`."""
        return Grid(
            self.west_m,
            self.south_m,
            self.step_x_m / times,
            self.step_y_m / times,
            self.rows * times,
            self.columns * times,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """What of each cell lies inside an outline, (row, column).

    `edge` are the flat indices of cells that the outline cuts; `inner_m` and `outer_m`
    are the middles of their two parts, (edge, 2).
    """

    share: np.ndarray
    edge: np.ndarray
    inner_m: np.ndarray
    outer_m: np.ndarray


def polygon_area(x_m: ArrayLike, y_m: ArrayLike) -> NDArray[np.float64]:
    """Area of a polygon; below 0 where its corners go clockwise.

    Parameters
    ----------
    x_m : array_like
        Corners, to the east. [m]
    y_m : array_like
        Corners, to the north. [m]

    Returns
    -------
    ndarray
        Area; NaN where a corner is NaN. [m²]

    Raises
    ------
    ValueError
        Never.

    Notes
    -----
    Half the sum of x_i · y_next - x_next · y_i, about the first corner, so that places
    far from the origin cost no digits.

    References
    ----------
    None: geometry.

    Examples
    --------
    A square of 3 m:

    >>> print(f"{polygon_area([0, 3, 3, 0], [0, 0, 3, 3]):.1f} m²")
    9.0 m²
    """
    x, y = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
    if not x.size:
        return np.asarray(0.0)
    x, y = x - x[0], y - y[0]
    return np.asarray((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def convex_hull(x_m: ArrayLike, y_m: ArrayLike) -> NDArray[np.float64]:
    """Corners of the smallest convex outline around points.

    Parameters
    ----------
    x_m : array_like
        Points, to the east. [m]
    y_m : array_like
        Points, to the north. [m]

    Returns
    -------
    ndarray
        Corners against the clock, (corner, 2), two for points in a line. [m]

    Raises
    ------
    ValueError
        Never.

    Notes
    -----
    Andrew's monotone chain: points from west to east, and of those only right turns
    left out, below and then above.

    References
    ----------
    None: geometry.

    Examples
    --------
    A point inside a triangle is no corner:

    >>> print(f"{len(convex_hull([0, 4, 0, 1], [0, 0, 4, 1]))} corners, in m")
    3 corners, in m
    """
    placed = np.column_stack([x_m, y_m]).astype(np.float64)
    points = np.array(sorted({*map(tuple, placed.tolist())})).reshape(-1, 2)
    if len(points) < 3:
        return points
    slack = 1e-12 * float(np.ptp(points, axis=0).max()) ** 2

    def chain(ordered: list[list[float]]) -> list[list[float]]:
        kept: list[list[float]] = []
        for x, y in ordered:
            while len(kept) > 1:
                (ax, ay), (bx, by) = kept[-2:]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > slack:
                    break
                kept.pop()
            kept.append([x, y])
        return kept[:-1]

    ordered = points.tolist()
    return np.array(chain(ordered) + chain(ordered[::-1]))


def distance_outside(
    corners_m: ArrayLike, x_m: ArrayLike, y_m: ArrayLike
) -> NDArray[np.float64]:
    """How far points lie outside a polygon; 0 inside and on its sides.

    Parameters
    ----------
    corners_m : array_like
        Corners in order, (corner, 2). [m]
    x_m : array_like
        Points, to the east, one axis. [m]
    y_m : array_like
        Points, to the north. [m]

    Returns
    -------
    ndarray
        Distance to the nearest side. [m]

    Raises
    ------
    ValueError
        Never.

    Notes
    -----
    A point is inside where a ray to the east crosses an odd number of sides.

    References
    ----------
    None: geometry.

    Examples
    --------
    >>> square = [[0, 0], [4, 0], [4, 4], [0, 4]]
    >>> print(f"{distance_outside(square, [7], [8])[0]:.1f} m")
    5.0 m
    """
    start = np.asarray(corners_m, dtype=np.float64)[:, None, :]
    end = np.roll(start, -1, axis=0)
    points = np.column_stack([x_m, y_m]).astype(np.float64)[None, :, :]
    along, offset = end - start, points - start
    length2 = np.sum(along**2, axis=2)
    part = np.clip(np.sum(offset * along, axis=2) / length2, 0, 1)
    gap = np.sqrt(np.sum((offset - part[..., None] * along) ** 2, axis=2)).min(axis=0)
    spans = (start[..., 1] > points[..., 1]) != (end[..., 1] > points[..., 1])
    turn = along[..., 0] * offset[..., 1] - along[..., 1] * offset[..., 0]
    east = (turn > 0) == (along[..., 1] > 0)
    inside = np.sum(spans & east, axis=0) % 2 == 1
    return np.where(inside, 0.0, gap)


def grid_over(
    corners_m: np.ndarray, low_m: np.ndarray, high_m: np.ndarray, cell_m: float
) -> Grid:
    """Grid whose cells fit the box around an outline and reach beyond it.

    Parameters
    ----------
    corners_m : ndarray
        Corners of the outline, (corner, 2). [m]
    low_m : ndarray
        South-west corner of what the grid has to reach, (2,). [m]
    high_m : ndarray
        North-east corner of it, (2,). [m]
    cell_m : float
        Largest cell. [m]

    Returns
    -------
    Grid
        Cells in m, some of them beyond the reach asked for. [m]

    Raises
    ------
    ValueError
        Never.

    Notes
    -----
    Cells are `cell_m` or a little less, so that a whole number fits the box: a plan and
    its mirror image get the same cells, and no side of a rectangle cuts one.

    References
    ----------
    rule of this program.

    Examples
    --------
    A square of 1 m on cells of up to 0.3 m, with 0.5 m to spare around it:

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> grid = grid_over(square, square[0] - 0.5, square[2] + 0.5, 0.3)
    >>> print(f"{grid.rows} rows of {grid.step_y_m:.2f} m")
    8 rows of 0.25 m
    """
    south_west, north_east = corners_m.min(axis=0), corners_m.max(axis=0)
    size = north_east - south_west
    count = np.maximum(np.ceil(size / cell_m - 1e-9), 1)
    step = size / count
    before = np.ceil(np.maximum(south_west - low_m, 0) / step - 1e-9)
    after = np.ceil(np.maximum(high_m - north_east, 0) / step - 1e-9)
    corner = south_west - before * step
    columns, rows = (int(n) for n in before + count + after)
    return Grid(
        float(corner[0]),
        float(corner[1]),
        float(step[0]),
        float(step[1]),
        rows,
        columns,
    )


def inside_outline(grid: Grid, corners_m: np.ndarray) -> Inside:
    """What of each cell lies inside a polygon, exact to float error.

    Each side is cut at the lines of the grid. A piece that rises adds the ground to its
    right, in its own cell and in all cells further east of the row; pieces of the far
    side take it off again. Areas and first moments come from one such pass.
    """
    shape = grid.rows, grid.columns
    sign = -np.sign(polygon_area(corners_m[:, 0], corners_m[:, 1]))
    u = (corners_m[:, 0] - grid.west_m) / grid.step_x_m
    v = (corners_m[:, 1] - grid.south_m) / grid.step_y_m
    cell, sums = _pieces(u, v, shape)
    own_area, own_x, own_y, rise, rise_y = (
        sign * np.bincount(cell, values, math.prod(shape)).reshape(shape)
        for values in sums
    )
    east, east_y = (np.cumsum(values, axis=1) - values for values in (rise, rise_y))
    area, moment_x, moment_y = own_area + east, own_x + east / 2, own_y + east_y
    area = np.where(area < SLIVER, 0.0, np.where(area > 1 - SLIVER, 1.0, area))
    edge = np.flatnonzero((area > 0) & (area < 1))
    share = area.flat[edge][:, None]
    moment = np.column_stack([moment_x.flat[edge], moment_y.flat[edge]])
    place = np.column_stack([edge % grid.columns, edge // grid.columns])
    corner = np.array([grid.west_m, grid.south_m])
    step = np.array([grid.step_x_m, grid.step_y_m])
    inner = corner + step * (place + np.clip(moment / share, 0, 1))
    outer = corner + step * (place + np.clip((0.5 - moment) / (1 - share), 0, 1))
    return Inside(area, edge, inner, outer)


def _pieces(
    u: np.ndarray, v: np.ndarray, shape: tuple[int, int]
) -> tuple[np.ndarray, tuple[np.ndarray, ...]]:
    """Cell of each piece of a polygon's sides; ground to its right there, and its rise.

    `u` and `v` are in cells. Comes back: area, its moments about the cell's corner,
    rise, and moment of the rise.
    """
    ends = []
    for row in range(len(u)):
        (u0, u1), (v0, v1) = u[[row - 1, row]], v[[row - 1, row]]
        cuts = [np.array([0.0, 1.0])]
        for low, high in ((u0, u1), (v0, v1)):
            if low != high:
                lines = np.arange(math.ceil(min(low, high)), max(low, high))
                cuts.append((lines - low) / (high - low))
        t = np.array(sorted({*np.clip(np.concatenate(cuts), 0, 1).tolist()}))
        x, y = u0 + t * (u1 - u0), v0 + t * (v1 - v0)
        ends.append(np.stack([x[:-1], x[1:], y[:-1], y[1:]]))
    x0, x1, y0, y1 = np.concatenate(ends, axis=1)
    column = np.clip(np.floor((x0 + x1) / 2), 0, shape[1] - 1)
    line = np.clip(np.floor((y0 + y1) / 2), 0, shape[0] - 1)
    x0, x1, y0, y1 = x0 - column, x1 - column, y0 - line, y1 - line
    dx, dy = x1 - x0, y1 - y0
    product = x0 * y0 + (x0 * dy + y0 * dx) / 2 + dx * dy / 3
    sums = (
        dy * (1 - (x0 + x1) / 2),
        dy * (0.5 - (x0**2 + x0 * x1 + x1**2) / 6),
        dy * ((y0 + y1) / 2 - product),
        dy,
        dy * (y0 + y1) / 2,
    )
    return (line * shape[1] + column).astype(np.intp), sums
