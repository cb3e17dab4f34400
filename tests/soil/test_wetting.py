"""Ground that emitters wet: the handbook's table, and geometry."""

import numpy as np
import pytest

from scheduler import units
from scheduler.soil import wetting

GAL_H = units.L_PER_GAL / 60


# NEH 623 chapter 7, widths in ft wetted by one emitter of 1 gal/h, uniform soil (from
# memory): sand, loam and clay of the package's intake rates.
@pytest.mark.parametrize(
    ("intake_in_h", "depth_ft", "width_ft"),
    [(0.60, 2.5, 1.5), (0.35, 2.5, 3.0), (0.10, 2.5, 3.5),
     (0.60, 5.0, 2.5), (0.35, 5.0, 4.0), (0.10, 5.0, 5.0),
     (0.50, 1.0, 1.5), (0.40, 3.75, 3.5), (0.20, 9.0, 5.0)],
)  # fmt: skip
def test_bulb_width_is_that_of_the_table(intake_in_h, depth_ft, width_ft):
    found = wetting.bulb_width(
        intake_in_h * units.MM_PER_IN, depth_ft * units.M_PER_FT * 1000, GAL_H
    )

    assert found / units.M_PER_FT == pytest.approx(width_ft)


# Schwartzman and Zur 1986 (from memory): width goes with the flow's power 0.17.
def test_bulb_width_goes_with_the_flow_and_keeps_nan():
    half, one = wetting.bulb_width(9, 762, [GAL_H / 2, GAL_H])

    assert half / one == pytest.approx(0.5**0.17)
    assert np.isnan(wetting.bulb_width([np.nan, 9], 762, [1, np.nan])).all()


# Exact: four circles of 2 ft across are 4 · π ft², on 50 ft² a share of 0.2513.
def test_counted_emitters_wet_their_circles():
    share = wetting.wetted_share_by_count(4, 2.0, 50.0)

    assert share == pytest.approx(4 * np.pi / 50, rel=1e-5)
    assert wetting.wetted_share_by_count(100, 2.0, 50.0) == 1


# By brute force: points on a fine raster that lie within half a width of an emitter.
@pytest.mark.parametrize(
    ("width", "spacing", "rows"),
    [(1.0, 2.0, 3.0), (1.0, 1.0, 1.5), (1.0, 0.3, 2.0), (1.0, 0.3, 0.9)],
)
def test_a_grid_wets_what_a_raster_counts(width, spacing, rows):
    x = np.linspace(0, spacing, 400, endpoint=False)
    y = np.linspace(-rows / 2, rows / 2, 400, endpoint=False)
    places = spacing * np.arange(-4, 6)
    away = (x[:, None] - places) ** 2
    wet = np.zeros((400, 400), dtype=bool)
    for line in (-rows, 0.0, rows):
        near = away.min(axis=1)[:, None] + (y[None, :] - line) ** 2
        wet |= near <= (width / 2) ** 2
    share = float(wetting.wetted_share_of_grid(width, spacing, rows))

    # A strip is as wide as its bulbs at their widest: a tenth over the scallops.
    assert share == pytest.approx(wet.mean(), rel=0.12)


# Exact: 0.3 m of tube of 15.24 mm inside hold π/4 · 0.01524² · 0.3 m³ = 0.0547 L.
def test_line_fill_is_the_tubes_volume_over_the_flow():
    inside_m = 0.600 * 0.0254
    volume_l = np.pi / 4 * inside_m**2 * 0.3 * 1000

    assert wetting.line_fill(0.3, 0.04) == pytest.approx(volume_l / 0.04, rel=5e-3)


@pytest.mark.parametrize(
    ("function", "arguments", "name"),
    [(wetting.bulb_width, (0, 1, 1), "intake_mm_h"),
     (wetting.bulb_width, (1, 0, 1), "root_depth_mm"),
     (wetting.bulb_width, (1, 1, 0), "emitter_flow_l_min"),
     (wetting.wetted_share_by_count, (0, 1, 1), "emitters"),
     (wetting.wetted_share_by_count, (1, 1, 0), "area_m2"),
     (wetting.wetted_share_of_grid, (0, 1, 1), "bulb_width_m"),
     (wetting.wetted_share_of_grid, (1, 1, -1), "row_spacing_m"),
     (wetting.line_fill, (0, 1), "spacing_m")],
)  # fmt: skip
def test_what_is_not_over_0_is_refused(function, arguments, name):
    with pytest.raises(ValueError, match=f"{name} must be over 0, got"):
        function(*arguments)


# Exact: water 3 in deep at the berm of 2 m, on ground that rises 1.5 % (30 mm), is
# 76.2 − 15 mm deep in the mean; on 10 % (200 mm) a wedge of 76.2² / (2 · 200).
@pytest.mark.parametrize(
    ("slope", "depth_mm"),
    [(0, 76.2), (1.5, 61.2), (3.81, 38.1), (10, 76.2**2 / 400)],
)
def test_a_basin_holds_a_level_of_water(slope, depth_mm):
    assert wetting.basin_depth(2.0, slope) == pytest.approx(depth_mm)


# Common practice: minutes = 0.623 · basin, ft² · depth / gpm: 19.6 ft² and 3 in take
# 36.6 min at 1 gpm, what goes in meanwhile apart.
def test_a_basin_fills_in_the_minutes_of_the_rule():
    basin_m2 = 19.6 * units.M2_PER_FT2
    held_l = float(wetting.basin_depth(2.0, 0)) * basin_m2

    assert held_l / units.L_PER_GAL == pytest.approx(36.6, abs=0.1)
