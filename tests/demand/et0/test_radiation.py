"""Checks of the radiation formulas; FAO-56 is Allen and others (1998), paper 56."""

from decimal import Decimal

import numpy as np
import pandas as pd
import pvlib
import pytest

from scheduler.demand.et0 import radiation

MM_PER_MJ_M2 = 0.408  # FAO-56, eq. 20


def printed(text):
    """The number as a source prints it, give or take half a unit of its last digit."""
    number = Decimal(text)
    unit = Decimal(1).scaleb(number.as_tuple().exponent)
    return pytest.approx(float(number), abs=float(unit / 2))


def black_body(temperature_c):
    """σT⁴ as net long-wave radiation holds it: clear sky, bone-dry air, over 0.34."""
    net = radiation.net_longwave_radiation(temperature_c, temperature_c, 0, 30, 30)
    return net / 0.34


# FAO-56, example 10, p. 50: 22°54' S, May (J = 135), 220 h of sunshine in the month.
# Ra and N unrounded: from the printed 25.1 and 10.9 one gets 14.45, not 14.5.
def test_solar_radiation_from_sunshine_agrees_with_example_10():
    ra = radiation.extraterrestrial_radiation(-22.90, 135)
    daylight_h = radiation.daylight_hours(-22.90, 135)
    sunshine_h = 220 / 31
    rs = radiation.solar_radiation_from_sunshine(sunshine_h, daylight_h, ra)

    assert sunshine_h == printed("7.1")
    assert rs / ra == printed("0.58")
    assert rs == printed("14.5")
    assert MM_PER_MJ_M2 * rs == printed("5.9")


# FAO-56, examples 11 and 12, pp. 52-53: example 10 with 19.1 to 25.1 °C, ea 2.1 kPa,
# at the sea. Example 11 prints σT⁴ as 38.8 and 35.8, and as 38.7 and 35.7 in the line
# that uses them; eq. 39 gives the first pair.
def test_net_radiation_agrees_with_examples_11_and_12():
    ra = radiation.extraterrestrial_radiation(-22.90, 135)
    daylight_h = radiation.daylight_hours(-22.90, 135)
    rs = radiation.solar_radiation_from_sunshine(220 / 31, daylight_h, ra)
    rso = radiation.clear_sky_radiation(ra, 0)
    rns = radiation.net_shortwave_radiation(rs)
    rnl = radiation.net_longwave_radiation(19.1, 25.1, 2.1, rs, rso)
    rnl_clear = radiation.net_longwave_radiation(19.1, 25.1, 2.1, rso, rso)

    assert rso == printed("18.8")
    assert black_body(25.1) == printed("38.8")
    assert black_body(19.1) == printed("35.8")
    # 0.34 - 0.14 √2.1
    assert rnl_clear / ((black_body(25.1) + black_body(19.1)) / 2) == printed("0.14")
    assert rs / rso == printed("0.77")
    # 1.35 · 0.77 - 0.35
    assert rnl / rnl_clear == printed("0.69")
    assert rnl == printed("3.5")
    assert MM_PER_MJ_M2 * rnl == printed("1.4")
    assert rns == printed("11.1")
    assert rns - rnl == printed("7.6")
    assert MM_PER_MJ_M2 * (rns - rnl) == printed("3.1")


# FAO-56, example 13, p. 55: March, April and May of 14.1, 16.1 and 18.8 °C.
def test_monthly_soil_heat_flux_agrees_with_example_13():
    tmean_c = [10, 12, 14.1, 16.1, 18.8, 22, 25, 25, 22, 18, 14, 11]
    april = radiation.monthly_soil_heat_flux(tmean_c)[3]

    assert april == printed("0.33")
    assert MM_PER_MJ_M2 * april == printed("0.13")


# FAO-56, example 15, p. 61: 45°43' N, July (J = 196), 14.8 to 26.6 °C, inland.
def test_solar_radiation_from_temperature_agrees_with_example_15():
    ra = radiation.extraterrestrial_radiation(45 + 43 / 60, 196)
    rs = radiation.solar_radiation_from_temperature(14.8, 26.6, ra)

    assert ra == printed("40.6")
    assert rs == printed("22.3")
    assert MM_PER_MJ_M2 * rs == printed("9.1")


# FAO-56, example 16, p. 62: 13°44' N, 2 m, April (J = 105), 25.6 to 34.8 °C, ea 2.85
# kPa, near the coast.
def test_net_radiation_agrees_with_example_16():
    ra = radiation.extraterrestrial_radiation(13.73, 105)
    rs = radiation.solar_radiation_from_temperature(25.6, 34.8, ra, 0.19)
    rso = radiation.clear_sky_radiation(ra, 2)
    rns = radiation.net_shortwave_radiation(rs)
    rnl = radiation.net_longwave_radiation(25.6, 34.8, 2.85, rs, rso)

    assert ra == printed("38.1")
    assert rs == printed("21.9")
    assert rso == printed("28.5")
    assert rns == printed("16.9")
    assert rnl == printed("3.0")
    assert rns - rnl == printed("13.9")
    assert MM_PER_MJ_M2 * (rns - rnl) == printed("5.7")


# FAO-56, annex 2, table 2.8; examples 17 (p. 70) and 18 (p. 72).
@pytest.mark.parametrize(
    ("temperature_c", "emitted"),
    [
        (20, "36.21"),
        (30, "41.41"),
        (34.8, "44.10"),
        (25.6, "39.06"),
        (21.5, "36.96"),
        (12.3, "32.56"),
    ],
)
def test_net_longwave_radiation_holds_the_black_body_of_table_2_8(
    temperature_c, emitted
):
    assert black_body(temperature_c) == printed(emitted)


# FAO-56, eq. 35: a quarter of Ra without sunshine, three quarters with nothing but.
# Exact.
def test_solar_radiation_from_sunshine_lies_between_overcast_and_clear():
    rs = radiation.solar_radiation_from_sunshine([0, 6, 12], 12, 40)

    assert rs.tolist() == [10, 20, 30]


# By definition n/N is at most 1, but a recorder sees the sun longer than eq. 34 says.
def test_solar_radiation_from_sunshine_holds_a_cloudless_day_to_clear_sky():
    assert radiation.solar_radiation_from_sunshine(12.4, 12, 40) == 30


# pvlib's solar position algorithm (NREL) has refraction and the disc of the sun.
@pytest.mark.parametrize("latitude_deg", [-55, -40, 0, 40, 55])
def test_half_an_hour_covers_the_sun_seen_longer_than_the_formula(latitude_deg):
    days = pd.date_range("2023-01-01", "2023-12-31", tz="UTC")
    seen = pvlib.solarposition.sun_rise_set_transit_spa(days, latitude_deg, 0.0)
    seen_h = (seen["sunset"] - seen["sunrise"]).dt.total_seconds().to_numpy() / 3600
    daylight_h = radiation.daylight_hours(latitude_deg, np.arange(1, 366))

    assert np.max(seen_h - daylight_h) < radiation.SUNSHINE_OVER_DAYLIGHT_H


def test_solar_radiation_from_sunshine_is_nothing_in_the_polar_night():
    assert radiation.solar_radiation_from_sunshine(0, 0, 0) == 0


# Exact: √4 = 2 and √16 = 4, so a range four times as wide gives twice the radiation.
def test_solar_radiation_from_temperature_goes_with_the_root_of_the_range():
    rs = radiation.solar_radiation_from_temperature([10, 10], [14, 26], 30, 0.2)

    assert rs == pytest.approx([12, 24], rel=1e-12)


# FAO-56, eqs. 36 and 37: 0.75 at sea level; 0.75 + 2e-5 · 2,500 = 0.80. Exact.
def test_clear_sky_radiation_rises_with_elevation():
    assert radiation.clear_sky_radiation(40, [0, 2500]) == pytest.approx(
        [30, 32], rel=1e-12
    )


# ASCE-EWRI 2005 holds Rs/Rso between 0.3 and 1.0: the cloud factor 1.35 x - 0.35 is
# 0.055 at the least and 1 at the most. Exact.
def test_net_longwave_radiation_holds_clearness_between_its_limits():
    solar = [0, 3, 9, 20, 30, 45]
    net = radiation.net_longwave_radiation(10, 20, 1, solar, 30)

    assert net / net[4] == pytest.approx(
        [0.055, 0.055, 0.055, 1.35 * 20 / 30 - 0.35, 1, 1], rel=1e-12
    )


# A choice, documented: the polar night counts as clear. So do the refet and ETo
# libraries (refet/calcs.py, fcd_daily; eto/param_est.py).
def test_net_longwave_radiation_takes_the_polar_night_for_clear():
    dark = radiation.net_longwave_radiation(-30, -20, 0.05, [0, np.nan], [0, 0])
    clear = radiation.net_longwave_radiation(-30, -20, 0.05, 10, 10)

    assert dark[0] == clear
    assert np.isnan(dark[1])


def test_net_longwave_radiation_stands_a_sun_barely_risen():
    net = radiation.net_longwave_radiation(-30, -20, 0.05, 5, 1e-310)

    assert net == radiation.net_longwave_radiation(-30, -20, 0.05, 10, 10)


# Law: the year closes, so what goes into the soil comes out; and December's flux is
# 0.07 (January - November), January's 0.07 (February - December) (eq. 43).
def test_monthly_soil_heat_flux_closes_the_year():
    one_year_c = np.array([1, 3, 7, 11, 16, 20, 23, 22, 18, 12, 6, 2])
    tmean_c = np.stack([one_year_c, one_year_c + 9])
    flux = radiation.monthly_soil_heat_flux(tmean_c)

    assert flux.shape == (2, 12)
    assert flux.sum(axis=-1) == pytest.approx([0, 0], abs=1e-12)
    assert flux[0, 0] == pytest.approx(0.07 * (3 - 2), rel=1e-12)
    assert flux[0, 11] == pytest.approx(0.07 * (1 - 6), rel=1e-12)
    np.testing.assert_allclose(flux[0], flux[1], rtol=1e-12)


def test_monthly_soil_heat_flux_is_nan_on_both_sides_of_a_missing_month():
    tmean_c = np.arange(12.0)
    tmean_c[0] = np.nan

    missing = np.isnan(radiation.monthly_soil_heat_flux(tmean_c))
    assert np.flatnonzero(missing).tolist() == [1, 11]


FORMULAS = {
    "sunshine": lambda a, b: radiation.solar_radiation_from_sunshine(a, b, 30),
    "temperature": lambda a, b: radiation.solar_radiation_from_temperature(a, b, 30),
    "coefficient": lambda a, b: radiation.solar_radiation_from_temperature(0, 9, a, b),
    "clear sky": lambda a, b: radiation.clear_sky_radiation(a, b),
    "longwave, range": lambda a, b: radiation.net_longwave_radiation(a, b, 1, 9, 9),
    "longwave, sun": lambda a, b: radiation.net_longwave_radiation(0, 9, 1, a, b),
    "longwave, vapor": lambda a, b: radiation.net_longwave_radiation(0, 9, a, b, 9),
}


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=FORMULAS.keys())
def test_radiation_formulas_broadcast_and_keep_nan(formula):
    result = formula(np.array([[np.nan], [8.0]]), np.array([9.0, np.nan, 12.0]))

    assert result.shape == (2, 3)
    assert np.isnan(result).tolist() == [[True] * 3, [False, True, False]]


def test_net_shortwave_radiation_keeps_shape_and_nan():
    net = radiation.net_shortwave_radiation([[10.0, np.nan], [0.0, 20.0]])

    assert np.isnan(net).tolist() == [[False, True], [False, False]]
    # FAO-56, eq. 38: 0.77 Rs.
    assert net[[0, 1, 1], [0, 0, 1]] == pytest.approx([7.7, 0, 15.4], rel=1e-12)


@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("sunshine_h", lambda x: radiation.solar_radiation_from_sunshine(x, 12, 30)),
        ("daylight_h", lambda x: radiation.solar_radiation_from_sunshine(0, x, 30)),
        (
            "extraterrestrial_mj_m2_day",
            lambda x: radiation.solar_radiation_from_sunshine(6, 12, x),
        ),
        (
            "extraterrestrial_mj_m2_day",
            lambda x: radiation.solar_radiation_from_temperature(10, 20, x),
        ),
        (
            "extraterrestrial_mj_m2_day",
            lambda x: radiation.clear_sky_radiation(x, 0),
        ),
        ("solar_mj_m2_day", radiation.net_shortwave_radiation),
        (
            "vapor_pressure_kpa",
            lambda x: radiation.net_longwave_radiation(10, 20, x, 20, 30),
        ),
        (
            "solar_mj_m2_day",
            lambda x: radiation.net_longwave_radiation(10, 20, 1, x, 30),
        ),
        (
            "clear_sky_mj_m2_day",
            lambda x: radiation.net_longwave_radiation(10, 20, 1, 20, x),
        ),
    ],
)
@pytest.mark.parametrize("wrong", [-0.1, [3.0, -2.0]])
def test_radiation_formulas_refuse_what_is_negative(name, formula, wrong):
    with pytest.raises(ValueError, match=f"^{name} must be 0 .*, got -"):
        formula(wrong)


def test_solar_radiation_from_sunshine_refuses_more_sun_than_day():
    with pytest.raises(ValueError, match=r"sunshine_h must be 0\.5 h over daylight_h"):
        radiation.solar_radiation_from_sunshine([5, 12.6], 12, 30)
    with pytest.raises(ValueError, match="sunshine_h must be 0 to 24, got 220"):
        radiation.solar_radiation_from_sunshine(220, 12, 30)
    with pytest.raises(ValueError, match="daylight_h must be 0 to 24, got 330"):
        radiation.solar_radiation_from_sunshine(7, 330, 30)


@pytest.mark.parametrize(
    "formula",
    [
        lambda low, high: radiation.solar_radiation_from_temperature(low, high, 30),
        lambda low, high: radiation.net_longwave_radiation(low, high, 1, 20, 30),
    ],
)
def test_radiation_formulas_refuse_temperatures_out_of_order_or_range(formula):
    with pytest.raises(ValueError, match="tmax_c must be tmin_c or more, got 5 °C"):
        formula([10, 20], [15, 15])
    with pytest.raises(ValueError, match="tmax_c must be -90 to 60, got 95"):
        formula(50, 95)
    with pytest.raises(ValueError, match="tmin_c must be -90 to 60, got -120"):
        formula(-120, 20)


@pytest.mark.parametrize("coefficient", [0, -0.16, [0.16, 0]])
def test_solar_radiation_from_temperature_refuses_coefficient_not_over_0(coefficient):
    with pytest.raises(ValueError, match="coefficient must be over 0, got"):
        radiation.solar_radiation_from_temperature(10, 20, 30, coefficient)


@pytest.mark.parametrize("elevation_m", [-501, 29029, [100, 1e5]])
def test_clear_sky_radiation_refuses_elevation_off_the_land(elevation_m):
    with pytest.raises(ValueError, match="elevation_m must be -500 to 9000, got"):
        radiation.clear_sky_radiation(30, elevation_m)


@pytest.mark.parametrize("tmean_c", [10.0, [10.0] * 11, [[10.0]] * 12])
def test_monthly_soil_heat_flux_refuses_other_than_twelve_months(tmean_c):
    with pytest.raises(ValueError, match="tmean_c must have 12 months on its last"):
        radiation.monthly_soil_heat_flux(tmean_c)


def test_monthly_soil_heat_flux_refuses_temperature_never_met_on_earth():
    with pytest.raises(ValueError, match="tmean_c must be -90 to 60, got 75"):
        radiation.monthly_soil_heat_flux([75.0] * 12)


def test_radiation_formulas_leave_their_arguments_alone():
    solar, clear = np.array([5.0, 25.0]), np.array([20.0, 20.0])
    radiation.net_longwave_radiation(10, 20, 1, solar, clear)

    assert solar.tolist() == [5, 25]
    assert clear.tolist() == [20, 20]
