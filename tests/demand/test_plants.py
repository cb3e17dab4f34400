"""Plant coefficients north and south, and the landscape coefficient."""

import numpy as np
import pytest

from scheduler.demand import plants
from scheduler.inputs import library

# University of California, page "Turfgrass Crop Coefficients (Kc)", table 1, after
# Meyer, Gibeault, Youngner (1985): monthly coefficients of turf, January first.
COOL_SEASON = [0.61, 0.64, 0.75, 1.04, 0.95, 0.88, 0.94, 0.86, 0.74, 0.75, 0.69, 0.60]
WARM_SEASON = [0.61, 0.54, 0.76, 0.72, 0.79, 0.68, 0.71, 0.71, 0.62, 0.54, 0.58, 0.55]

PRINTED = {
    "cool-season turf california": COOL_SEASON,
    "warm-season turf california": WARM_SEASON,
}


@pytest.mark.parametrize("plant", PRINTED)
@pytest.mark.parametrize("latitude_deg", [0.0, 0.1, 38.0, 90.0])
def test_coefficients_stay_as_printed_from_the_equator_north(plant, latitude_deg):
    table = library.package_plants()
    row = table.coefficient[table.names.index(plant)]

    at_place = plants.coefficients_at_latitude(row, latitude_deg)

    np.testing.assert_array_equal(at_place, PRINTED[plant])


# The method, step 4: a shift of six months. January south is July north: the list's
# second half comes first.
@pytest.mark.parametrize("plant", PRINTED)
@pytest.mark.parametrize("latitude_deg", [-0.1, -35.0, -90.0])
def test_coefficients_shift_by_six_months_south_of_the_equator(plant, latitude_deg):
    table = library.package_plants()
    row = table.coefficient[table.names.index(plant)]
    printed = PRINTED[plant]

    at_place = plants.coefficients_at_latitude(row, latitude_deg)

    np.testing.assert_array_equal(at_place, printed[6:] + printed[:6])


def test_coefficients_of_many_plants_shift_each_at_its_own_latitude():
    both = np.array([COOL_SEASON, WARM_SEASON])
    before = both.copy()

    at_places = plants.coefficients_at_latitude(both, [40.0, -40.0])

    np.testing.assert_array_equal(
        at_places, [COOL_SEASON, WARM_SEASON[6:] + WARM_SEASON[:6]]
    )
    np.testing.assert_array_equal(both, before)


def test_coefficients_refuse_a_negative_one():
    with pytest.raises(ValueError, match=r"coefficient must be 0 or more, got -0\.1"):
        plants.coefficients_at_latitude([-0.1] * 12, 40)


# Costello and others (2000), the landscape coefficient method (second-hand): KL = ks
# kmc kd. Classes from memory: ks 0.1 to 0.9, kmc 0.5 to 1.4, kd 0.5 to 1.3. By hand:
# 0.1 · 0.5 · 0.5 = 0.025; 0.9 · 1.4 · 1.3 = 1.638 (1.64); 0.5 · 0.8 · 0.9 = 0.36.
@pytest.mark.parametrize(
    ("species", "microclimate", "density", "expected"),
    [(0.1, 0.5, 0.5, 0.025), (0.9, 1.4, 1.3, 1.638), (0.5, 0.8, 0.9, 0.36),
     (0.94, 1.0, 1.0, 0.94), (0.0, 1.4, 1.3, 0.0)],
)  # fmt: skip
def test_landscape_coefficient_is_the_product(species, microclimate, density, expected):
    found = plants.landscape_coefficient(species, microclimate, density)

    assert found == pytest.approx(expected, rel=1e-12)


def test_landscape_coefficient_broadcasts_months_against_zones():
    shade = np.array([[1.0], [0.5], [np.nan]])

    found = plants.landscape_coefficient(COOL_SEASON, shade, 1.0)

    assert found.shape == (3, 12)
    np.testing.assert_array_equal(found[0], COOL_SEASON)
    np.testing.assert_allclose(found[1], np.array(COOL_SEASON) / 2, rtol=1e-15)
    assert np.isnan(found[2]).all()


@pytest.mark.parametrize(
    ("factors", "name"),
    [((-1, 1, 1), "plant_coefficient"), ((1, -1, 1), "microclimate_factor"),
     ((1, 1, -1), "density_factor")],
)  # fmt: skip
def test_landscape_coefficient_refuses_negative_factors(factors, name):
    with pytest.raises(ValueError, match=f"{name} must be 0 or more, got -1"):
        plants.landscape_coefficient(*factors)
