"""The year's water as an `<svg>` for a page: bars as high as the plan."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.text import Text

from scheduler.report.pictures.look import WATER, look
from scheduler.report.pictures.water import water_figure, water_picture

L_PER_GAL = 3.785411784  # 231 in³ of 2.54³ cm³ each
PLANNED = 1000.0 * np.array([0, 0, 3, 12, 20, 28, 31, 27, 18, 9, 2, 0])
TODAY = 1000.0 * np.array([5, 5, 5, 20, 20, 40, 40, 20, 20, 5, 5, 5])
SVG = "{http://www.w3.org/2000/svg}"


def heights(svg):
    """Heights of the plan's bars, from the corners of their paths."""
    found = []
    for path in ElementTree.fromstring(svg).iter(f"{SVG}path"):
        if path.get("style") == f"fill: {WATER}":
            corners = re.findall(r"([\d.]+) ([\d.]+)", path.get("d"))
            down = [float(y) for _, y in corners]
            found.append(max(down) - min(down))
    return np.array(found)


def texts(planned, today, units):
    with look():
        return [text.get_text() for text in
                water_figure(planned, today, units).findobj(Text)]  # fmt: skip


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("today", [None, TODAY])
def test_bars_are_as_high_as_the_plan(units, today):
    found = heights(water_picture(PLANNED, today, units, "water"))

    # A zero month leaves a bar of no height; coordinates have six digits.
    assert len(found) == 12
    assert found / found.max() == pytest.approx(PLANNED / PLANNED.max(), abs=1e-4)


def test_outline_stands_at_what_runs_today():
    with look():
        axes = water_figure(PLANNED, TODAY, "metric").axes[0]

    drawn = axes.patches[-1].get_data()
    assert drawn.values == pytest.approx(TODAY / 1000)
    assert drawn.edges == pytest.approx(np.arange(13))


@pytest.mark.parametrize(
    ("most_l", "units", "unit", "told"),
    [
        (1900.0, "metric", "L", "1,900"),
        (2000.0, "metric", "m³", "2.0"),
        (3e6, "metric", "1,000 m³", "3.0"),
        (1999 * L_PER_GAL, "us", "gal", "1,999"),
        (31_000 * L_PER_GAL, "us", "1,000 gal", "31.0"),
        (31_000_000 * L_PER_GAL, "us", "million gal", "31.0"),
        (8e12 * L_PER_GAL, "us", "million gal", "8,000,000"),
    ],
)
def test_unit_keeps_labels_short(most_l, units, unit, told):
    planned = np.where(np.arange(12) == 6, most_l, 0.0)

    found = texts(planned, None, units)
    assert unit in found
    assert f"plan (Jul {told})" in found


@pytest.mark.parametrize("today", [None, TODAY, np.zeros(12)])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_months_are_named_and_texts_lie_apart_on_the_paper(check_texts, today, units):
    with look():
        figure = water_figure(PLANNED, today, units)
        check_texts(figure)

    found = [text for text in figure.findobj(Text) if text.get_text()]
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun",
              "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]  # fmt: skip
    assert [t.get_text() for t in found if t.get_text() in months] == months
    assert min(text.get_fontsize() for text in found) >= 8


def test_large_numbers_have_their_room(check_texts):
    most = 1999e6 * L_PER_GAL * PLANNED / PLANNED.max()
    with look():
        check_texts(water_figure(most, most, "us"))


def test_year_without_water_is_drawn():
    assert heights(water_picture(np.zeros(12), None, "us", "none")).max() == 0
    assert "plan (none)" in texts(np.zeros(12), TODAY, "us")


def test_picture_is_the_same_each_time():
    first, again = (water_picture(PLANNED, TODAY, "us", "water") for _ in range(2))

    assert first == again
