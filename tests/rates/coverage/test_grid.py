"""Water on a grid against laws, closed forms and independent integrals."""

import numpy as np
import pytest
from laid_heads import box, random_heads, site_of, three_by_three
from scipy import integrate

from scheduler.rates.coverage import grid as coverage
from scheduler.rates.coverage import throw

PROFILES = tuple(throw.PROFILES)


@pytest.fixture
def lay(base):
    """Coverage of heads given as (x, y, arc, facing, radius, flow), SI, in one zone."""

    def laid(heads, outline=None, **options):
        return coverage.cover_site(site_of(base, heads, outline), **options).zones[0]

    return laid


def around(x, y, radius, corners=180):
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)])


# A liter a minute stands 1 mm deep on a square meter in a minute, 60 mm in an hour: law
# of conservation, to float error.
@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("cell", [0.1, 0.25, 0.7, 2.0])
def test_water_is_conserved_whatever_the_cell(lay, seed, profile, cell):
    heads = random_heads(seed)
    outline = around(0.7, -0.2, 4.3, 11) if seed % 2 else None
    zone = lay(heads, outline, profile=profile, cell_m=cell)

    flow = heads[:, 5].sum()
    laid = zone.rate_mm_h.sum() * zone.grid.cell_m2 / 60
    on_ground = np.nansum(zone.ground_mm_h * zone.ground_m2) / 60
    assert zone.flow_l_min == pytest.approx(flow, rel=1e-12)
    assert laid == pytest.approx(flow, rel=1e-12)
    assert on_ground + zone.thrown_l_min == pytest.approx(flow, rel=1e-12)
    assert zone.mean_mm_h * zone.area_m2 / 60 == pytest.approx(on_ground, rel=1e-12)


def test_water_of_a_tiny_head_is_conserved_too(lay):
    zone = lay([(0.3, 0.4, 360, 0, 0.01, 5.0)], box(-3, -3, 3, 3), cell_m=2.0)

    laid = zone.rate_mm_h.sum() * zone.grid.cell_m2 / 60
    assert laid == pytest.approx(5.0, rel=1e-12)


# The quarter circle facing north-east has no water to the west or south of its head.
@pytest.mark.parametrize("cell", [0.1, 0.25, 1.0])
def test_no_water_falls_outside_the_arc(lay, cell):
    zone = lay([(2, 3, 90, 45, 6, 4)], box(2, 3, 9, 9), cell_m=cell)

    x, y = zone.grid.x_m, zone.grid.y_m
    assert np.all(zone.rate_mm_h[y < 3] == 0)
    assert np.all(zone.rate_mm_h[:, x < 2] == 0)
    assert zone.thrown_l_min == pytest.approx(0, abs=1e-12)


def test_half_circle_along_a_slanting_side_throws_nothing_beyond_it(lay):
    turn = np.radians(30)
    c, s = np.cos(turn), np.sin(turn)
    outline = np.array(box(-8, 0, 8, 8)) @ np.array([[c, s], [-s, c]])
    zone = lay([(0, 0, 180, -30, 6, 4)], outline)

    assert zone.thrown_l_min / zone.flow_l_min < 0.002


def test_water_beyond_the_outline_is_thrown_away_not_put_inside(lay):
    half = lay([(0, 0, 360, 0, 6, 8)], box(0, -6, 6, 6))

    # By symmetry half of it falls to the west of the head.
    assert half.thrown_l_min == pytest.approx(4, rel=1e-9)
    assert half.mean_mm_h == pytest.approx(60 * 4 / (6 * 12), rel=1e-9)


# Closed forms over the head's own circle, with s = r²/R² even from 0 to 1:
# p = 1 - √s: mean 1/3; driest quarter 4(1/4 - 2/3(1 - 0.75^1.5)) = 0.0654, DU 0.1962;
#   mean deviation 16/81, CU 1 - 16/27.
# p = √(1 - s): mean 2/3; driest quarter 4 · 2/3 · 0.25^1.5 = 1/3, DU 1/2;
#   mean deviation 16/81, CU 1 - 8/27.
@pytest.mark.parametrize(
    ("profile", "uniformity", "christiansen"),
    [
        ("triangular", 12 * (1 / 4 - 2 / 3 * (1 - 0.75**1.5)), 1 - 16 / 27),
        ("elliptical", 1 / 2, 1 - 8 / 27),
        ("uniform", 1.0, 1.0),
    ],
)
def test_one_head_alone_has_the_closed_form_of_its_profile(
    lay, profile, uniformity, christiansen
):
    outline = around(1.3, -0.4, 7)
    zone = lay([(1.3, -0.4, 360, 0, 7, 12)], outline, profile=profile, cell_m=0.05)

    # Corners of the outline lie on the rim, so a sliver of water falls beyond.
    assert zone.mean_mm_h == pytest.approx(60 * 12 / (np.pi * 49), rel=2e-3)
    assert zone.uniformity_lq == pytest.approx(uniformity, abs=4e-3)
    assert zone.christiansen_percent / 100 == pytest.approx(christiansen, abs=4e-3)


# Rate of a full head by its profile: q · w / ∫ w 2πr dr, by quadrature.
def exact_rate(heads, profile, x, y):
    total = 0.0
    shape = {
        "triangular": lambda r: max(1 - r, 0.0),
        "elliptical": lambda r: np.sqrt(max(1 - r * r, 0.0)),
    }[profile]
    volume = 2 * np.pi * integrate.quad(lambda r: shape(r) * r, 0, 1)[0]
    for head_x, head_y, arc, _, radius, flow in heads:
        distance = np.hypot(x - head_x, y - head_y) / radius
        total += (
            60 * flow * 360 / arc * np.vectorize(shape)(distance)
            / (volume * radius**2)
        )  # fmt: skip
    return total


@pytest.mark.parametrize("profile", ["triangular", "elliptical"])
@pytest.mark.parametrize("radius", [8.0, 9.0, 10.5])
def test_square_of_overlapping_heads_agrees_with_an_independent_integral(
    lay, profile, radius
):
    corners = ((0, 0, 45), (0, 9, 135), (9, 9, 225), (9, 0, 315))
    heads = [(x, y, 90, facing, radius, 3.0) for x, y, facing in corners]
    zone = lay(heads, profile=profile, cell_m=0.05)

    # By the midpoint rule on points of its own.
    points = (np.arange(450) + 0.5) * 9 / 450
    rate = np.sort(exact_rate(heads, profile, *np.meshgrid(points, points)), axis=None)
    quarter = rate[: len(rate) // 4].mean() / rate.mean()
    even = 1 - np.abs(rate - rate.mean()).mean() / rate.mean()
    assert zone.area_m2 == pytest.approx(81, rel=1e-12)
    assert zone.mean_mm_h == pytest.approx(rate.mean(), rel=1e-3)
    assert zone.uniformity_lq == pytest.approx(quarter, abs=1e-3)
    assert zone.christiansen_percent / 100 == pytest.approx(even, abs=1e-3)
    spot = zone.driest_x_m, zone.driest_y_m
    at_spot = float(exact_rate(heads, profile, *spot))
    assert zone.driest_mm_h == pytest.approx(at_spot, rel=1e-3)
    assert at_spot <= np.quantile(rate, 0.001)


# The mean once more by adaptive quadrature, over a quarter of the square, which is like
# the rest.
@pytest.mark.parametrize("radius", [8.0, 9.0, 10.5])
def test_mean_of_a_square_agrees_with_adaptive_quadrature(lay, radius):
    corners = ((0, 0, 45), (0, 9, 135), (9, 9, 225), (9, 0, 315))
    heads = [(x, y, 90, facing, radius, 3.0) for x, y, facing in corners]

    def rate(y, x):
        return float(exact_rate(heads, "triangular", x, y))

    total = integrate.dblquad(rate, 0, 4.5, 0, 4.5, epsabs=0.05, epsrel=1e-4)[0]
    assert lay(heads, cell_m=0.05).mean_mm_h == pytest.approx(total / 4.5**2, rel=1e-3)


# The same square on the cell that a site gets by default.
def test_default_cell_is_fine_enough(lay):
    corners = ((0, 0, 45), (0, 9, 135), (9, 9, 225), (9, 0, 315))
    heads = [(x, y, 90, facing, 9.0, 3.0) for x, y, facing in corners]
    usual, fine = lay(heads), lay(heads, cell_m=0.05)

    assert usual.mean_mm_h == pytest.approx(fine.mean_mm_h, rel=2e-3)
    assert usual.uniformity_lq == pytest.approx(fine.uniformity_lq, abs=3e-3)
    assert usual.scheduling_coefficient == pytest.approx(
        fine.scheduling_coefficient, rel=0.01
    )


# Law: 2 half circles, 3 thirds or 4 quarters of the flow at one place are a circle.
@pytest.mark.parametrize("arcs", [(180, 180), (120, 120, 120), (90, 90, 90, 90),
                                  (270, 90), (300, 45, 15)])  # fmt: skip
@pytest.mark.parametrize("profile", PROFILES)
def test_arcs_that_make_a_circle_lay_what_a_full_circle_lays(lay, arcs, profile):
    outline = box(-10, -10, 10, 10)
    full = lay([(0, 0, 360, 0, 7, 12)], outline, profile=profile)
    parts, start = [], 0.0
    for arc in arcs:
        parts.append((0, 0, arc, start + arc / 2, 7, 12 * arc / 360))
        start += arc
    parts = lay(parts, outline, profile=profile)

    # Each part is scaled to its own flow on the cells that it wets.
    np.testing.assert_allclose(
        parts.rate_mm_h, full.rate_mm_h, atol=0.01 * full.rate_mm_h.max()
    )


# Exact law: the square between four quarter circles gets what one full circle lays,
# folded into a square of an endless lattice of such heads.
@pytest.mark.parametrize("profile", PROFILES)
def test_quarters_at_four_corners_equal_a_full_circle_of_a_lattice(lay, profile):
    corners = ((0, 0, 45), (0, 6, 135), (6, 6, 225), (6, 0, 315))
    square = box(0, 0, 6, 6)
    quarters = lay(
        [(x, y, 90, facing, 6, 2.0) for x, y, facing in corners], square,
        profile=profile,
    )  # fmt: skip
    lattice = [
        (6 * i, 6 * j, 360, 0, 6, 8.0) for i in range(-1, 3) for j in range(-1, 3)
    ]
    full = lay(lattice, square, profile=profile)

    inside = full.ground_m2 > 0
    small = quarters.ground_m2 > 0
    np.testing.assert_allclose(
        quarters.rate_mm_h[small], full.rate_mm_h[inside], rtol=1e-9
    )
    assert quarters.mean_mm_h == pytest.approx(60 * 8 / 36, rel=1e-9)


@pytest.mark.parametrize("profile", PROFILES)
def test_symmetric_layout_gives_a_symmetric_map(lay, profile):
    zone = lay(three_by_three(7.3, 7.7, 9), profile=profile)

    rate = zone.rate_mm_h
    for turned in (rate[::-1], rate[:, ::-1], rate.T):
        np.testing.assert_allclose(turned, rate, rtol=1e-9, atol=1e-9)


def rotated(heads, degrees):
    """Heads turned with the clock about the origin, and so what they face."""
    rows = np.array(heads, float)
    turn = np.radians(degrees)
    c, s = np.cos(turn), np.sin(turn)
    x, y = rows[:, 0].copy(), rows[:, 1].copy()
    rows[:, 0], rows[:, 1] = c * x + s * y, -s * x + c * y
    rows[:, 3] += degrees
    return rows


def test_turning_the_plan_a_quarter_turns_the_map(lay):
    heads = random_heads(4)
    straight, turned = lay(heads), lay(rotated(heads, 90))

    # With the clock: what lay to the north lies to the east.
    np.testing.assert_allclose(
        turned.rate_mm_h, np.rot90(straight.rate_mm_h, 1), rtol=1e-6, atol=1e-6
    )


@pytest.mark.parametrize("degrees", [10, 33, 45, 200])
def test_turning_the_plan_changes_no_number(lay, degrees):
    heads = three_by_three(8, 8.3, 10)
    straight, turned = lay(heads), lay(rotated(heads, degrees))

    assert turned.area_m2 == pytest.approx(straight.area_m2, rel=1e-7)
    assert turned.mean_mm_h == pytest.approx(straight.mean_mm_h, rel=2e-3)
    assert turned.uniformity_lq == pytest.approx(straight.uniformity_lq, abs=5e-3)
    assert turned.christiansen_percent == pytest.approx(
        straight.christiansen_percent, abs=0.3
    )
    assert turned.scheduling_coefficient == pytest.approx(
        straight.scheduling_coefficient, rel=0.03
    )


def test_facing_is_the_same_a_turn_on(lay):
    heads = np.array(three_by_three(8, 8.3, 10))
    later = heads.copy()
    later[:, 3] -= 360

    np.testing.assert_allclose(
        lay(later).rate_mm_h, lay(heads).rate_mm_h, rtol=1e-9, atol=1e-9
    )


@pytest.mark.parametrize(
    ("facing", "x", "y"), [(0, 0, 3), (90, 3, 0), (180, 0, -3), (270, -3, 0)]
)
def test_facing_goes_clockwise_from_north(lay, facing, x, y):
    zone = lay([(0, 0, 90, facing, 6, 4)], box(-7, -7, 7, 7))

    weight = zone.rate_mm_h / zone.rate_mm_h.sum()
    middle = np.array([(weight.sum(axis=0) * zone.grid.x_m).sum(),
                       (weight.sum(axis=1) * zone.grid.y_m).sum()])  # fmt: skip
    toward = np.array([x, y]) / 3
    assert middle @ toward > 2
    assert middle - (middle @ toward) * toward == pytest.approx([0, 0], abs=1e-9)


def test_even_ground_is_perfect_by_every_measure(lay):
    zone = lay([(0, 0, 360, 0, 9, 20)], box(-4, -3, 4, 3), profile="uniform")

    assert zone.uniformity_lq == pytest.approx(1, rel=1e-9)
    assert zone.christiansen_percent == pytest.approx(100, rel=1e-9)
    assert zone.scheduling_coefficient == pytest.approx(1, rel=1e-9)
    assert zone.driest_mm_h == pytest.approx(zone.mean_mm_h, rel=1e-9)


# Square of 12 m, head in the middle: the driest square of 5 % of 144 m² is the
# corner's, of side 2.683 m; its mean by adaptive quadrature.
def test_scheduling_coefficient_is_that_of_the_driest_corner(lay):
    zone = lay([(6, 6, 360, 0, 10, 20)], box(0, 0, 12, 12), cell_m=0.1)
    side = np.sqrt(0.05 * 144)

    def rate(y, x):
        return max(1 - np.hypot(x - 6, y - 6) / 10, 0.0)

    corner = integrate.dblquad(rate, 0, side, 0, side)[0] / side**2
    mean = 4 * integrate.dblquad(rate, 0, 6, 0, 6)[0] / 144
    assert zone.scheduling_coefficient == pytest.approx(mean / corner, rel=0.01)


# Brute force over every square of cells of just 5 % of the ground: 9 by 9 of 40 by 40.5
# would be 5 %, so 36 by 45 cells are taken, 81 of 1,620.
def test_scheduling_coefficient_agrees_with_every_window(lay):
    zone = lay(random_heads(8), box(0, 0, 7.2, 9.0), cell_m=0.2)
    rows, columns = (np.flatnonzero((zone.ground_m2 > 0).any(axis=a)) for a in (1, 0))
    rate = zone.rate_mm_h[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]

    assert rate.shape == (45, 36)
    windows = np.lib.stride_tricks.sliding_window_view(rate, (9, 9)).mean(axis=(2, 3))
    found = zone.mean_mm_h / zone.scheduling_coefficient
    assert found <= windows.min() * (1 + 1e-9)
    assert found == pytest.approx(windows.min(), rel=0.02)


def test_driest_spot_lies_where_a_head_is_missing(lay):
    heads = [head for head in three_by_three(8, 8.3, 10) if head[:2] != (16, 16)]
    zone = lay(heads, box(0, 0, 16, 16))

    assert zone.driest_x_m > 14
    assert zone.driest_y_m > 14
    assert zone.driest_mm_h == pytest.approx(np.nanmin(zone.ground_mm_h), rel=1e-9)


def test_hull_of_the_heads_counts_where_there_is_no_outline(lay):
    zone = lay(three_by_three(8, 8.3, 10))

    assert not zone.outlined
    assert zone.area_m2 == pytest.approx(256, rel=1e-12)


def test_scaling_all_flows_changes_the_mean_alone(lay):
    heads = random_heads(2)
    more = heads.copy()
    more[:, 5] *= 3
    one, three = lay(heads), lay(more)

    assert three.mean_mm_h == pytest.approx(3 * one.mean_mm_h, rel=1e-9)
    assert three.uniformity_lq == pytest.approx(one.uniformity_lq, rel=1e-9)
    assert three.christiansen_percent == pytest.approx(
        one.christiansen_percent, rel=1e-9
    )


def test_large_zone_gets_coarser_cells_and_keeps_its_water(lay):
    heads = [(x, y, 360, 0, 15, 50) for x in (0, 900) for y in (0, 900)]
    zone = lay(heads, cell_m=0.05)

    assert zone.grid.rows * zone.grid.columns < 1_100_000
    laid = zone.rate_mm_h.sum() * zone.grid.cell_m2 / 60
    assert laid == pytest.approx(200, rel=1e-12)
