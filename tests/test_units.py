"""Every conversion factor against pint's registry of units."""

import pint
import pytest

from scheduler import units

# pint: an independent registry, from NIST and BIPM definitions. What a factor turns
# into what. All are exact, so only float error.
BY_PINT = {
    "MM_PER_IN": ("inch", "millimeter"),
    "M_PER_FT": ("foot", "meter"),
    "M_PER_MI": ("mile", "meter"),
    "M2_PER_FT2": ("foot ** 2", "meter ** 2"),
    "L_PER_GAL": ("US_liquid_gallon", "liter"),
    "L_PER_FT3": ("foot ** 3", "liter"),
    "MM3_PER_ML": ("milliliter", "millimeter ** 3"),
    "L_PER_M3": ("meter ** 3", "liter"),
    "KPA_PER_PSI": ("pound_force / inch ** 2", "kilopascal"),
    "KPA_PER_BAR": ("bar", "kilopascal"),
    "M_S_PER_MPH": ("mile / hour", "meter / second"),
    "M_S_PER_KM_H": ("kilometer / hour", "meter / second"),
    "MJ_M2_DAY_PER_W_M2": ("watt / meter ** 2", "megajoule / meter ** 2 / day"),
    "IN_PER_FT": ("foot", "inch"),
    "MM_PER_M": ("meter", "millimeter"),
    "CM_PER_M": ("meter", "centimeter"),
    "MIN_PER_H": ("hour", "minute"),
    "F_PER_C": ("delta_degree_Celsius", "delta_degree_Fahrenheit"),
}


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


@pytest.mark.parametrize("name", BY_PINT)
def test_factor_is_that_of_pint(registry, name):
    source, target = BY_PINT[name]

    expected = registry.Quantity(1.0, source).to(target).magnitude

    assert getattr(units, name) == pytest.approx(expected, rel=1e-12)


def test_freezing_point_is_that_of_pint(registry):
    expected = registry.Quantity(0.0, "degree_Celsius").to("degree_Fahrenheit")
    found = units.F_AT_0_C

    assert found == pytest.approx(expected.magnitude, abs=1e-9)


def test_no_factor_is_left_unchecked():
    factors = {name for name in vars(units) if name.isupper()}

    assert factors == {*BY_PINT, "F_AT_0_C"}


# NIST Handbook 44, appendix C: a US gallon is 231 in³; a cubic foot is 12³ = 1728 in³.
def test_gallons_in_a_cubic_foot_are_1728_over_231():
    gallons = units.L_PER_FT3 / units.L_PER_GAL

    assert gallons == pytest.approx(1728 / 231, rel=1e-12)


# California landscape ordinance, 23 CCR 2.7: 1 in on 1 ft² is 0.62 gal, field texts
# print 0.623 gal: 144 in³ / 231 in³ = 0.62338.
def test_an_inch_on_a_square_foot_is_the_gallons_of_the_ordinance():
    gallons = units.MM_PER_IN * units.M2_PER_FT2 / units.L_PER_GAL

    assert gallons == pytest.approx(144 / 231, rel=1e-12)
    assert gallons == pytest.approx(0.62, abs=0.005)
    assert gallons == pytest.approx(0.623, abs=0.0005)
