"""The picture of operating points: the curve, and one point a zone."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from trade_zones import GPM, METERS, PSI, supply_of

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.rates.curve import pressure_left
from scheduler.report.pictures.look import look
from scheduler.report.pictures.points import points_figure, points_picture

HOME = Path(__file__).parents[3] / "examples" / "home"
CURVE = {"static_pressure_kpa": 65 * PSI, "meter": METERS[0.75]}


@pytest.fixture(scope="module")
def home():
    return read_site(HOME)


def plan_of(home, **supply):
    return plan_site(dataclasses.replace(home, supply=supply_of(**supply)))


def drawn(plan, units="us"):
    """Points and lines of the picture, and its texts."""
    with look():
        (axes,) = points_figure(plan, units).axes
    points = [line for line in axes.lines if len(line.get_xdata()) == 1]
    lines = [line for line in axes.lines if len(line.get_xdata()) > 1]
    return points, lines, [text.get_text() for text in axes.texts]


@pytest.mark.parametrize(("units", "flow", "pressure"),
                         [("us", GPM, PSI), ("metric", 1.0, 1.0)])  # fmt: skip
def test_every_zone_is_a_point_on_the_curve(home, units, flow, pressure):
    plan = plan_of(home, **CURVE)
    points, lines, _ = drawn(plan, units)
    curve = lines[0]

    assert len(points) == len(home.zones)
    for row, point in enumerate(points):
        (x,), (y,) = point.get_xdata(), point.get_ydata()
        assert x * flow == pytest.approx(plan.rates.flow_l_min[row])
        assert y * pressure == pytest.approx(plan.points.pressure_kpa[row])
    left = pressure_left(plan.points.curve, np.array(curve.get_xdata()) * flow)
    assert np.array(curve.get_ydata()) * pressure == pytest.approx(left)


def test_zones_are_named_and_those_of_one_place_together(home):
    plan = plan_of(home, pressure_kpa=45 * PSI)
    texts = drawn(plan)[2]

    named = {name for text in texts for name in text.split(", ")}
    assert set(home.zones.zone) <= named


# Under their least working pressure zones are crosses; where no pressure is known
# points are hollow, at the chart's pressure.
def test_points_tell_what_is_too_low_and_what_is_not_known(home):
    low, _, _ = drawn(plan_of(home, pressure_kpa=12 * PSI))
    markers = [point.get_marker() for point in low]
    # Rotors want 25 psi, sprays 15, drip 8 (common practice).
    assert markers == ["X", "X", "X", "o", "o"]

    unknown, lines, _ = drawn(plan_of(home))
    assert not lines
    # The drip beds have no chart.
    assert [point.get_markerfacecolor() for point in unknown] == ["none"] * 3


def test_rules_of_the_supply_are_lines(home):
    bucket = {"bucket_l": 5 * GPM, "bucket_s": 20.0}
    _, lines, texts = drawn(
        plan_of(home, **CURVE, **bucket, design_flow_l_min=10 * GPM)
    )

    assert len(lines) == 3
    assert {"design flow", "bucket"} <= set(texts)


def test_one_plan_gives_the_same_bytes(home):
    plan = plan_of(home, **CURVE)

    assert points_picture(plan, "us", ".svg") == points_picture(plan, "us", ".svg")
