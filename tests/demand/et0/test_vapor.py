"""Checks of the vapor formulas; FAO-56 is Allen and others (1998), paper 56."""

from decimal import Decimal

import numpy as np
import pytest

from scheduler.demand.et0 import vapor


def printed(text):
    """The number as a source prints it, give or take half a unit of its last digit."""
    number = Decimal(text)
    unit = Decimal(1).scaleb(number.as_tuple().exponent)
    return pytest.approx(float(number), abs=float(unit / 2))


@pytest.mark.parametrize(
    ("temperature_c", "pressure_kpa"),
    [
        # FAO-56, example 3, p. 36.
        (24.5, "3.075"),
        (15, "1.705"),
        (19.75, "2.30"),
        # FAO-56, example 4, p. 38.
        (19.5, "2.267"),
        # FAO-56, example 18, p. 72.
        (21.5, "2.564"),
        (12.3, "1.431"),
        # FAO-56, annex 2, table 2.3.
        (10, "1.228"),
        (20, "2.338"),
        (30, "4.243"),
        (40, "7.376"),
    ],
)
def test_saturation_vapor_pressure_agrees_with_fao56(temperature_c, pressure_kpa):
    assert vapor.saturation_vapor_pressure(temperature_c) == printed(pressure_kpa)


# Exact: the exponent is 0 at 0 °C.
def test_saturation_vapor_pressure_at_0_c_is_its_first_constant():
    assert vapor.saturation_vapor_pressure(0) == 0.6108


@pytest.mark.parametrize(
    ("temperature_c", "slope"),
    [
        # FAO-56, example 17, p. 70, (34.8 + 25.6) / 2.
        (30.2, "0.246"),
        # FAO-56, example 18, p. 72, (21.5 + 12.3) / 2.
        (16.9, "0.122"),
        # FAO-56, example 19, p. 75.
        (28, "0.220"),
        (38, "0.358"),
        # FAO-56, example 20, p. 77, (26.6 + 14.8) / 2.
        (20.7, "0.150"),
        # FAO-56, annex 2, table 2.4.
        (10, "0.082"),
        (20, "0.145"),
        (30, "0.243"),
        (40, "0.393"),
    ],
)
def test_saturation_vapor_pressure_slope_agrees_with_fao56(temperature_c, slope):
    assert vapor.saturation_vapor_pressure_slope(temperature_c) == printed(slope)


# Law: the slope is the derivative of the pressure. 4098 for 17.27 · 237.3 = 4098.17
# is 4e-5 off; the central difference over 0.002 °C adds less than 1e-6.
def test_saturation_vapor_pressure_slope_is_the_derivative():
    temperature_c = np.linspace(-80, 55, 271)
    rise = vapor.saturation_vapor_pressure(
        temperature_c + 0.001
    ) - vapor.saturation_vapor_pressure(temperature_c - 0.001)

    np.testing.assert_allclose(
        vapor.saturation_vapor_pressure_slope(temperature_c), rise / 0.002, rtol=5e-5
    )


@pytest.mark.parametrize(
    ("tmin_c", "tmax_c", "pressure_kpa"),
    [
        # FAO-56, example 3, p. 36.
        (15, 24.5, "2.39"),
        # FAO-56, example 17, p. 70.
        (25.6, 34.8, "4.42"),
        # FAO-56, example 18, p. 72.
        (12.3, 21.5, "1.997"),
        # FAO-56, example 20, p. 77.
        (14.8, 26.6, "2.58"),
    ],
)
def test_mean_saturation_vapor_pressure_agrees_with_fao56(tmin_c, tmax_c, pressure_kpa):
    assert vapor.mean_saturation_vapor_pressure(tmin_c, tmax_c) == printed(pressure_kpa)


# Test suite of the refet library (test_daily.py), Fallon, Nevada, 1 July 2015:
# 66.65 to 102.80 °F, dew point 49.84 °F. es to 17 digits, ea to 8.
def test_vapor_pressures_agree_with_fallon():
    tmin_c, tmax_c, dew_point_c = ((f - 32) / 1.8 for f in (66.65, 102.80, 49.84))

    assert vapor.mean_saturation_vapor_pressure(tmin_c, tmax_c) == pytest.approx(
        4.6747236227258835, rel=1e-12
    )
    assert vapor.vapor_pressure_from_dew_point(dew_point_c) == printed("1.2206674")


# FAO-56, example 4, p. 38: 1,200 m, aspirated.
def test_vapor_pressure_from_wet_bulb_agrees_with_example_4():
    assert vapor.vapor_pressure_from_wet_bulb(25.6, 19.5, 87.9) == printed("1.91")


# Exact: a wet bulb that is not cooled stands in saturated air, at any pressure; and
# FAO-56, eq. 16, takes 0.000662 · 100 · 5 = 0.331 kPa off where aspirated (which is
# the default), 0.4 kPa by 0.0008 in natural ventilation, 0.6 kPa by 0.0012 indoors.
def test_vapor_pressure_from_wet_bulb_falls_with_the_cooling():
    saturated = vapor.vapor_pressure_from_wet_bulb(20, 20, [60, 100])
    aspirated = vapor.vapor_pressure_from_wet_bulb(25, 20, 100)
    natural = vapor.vapor_pressure_from_wet_bulb(25, 20, 100, 0.0008)
    indoors = vapor.vapor_pressure_from_wet_bulb(25, 20, 100, 0.0012)

    assert saturated == pytest.approx(2.338, abs=0.0005)  # FAO-56, table 2.3
    assert saturated[0] - aspirated == pytest.approx(0.331, rel=1e-12)
    assert natural - indoors == pytest.approx(0.2, rel=1e-12)


# FAO-56, example 18, p. 72: humidity 63 to 84 %.
def test_vapor_pressure_from_humidity_extremes_agrees_with_example_18():
    ea = vapor.vapor_pressure_from_humidity_extremes(12.3, 21.5, 63, 84)

    assert ea == printed("1.409")


# FAO-56, example 20, p. 77: dew point taken as the minimum, 14.8 °C.
def test_vapor_pressure_from_minimum_temperature_agrees_with_example_20():
    assert vapor.vapor_pressure_from_minimum_temperature(14.8) == printed("1.68")


# Exact: eq. 19 is half of the printed es of example 3 (2.39 kPa, p. 36) at 50 %,
# so half of its half unit; all of it at 100 %, none at 0 %.
def test_vapor_pressure_from_mean_humidity_is_a_share_of_saturation():
    ea = vapor.vapor_pressure_from_mean_humidity(15, 24.5, [0, 50, 100])

    assert ea[0] == 0
    assert ea[1] == pytest.approx(2.39 / 2, abs=0.0025)
    assert ea[2] == printed("2.39")


# Exact: with one temperature all day the two ways from humidity are one.
def test_vapor_pressure_ways_agree_where_nothing_varies():
    temperature_c = np.linspace(-30, 45, 16)
    mean = vapor.vapor_pressure_from_mean_humidity(temperature_c, temperature_c, 60)
    extremes = vapor.vapor_pressure_from_humidity_extremes(
        temperature_c, temperature_c, 60, 60
    )

    np.testing.assert_allclose(mean, extremes, rtol=1e-12)


NAN_ROW = np.array([[np.nan], [10.0]])


@pytest.mark.parametrize(
    "formula",
    [
        lambda low, high: vapor.mean_saturation_vapor_pressure(low, high),
        lambda low, high: vapor.vapor_pressure_from_wet_bulb(high, low, 100),
        lambda low, high: vapor.vapor_pressure_from_mean_humidity(low, high, 50),
        lambda low, high: vapor.vapor_pressure_from_mean_humidity(5, 9, low + high),
        lambda low, high: vapor.vapor_pressure_from_humidity_extremes(
            low, high, 30, 60
        ),
        lambda low, high: vapor.vapor_pressure_from_humidity_extremes(5, 9, low, high),
    ],
)
def test_vapor_formulas_of_two_arguments_broadcast_and_keep_nan(formula):
    result = formula(NAN_ROW, np.array([11.0, np.nan, 12.0]))

    assert result.shape == (2, 3)
    assert np.isnan(result).tolist() == [[True] * 3, [False, True, False]]


@pytest.mark.parametrize(
    "formula",
    [
        vapor.saturation_vapor_pressure,
        vapor.saturation_vapor_pressure_slope,
        vapor.vapor_pressure_from_dew_point,
        vapor.vapor_pressure_from_minimum_temperature,
    ],
)
def test_vapor_formulas_of_temperature_keep_shape_and_nan(formula):
    result = formula([[1.0, np.nan], [20.0, -5.0]])

    assert np.isnan(result).tolist() == [[False, True], [False, False]]


@pytest.mark.parametrize("wrong_c", [-91, 95, [10, 72.5]])
@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("temperature_c", vapor.saturation_vapor_pressure),
        ("temperature_c", vapor.saturation_vapor_pressure_slope),
        ("tmin_c", lambda c: vapor.mean_saturation_vapor_pressure(c, 20)),
        ("tmax_c", lambda c: vapor.mean_saturation_vapor_pressure(-20, c)),
        ("dew_point_c", vapor.vapor_pressure_from_dew_point),
        ("dry_bulb_c", lambda c: vapor.vapor_pressure_from_wet_bulb(c, 20, 100)),
        ("wet_bulb_c", lambda c: vapor.vapor_pressure_from_wet_bulb(20, c, 100)),
        ("tmin_c", lambda c: vapor.vapor_pressure_from_mean_humidity(c, 20, 50)),
        (
            "tmax_c",
            lambda c: vapor.vapor_pressure_from_humidity_extremes(-20, c, 30, 60),
        ),
        ("tmin_c", vapor.vapor_pressure_from_minimum_temperature),
    ],
)
def test_vapor_formulas_refuse_temperature_never_met_on_earth(name, formula, wrong_c):
    with pytest.raises(ValueError, match=f"^{name} must be -90 to 60, got"):
        formula(wrong_c)


@pytest.mark.parametrize(
    "formula",
    [
        vapor.mean_saturation_vapor_pressure,
        lambda low, high: vapor.vapor_pressure_from_mean_humidity(low, high, 50),
        lambda low, high: vapor.vapor_pressure_from_humidity_extremes(
            low, high, 30, 60
        ),
    ],
)
def test_vapor_formulas_refuse_maximum_under_minimum(formula):
    with pytest.raises(ValueError, match="tmax_c must be tmin_c or more, got 2"):
        formula([10, 20], [15, 17.5])


@pytest.mark.parametrize("wrong_percent", [-1, 101, [50, 620]])
@pytest.mark.parametrize(
    ("name", "formula"),
    [
        (
            "humidity_percent",
            lambda rh: vapor.vapor_pressure_from_mean_humidity(5, 9, rh),
        ),
        (
            "humidity_min_percent",
            lambda rh: vapor.vapor_pressure_from_humidity_extremes(5, 9, rh, 100),
        ),
        (
            "humidity_max_percent",
            lambda rh: vapor.vapor_pressure_from_humidity_extremes(5, 9, 0, rh),
        ),
    ],
)
def test_vapor_formulas_refuse_humidity_outside_percent(name, formula, wrong_percent):
    with pytest.raises(ValueError, match=f"^{name} must be 0 to 100, got"):
        formula(wrong_percent)


def test_vapor_pressure_from_humidity_extremes_refuses_extremes_swapped():
    with pytest.raises(ValueError, match="humidity_max_percent must be humidity_min"):
        vapor.vapor_pressure_from_humidity_extremes(12.3, 21.5, 84, 63)


def test_vapor_pressure_from_wet_bulb_refuses_what_no_psychrometer_shows():
    with pytest.raises(ValueError, match="wet_bulb_c must be dry_bulb_c or less, got"):
        vapor.vapor_pressure_from_wet_bulb(19.5, 25.6, 87.9)
    # 0.6108 kPa at 0 °C, less 0.000662 · 101.3 · 40 = 2.68 kPa.
    with pytest.raises(ValueError, match="wet_bulb_c must be near enough"):
        vapor.vapor_pressure_from_wet_bulb(40, 0, 101.3)
    with pytest.raises(ValueError, match="pressure_kpa must be 0 or more, got -1"):
        vapor.vapor_pressure_from_wet_bulb(20, 15, -1)
    with pytest.raises(ValueError, match="psychrometer_coefficient must be 0 or more"):
        vapor.vapor_pressure_from_wet_bulb(20, 15, 100, -0.0008)


def test_vapor_formulas_leave_their_arguments_alone():
    tmin_c, tmax_c = np.array([10.0, 12.0]), np.array([20.0, 25.0])
    vapor.vapor_pressure_from_humidity_extremes(tmin_c, tmax_c, 30, 60)

    assert tmin_c.tolist() == [10, 12]
    assert tmax_c.tolist() == [20, 25]
