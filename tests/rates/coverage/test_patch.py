"""The driest patch and the bands: by hand, against brute force, and what mends it."""

import numpy as np
import pytest
from laid_heads import box, random_heads, site_of, three_by_three
from scipy import integrate

from scheduler.rates.coverage import grid as coverage
from scheduler.rates.coverage import patch

CORNERS = ((0, 0, 45), (0, 10, 135), (10, 10, 225), (10, 0, 315))


@pytest.fixture
def lay(base):
    def laid(heads, outline=None, **options):
        return coverage.cover_site(site_of(base, heads, outline), **options).zones[0]

    return laid


def mend(base, heads, outline):
    site = site_of(base, heads, outline)
    zone = coverage.cover_site(site).zones[0]
    return patch.mend_patch(site.heads, zone.heads, zone.head_l_min, zone.patch)


# A square of 10 m, quarter circles of 5 m with an even 1 mm a time at its corners: they
# wet π/4 of it, and the star between them, 21.46 %, stays dry. The square of 5 % about
# the middle reaches to 1.118 m from it on each side, its corners to 1.58 m; the nearest
# water is 5√2 - 5 = 2.07 m off. So the patch is there, dry, and wet ground has 4/π =
# 127 % of the mean.
def test_four_quarters_that_do_not_meet_leave_a_dry_star(lay):
    heads = [(x, y, 90, facing, 5, 4.0) for x, y, facing in CORNERS]
    zone = lay(heads, box(0, 0, 10, 10), profile="uniform", cell_m=0.1)
    found = zone.patch

    assert found.share == 0
    assert found.minutes_for_an_hour == np.inf
    assert np.hypot(found.x_m - 5, found.y_m - 5) < 5 * np.sqrt(2) - 5
    assert zone.band_shares[0] == pytest.approx(1 - np.pi / 4, abs=0.01)
    assert zone.band_shares[3] == pytest.approx(np.pi / 4, abs=0.02)


# The same square with an even sheet of water over it from a head in the middle: a
# circle of 7.5 m reaches every corner (7.07 m). Sheet: 60 · 40 / (π · 7.5²) = 13.581
# mm/h. A quarter: 60 · 2 / (π · 5² / 4) = 6.112 mm/h on π/4 of the ground, 4.8 of the
# mean. So the mean is 18.381, the patch in the star 13.581 / 18.381 = 73.9 %, and 60
# minutes there take 60 / 0.739 = 81.2.
def test_patch_between_four_quarters_gets_the_sheet_alone(lay):
    heads = [(x, y, 90, facing, 5, 2.0) for x, y, facing in CORNERS]
    heads.append((5, 5, 360, 0, 7.5, 40.0))
    zone = lay(heads, box(0, 0, 10, 10), profile="uniform", cell_m=0.1)
    found = zone.patch

    assert zone.mean_mm_h == pytest.approx(18.381, rel=2e-3)
    assert found.share == pytest.approx(0.739, abs=2e-3)
    assert found.minutes_for_an_hour == pytest.approx(81.2, abs=0.3)
    assert abs(found.x_m - 5) < 1.2
    assert abs(found.y_m - 5) < 1.2
    # 5 % of 100 m² is a square of √5 = 2.236 m.
    assert 2 * found.half_m == pytest.approx(2.236, rel=1e-3)
    assert zone.band_shares[1] == pytest.approx(1 - np.pi / 4, abs=0.01)


# Square of 12 m, head in the middle: the driest square of 5 % of 144 m², of side
# 2.683 m, lies in a corner, where a patch is a square about its cell that reaches as
# much beyond the ground: its mean by adaptive quadrature.
def test_driest_patch_of_one_head_is_a_corner(lay):
    zone = lay([(6, 6, 360, 0, 10, 20)], box(0, 0, 12, 12), cell_m=0.1)
    side = np.sqrt(0.05 * 144)

    def rate(y, x):
        return max(1 - np.hypot(x - 6, y - 6) / 10, 0.0)

    corner = integrate.dblquad(rate, 0, side, 0, side)[0] / side**2
    mean = 4 * integrate.dblquad(rate, 0, 6, 0, 6)[0] / 144
    assert zone.patch.share == pytest.approx(corner / mean, rel=0.01)
    for place in (zone.patch.x_m, zone.patch.y_m):
        assert min(place, 12 - place) < side


@pytest.mark.parametrize("seed", range(2))
def test_bands_add_up_to_the_ground_and_are_counted_cell_by_cell(lay, seed):
    zone = lay(random_heads(seed), box(-6, -4, 6, 4))
    shares = zone.band_shares

    assert shares.sum() == pytest.approx(1, rel=1e-12)
    of_mean = zone.ground_mm_h / zone.mean_mm_h
    dry = zone.ground_m2[of_mean < 0.7].sum() / zone.ground_m2.sum()
    wet = zone.ground_m2[of_mean > 1.3].sum() / zone.ground_m2.sum()
    assert shares[0] == pytest.approx(dry, abs=1e-6)
    assert shares[-1] == pytest.approx(wet, abs=1e-6)


def test_even_ground_is_all_in_the_middle_band(lay):
    heads = [(0, 0, 360, 0, 9, 20)]
    zone = lay(heads, box(-4, -3, 4, 3), profile="uniform")

    assert zone.band_shares.tolist() == pytest.approx([0, 0, 1, 0, 0])
    assert zone.patch.share == pytest.approx(1, rel=1e-9)


# Common practice: what is dry behind a row is mended by moving it or with a head more;
# a small nozzle on a full circle by a larger one.
@pytest.mark.parametrize(
    ("heads", "ground", "why"),
    [
        (three_by_three(8, 8.3, 10), box(0, 0, 16, 16), "even"),
        ([(0, 0, 90, 45, 6, 4), (6, 0, 90, 315, 6, 4)], box(0, 0, 6, 14), "unreached"),
        ([(0, 0, 90, 45, 9, 4)], box(0, 0, 6, 6), "one-head"),
        ([(0, 0, 90, 45, 9, 8), (9, 0, 90, 315, 9, 8), (9, 9, 90, 225, 9, 8),
          (0, 9, 90, 135, 9, 2)], box(0, 0, 9, 9), "nozzle"),
    ],
)  # fmt: skip
def test_mend_says_why_a_patch_is_dry(base, heads, ground, why):
    found = mend(base, heads, ground)

    assert found.why == why
    if why == "nozzle":
        assert found.head == 3
        assert found.share == pytest.approx(2 / 8)


# The patch behind the row: from the nearest head by Pythagoras, north of it.
def test_mend_leads_from_the_nearest_head_to_the_patch(base):
    heads = [(0, 0, 90, 45, 6, 4), (6, 0, 90, 315, 6, 4)]
    site = site_of(base, heads, box(0, 0, 6, 14))
    zone = coverage.cover_site(site).zones[0]
    found = patch.mend_patch(site.heads, zone.heads, zone.head_l_min, zone.patch)

    place = np.array([zone.patch.x_m, zone.patch.y_m])
    away = [np.hypot(*(place - head[:2])) for head in np.array(heads)[:, :2]]
    assert found.away_m == pytest.approx(min(away))
    turn = np.radians(found.toward_deg)
    back = place - found.away_m * np.array([np.sin(turn), np.cos(turn)])
    assert back == pytest.approx(np.array(heads)[found.head, :2], abs=1e-9)
