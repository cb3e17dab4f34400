"""Profiles along the throw: shapes, limits, and the volume under each."""

import numpy as np
import pytest
from scipy import integrate

from scheduler.rates.coverage import throw


# Volume under each when turned about the head, over π R² and the rate at the head:
# a cone 1/3, half an ellipsoid 2/3, a cylinder 1 (solid geometry).
@pytest.mark.parametrize(
    ("name", "volume"), [("triangular", 1 / 3), ("elliptical", 2 / 3), ("uniform", 1.0)]
)
def test_profile_turned_about_the_head_has_the_volume_of_its_solid(name, volume):
    profile = throw.PROFILES[name]

    found = integrate.quad(lambda r: float(profile(r)) * 2 * r, 0, 1)[0]
    assert found == pytest.approx(volume, rel=1e-7)


@pytest.mark.parametrize("name", list(throw.PROFILES))
def test_profile_is_1_at_the_head_and_0_beyond_the_rim(name):
    value = throw.PROFILES[name](np.array([0.0, 1.001, 7.0, np.nan]))

    np.testing.assert_array_equal(value, [1, 0, 0, np.nan])


@pytest.mark.parametrize("name", list(throw.PROFILES))
def test_profile_never_rises_with_distance_and_keeps_the_shape(name):
    share = np.linspace(0, 1.2, 24).reshape(4, 6)
    value = throw.PROFILES[name](share)

    assert value.shape == (4, 6)
    assert np.all(np.diff(value.ravel()) <= 0)


@pytest.mark.parametrize("name", list(throw.PROFILES))
def test_profile_refuses_a_negative_distance(name):
    with pytest.raises(ValueError, match="share_of_radius must be 0 or more"):
        throw.PROFILES[name]([-0.1, 0.5])


# Arcs that make up a circle hold all of every cell, whatever its size: exact law.
@pytest.mark.parametrize("arcs", [(360,), (180, 180), (90, 150, 120), (10, 350)])
@pytest.mark.parametrize("width", [0.05, 0.7, 5.0])
def test_arcs_of_a_circle_share_every_cell_out(arcs, width):
    east, north = np.meshgrid(np.linspace(-3, 3, 41), np.linspace(-3, 3, 41))
    total, start = np.zeros(east.shape), 17.0
    for arc in arcs:
        spray = throw.Spray(throw.profile_uniform, 100.0, arc, start + arc / 2)
        total += spray.weight(east, north, width)
        start += arc

    np.testing.assert_allclose(total, 1, rtol=1e-12)


@pytest.mark.parametrize("arc", [30, 90, 180, 270, 359])
def test_cell_at_the_head_gets_the_share_of_its_arc(arc):
    spray = throw.Spray(throw.profile_triangular, 5.0, arc, 77.0)

    weight = spray.weight(np.zeros((1, 1)), np.zeros((1, 1)), 0.25)
    assert weight[0, 0] == pytest.approx(arc / 360, rel=1e-12)
