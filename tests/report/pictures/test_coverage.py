"""Pictures: kinds of file, the same bytes each time, any name, what stands in them."""

import dataclasses
import io
import itertools
import re
from pathlib import Path

import numpy as np
import pytest
from matplotlib import image
from matplotlib.colors import to_rgb
from matplotlib.text import Text

from scheduler.inputs.folder import read_site
from scheduler.rates.coverage import grid as coverage
from scheduler.rates.coverage.wind import Wind
from scheduler.report.pictures import coverage as pictures
from scheduler.report.pictures import look

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def home():
    return read_site(EXAMPLES / "home")


@pytest.fixture(scope="module")
def found(home):
    return coverage.cover_site(home, cell_m=0.5)


def drawn(site, found, suffix=".png", units="us"):
    return pictures.coverage_picture(site, found, units, suffix)


def texts_of(monkeypatch, site, found, units):
    """Every text of a picture."""
    monkeypatch.setattr(pictures, "picture_bytes", lambda figure, suffix: figure)
    with look.look():
        return [t.get_text() for t in drawn(site, found, units=units).findobj(Text)]


def test_png_is_a_picture_of_some_size(home, found):
    content = drawn(home, found)

    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    pixels = image.imread(io.BytesIO(content))
    assert min(pixels.shape[:2]) > 600
    assert pixels[..., :3].std() > 0.1


def test_svg_holds_no_date_and_is_the_same_each_time(home, found):
    first, second = (drawn(home, found, ".svg") for _ in range(2))

    assert first == second
    assert first.startswith(b"<?xml")
    assert b"<dc:date>" not in first


def test_suffix_is_taken_in_any_case(home, found):
    assert drawn(home, found, ".SVG") == drawn(home, found, ".svg")


def test_picture_changes_no_setting_of_the_library(home, found):
    import matplotlib

    before = dict(matplotlib.rcParams)
    drawn(home, found)

    assert dict(matplotlib.rcParams) == before


# The numbers are those of the record, in the reader's units.
@pytest.mark.parametrize(("units", "per_unit", "form", "length"),
                         [("us", 25.4, "{:.2f} in/h", "ft"),
                          ("metric", 1.0, "{:.1f} mm/h", "m")])  # fmt: skip
def test_picture_says_zone_mean_bands_and_driest_patch(
    monkeypatch, home, found, units, per_unit, form, length
):
    texts = texts_of(monkeypatch, home, found, units)

    for zone in found.zones:
        mean = form.format(zone.mean_mm_h / per_unit)
        assert any(text.startswith(f"mean {mean} · DU") for text in texts)
        assert f"driest patch: {100 * zone.patch.share:.0f} %" in texts
    # Each band is named in the key of both zones, and on the ground where it is large.
    for band in ("under 70", "70–90", "90–110", "110–130"):
        assert texts.count(band) > 2
    assert "Zone 1: Front lawn" in texts
    assert texts.count("N") == 2
    assert sum(bool(re.fullmatch(rf"\d+ {length}", text)) for text in texts) == 2
    assert any("still air" in text for text in texts)
    assert not any(text.startswith("wind") for text in texts)
    assert {"street side", "northwest corner"} <= set(texts)


def test_picture_tells_the_wind_beside_an_arrow(monkeypatch, home):
    blown = coverage.cover_site(home, cell_m=1.0, wind=Wind(4.0, 250.0))
    texts = texts_of(monkeypatch, home, blown, "metric")

    assert texts.count("wind 4.0 m/s") == len(blown.zones)
    assert any("4.0 m/s from the west (250°)" in text for text in texts)


@pytest.mark.parametrize(
    "name",
    ["$x_1$ \\frac{1}{2} 50 % & more_", "草坪 a\nb\tc\x07 <b>&amp;</b>", "n" * 300],
)
def test_any_name_can_be_drawn(home, found, name):
    zones, heads = home.zones, home.heads
    site = dataclasses.replace(
        home,
        name=name,
        zones=dataclasses.replace(zones, name=(name,) * len(zones)),
        heads=dataclasses.replace(heads, head=(name,) * len(heads)),
    )

    assert len(drawn(site, found)) > 10_000
    assert b"\n</svg>" in drawn(site, found, ".svg")


def test_more_heads_than_can_be_named_are_drawn_without_names(monkeypatch, home, found):
    monkeypatch.setattr(pictures, "_MOST_NAMED", 5)
    texts = texts_of(monkeypatch, home, found, "us")

    assert "street side" not in texts


@pytest.mark.parametrize("zones", [1, 2, 3, 5])
def test_panels_lie_on_the_paper_and_apart(found, zones):
    panels, (width, height) = pictures._panels((found.zones * 3)[:zones])

    for panel in panels:
        assert panel.left_in >= panel.column_in > 0
        assert panel.left_in + panel.width_in < width
        assert panel.bottom_in > 0
        assert panel.bottom_in + panel.height_in < height
        across = panel.east_m - panel.west_m
        down = panel.north_m - panel.south_m
        assert across / panel.width_in == pytest.approx(down / panel.height_in)
    for one, other in itertools.pairwise(panels):
        assert (
            other.left_in >= one.left_in + one.width_in
            or other.bottom_in + other.height_in <= one.bottom_in
        )


def test_long_and_narrow_ground_and_one_head_can_be_drawn(home):
    heads = home.heads
    mine = np.flatnonzero(heads.zone == 0)
    one = {
        name: getattr(heads, name)[mine[:1]]
        for name in ("zone", "count", "arc_deg", "radius_m", "flow_l_min",
                     "pressure_kpa", "spacing_m", "row_spacing_m", "triangular",
                     "low_angle", "x_m", "y_m", "facing_deg")
    }  # fmt: skip
    alone = dataclasses.replace(heads, head=("a",), nozzle=("",), **one)
    x, y = float(alone.x_m[0]), float(alone.y_m[0])
    for half in ((0.3, 30.0), (30.0, 0.3)):
        corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half + [x, y]
        none = np.zeros((0, 2))
        outlines = (corners, *[none] * (len(home.zones) - 1))
        site = dataclasses.replace(home, heads=alone, outlines=outlines)

        assert len(drawn(site, coverage.cover_site(site), units="metric")) > 10_000


def lightness(rgb):
    """CIE L* of sRGB colours (IEC 61966-2-1 and CIE 15)."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    y = linear @ [0.2126, 0.7152, 0.0722]
    return np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3)


def rgb_of_steps():
    return np.array([to_rgb(color) for color in pictures.STEPS])


# Read in gray: each step is darker by 5 of CIE lightness or more, which is well over
# what an eye tells apart side by side (about 2; from memory), all one way.
def test_steps_darken_from_dry_to_wet():
    assert np.all(np.diff(lightness(rgb_of_steps())) < -5)


# Color-blind-safe: Viénot, Brettel and Mollon 1999, matrices for linear RGB (from
# memory); lightness still falls at every step.
@pytest.mark.parametrize(
    "matrix",
    [
        [[0.11238, 0.88762, 0], [0.11238, 0.88762, 0], [0.00401, -0.00401, 1]],
        [[0.29275, 0.70725, 0], [0.29275, 0.70725, 0], [-0.02234, 0.02234, 1]],
    ],
)
def test_steps_need_no_red_told_from_green(matrix):
    rgb = rgb_of_steps()
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    seen = np.clip(linear @ np.transpose(matrix), 0, 1)
    shown = np.where(seen <= 0.0031308, seen * 12.92, 1.055 * seen ** (1 / 2.4) - 0.055)

    assert np.all(np.diff(lightness(shown)) < -4)
