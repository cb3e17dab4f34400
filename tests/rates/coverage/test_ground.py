"""Outlines on a grid against other ways to the same area."""

import numpy as np
import pytest
from matplotlib.path import Path
from scipy.spatial import ConvexHull

from scheduler.rates.coverage import ground

SHAPES = {
    "square": [(0, 0), (5, 0), (5, 5), (0, 5)],
    "triangle": [(0.3, 0.1), (6.2, 1.7), (2.9, 4.4)],
    "L": [(0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5)],
    "U": [(0, 0), (7, 0.4), (7, 5), (5, 5), (4, 1.1), (2.2, 1.3), (2, 4.9), (0, 5)],
    "star": [
        (3 + r * np.cos(t), 3 + r * np.sin(t))
        for t, r in zip(
            np.linspace(0, 2 * np.pi, 14, endpoint=False), [3.0, 1.1] * 7, strict=True
        )
    ],
    "sliver": [(0, 0), (9, 0.02), (9, 0.05)],
}


def shape(name, turn=0.0, by=(0.0, 0.0)):
    c, s = np.cos(turn), np.sin(turn)
    return np.array(SHAPES[name], float) @ np.array([[c, s], [-s, c]]) + by


def clipped(corners, low, high):
    """Polygon cut to a box one side at a time (Sutherland and Hodgman)."""
    points = [tuple(corner) for corner in corners]
    for axis, limit, keep in (
        (0, low[0], 1), (0, high[0], -1), (1, low[1], 1), (1, high[1], -1)
    ):  # fmt: skip
        kept = []
        for a, b in zip(points, points[1:] + points[:1], strict=True):
            a_in, b_in = keep * (a[axis] - limit) >= 0, keep * (b[axis] - limit) >= 0
            if a_in:
                kept.append(a)
            if a_in != b_in:
                part = (limit - a[axis]) / (b[axis] - a[axis])
                cut = [a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])]
                cut[axis] = limit
                kept.append(tuple(cut))
        points = kept
        if not points:
            return np.zeros((0, 2))
    return np.array(points)


def shoelace(points):
    x, y = points[:, 0], points[:, 1]
    return abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2 if len(x) else 0.0


def centroid(points):
    x, y = points[:, 0], points[:, 1]
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    return np.array(
        [
            np.sum((x + np.roll(x, -1)) * cross),
            np.sum((y + np.roll(y, -1)) * cross),
        ]
    ) / (3 * cross.sum())


def cases():
    return [
        (name, turn, way)
        for name in SHAPES
        for turn in (0.0, 0.4, 2.5)
        for way in (1, -1)
    ]


# Brute force: each cell by clipping the polygon to it.
@pytest.mark.parametrize(("name", "turn", "way"), cases())
def test_inside_outline_gives_the_clipped_area_of_every_cell(name, turn, way):
    corners = shape(name, turn, (-3.3, 1.7))[::way]
    low, high = corners.min(axis=0) - 1, corners.max(axis=0) + 1
    grid = ground.grid_over(corners, low, high, 0.7)
    inside = ground.inside_outline(grid, corners)

    step = np.array([grid.step_x_m, grid.step_y_m])
    corner = np.array([grid.west_m, grid.south_m])
    middles = dict(zip(inside.edge.tolist(), inside.inner_m, strict=True))
    others = dict(zip(inside.edge.tolist(), inside.outer_m, strict=True))
    for row in range(grid.rows):
        for column in range(grid.columns):
            start = corner + step * [column, row]
            piece = clipped(corners, start, start + step)
            share = shoelace(piece) / grid.cell_m2
            assert inside.share[row, column] == pytest.approx(share, abs=2e-9)
            flat = row * grid.columns + column
            if flat in middles and 1e-4 < share < 1 - 1e-4:
                middle = centroid(piece - start) + start
                np.testing.assert_allclose(middles[flat], middle, atol=1e-8)
                both = share * middles[flat] + (1 - share) * others[flat]
                np.testing.assert_allclose(both, start + step / 2, atol=1e-8)


@pytest.mark.parametrize(("name", "turn", "way"), cases())
def test_inside_outline_conserves_the_area(name, turn, way):
    corners = shape(name, turn, (812.3, -95.1))[::way]
    grid = ground.grid_over(corners, corners.min(axis=0), corners.max(axis=0), 0.11)
    inside = ground.inside_outline(grid, corners)

    area = inside.share.sum() * grid.cell_m2
    assert area == pytest.approx(shoelace(corners - corners[0]), rel=1e-7)


def test_inside_outline_of_a_rectangle_cuts_no_cell():
    corners = np.array([(1.0, 2.0), (8.3, 2.0), (8.3, 5.1), (1.0, 5.1)])
    grid = ground.grid_over(corners, np.array([-3.0, 0]), np.array([9, 9.0]), 0.25)
    inside = ground.inside_outline(grid, corners)

    assert set(np.unique(inside.share)) == {0.0, 1.0}
    assert not inside.edge.size


@pytest.mark.parametrize("cell", [0.05, 0.3, 1.0, 2.0])
def test_grid_over_reaches_all_that_is_asked_with_cells_up_to_the_size(cell):
    corners = shape("U", 0.4)
    low, high = np.array([-5.0, -1.0]), np.array([12.0, 9.0])
    grid = ground.grid_over(corners, low, high, cell)

    assert 0 < grid.step_x_m <= cell * (1 + 1e-9)
    assert 0 < grid.step_y_m <= cell * (1 + 1e-9)
    assert grid.west_m <= low[0] + 1e-9
    assert grid.south_m <= low[1] + 1e-9
    assert grid.west_m + grid.columns * grid.step_x_m >= high[0] - 1e-9
    assert grid.south_m + grid.rows * grid.step_y_m >= high[1] - 1e-9


# A mirror image gets the mirror image of the cells, exactly.
def test_grid_over_is_the_same_for_a_mirror_image():
    corners = shape("triangle")
    low, high = np.array([-4.0, -4.0]), np.array([9.0, 9.0])
    one = ground.grid_over(corners, low, high, 0.25)
    mirror = [-1, 1]
    low_2, high_2 = np.array([-9.0, -4.0]), np.array([4.0, 9.0])
    two = ground.grid_over(corners * mirror, low_2, high_2, 0.25)

    np.testing.assert_allclose(two.x_m[::-1], -one.x_m, atol=1e-9)
    np.testing.assert_allclose(two.y_m, one.y_m, atol=1e-9)


# scipy's hull is Qhull's; its `volume` is the area in the plane.
@pytest.mark.parametrize("seed", range(10))
def test_convex_hull_has_the_area_of_qhulls(seed):
    x, y = np.random.default_rng(seed).normal(0, 5, (2, 30)) + 100
    hull = ground.convex_hull(x, y)

    area = ConvexHull(np.column_stack([x, y])).volume
    assert ground.polygon_area(hull[:, 0], hull[:, 1]) == pytest.approx(area, rel=1e-10)


def test_convex_hull_leaves_out_corners_in_mid_side():
    x, y = np.meshgrid(np.arange(3) * 9.1, np.arange(3) * 9.1)

    assert len(ground.convex_hull(x.ravel(), y.ravel())) == 4


@pytest.mark.parametrize("count", [1, 2, 5])
def test_convex_hull_of_points_in_a_line_is_no_ground(count):
    along = np.linspace(0, 11.3, count)

    assert len(ground.convex_hull(2 + along * 0.3, 1 - along * 0.7)) < 3


# Square of 3 by 3 is 9; clockwise is negative by the sign of the cross product.
def test_polygon_area_has_the_sign_of_the_turn():
    x, y = np.array([0, 3, 3, 0]), np.array([0, 0, 3, 3])

    assert ground.polygon_area(x, y) == pytest.approx(9)
    assert ground.polygon_area(x[::-1], y[::-1]) == pytest.approx(-9)
    assert np.isnan(ground.polygon_area([0, np.nan, 3], [0, 1, 2]))
    assert ground.polygon_area([], []) == 0


# matplotlib's own test of a point in a polygon; distances by dense points on the sides.
@pytest.mark.parametrize("name", ["square", "triangle", "L", "U", "star"])
def test_distance_outside_agrees_with_dense_points_on_the_sides(name):
    corners = shape(name, 0.2)
    x, y = np.random.default_rng(3).uniform(-4, 9, (2, 400))
    distance = ground.distance_outside(corners, x, y)

    inside = Path(np.concatenate([corners, corners[:1]]), closed=True).contains_points(
        np.column_stack([x, y])
    )
    part = np.linspace(0, 1, 2001)[:, None, None]
    side = (corners + part * (np.roll(corners, -1, axis=0) - corners)).reshape(-1, 2)
    gap = np.hypot(side[:, 0, None] - x, side[:, 1, None] - y).min(axis=0)
    np.testing.assert_array_equal(distance == 0, inside)
    np.testing.assert_allclose(distance[~inside], gap[~inside], atol=2e-3)


def test_distance_outside_is_0_on_corners_and_sides():
    corners = shape("L")
    x, y = corners[:, 0], corners[:, 1]

    np.testing.assert_allclose(ground.distance_outside(corners, x, y), 0, atol=1e-12)
    assert ground.distance_outside(corners, [3.0], [0.0])[0] == pytest.approx(0)


def test_finer_cuts_each_cell():
    grid = ground.Grid(1.0, 2.0, 0.5, 0.4, 3, 2)
    fine = grid.finer(4)

    assert (fine.rows, fine.columns) == (12, 8)
    assert fine.cell_m2 * 16 == pytest.approx(grid.cell_m2)
    assert fine.x_m.mean() == pytest.approx(grid.x_m.mean())
