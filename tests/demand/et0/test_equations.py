"""Checks of the ET0 formulas; FAO-56 is Allen and others (1998), paper 56."""

from decimal import Decimal

import numpy as np
import pytest

from scheduler.demand.et0 import equations as et0
from scheduler.demand.et0 import radiation

MM_PER_MJ_M2 = 0.408  # FAO-56, eq. 20


def printed(text):
    """The number as a source prints it, give or take half a unit of its last digit."""
    number = Decimal(text)
    unit = Decimal(1).scaleb(number.as_tuple().exponent)
    return pytest.approx(float(number), abs=float(unit / 2))


@pytest.mark.parametrize(
    ("elevation_m", "pressure_kpa"),
    [
        # FAO-56, example 2, p. 32; example 4, p. 38; example 17, p. 70; example 18,
        # p. 72.
        (1800, "81.8"),
        (1200, "87.9"),
        (2, "101.3"),
        (100, "100.1"),
        # FAO-56, annex 2, table 2.1.
        (0, "101.3"),
        (500, "95.5"),
        (1000, "90.0"),
        (2000, "79.8"),
        (3000, "70.5"),
    ],
)
def test_atmospheric_pressure_agrees_with_fao56(elevation_m, pressure_kpa):
    assert et0.atmospheric_pressure(elevation_m) == printed(pressure_kpa)


# Test suite of the refet library (test_calcs.py), ASCE-EWRI form: Fallon, Nevada,
# 1,208.5 m. Sixteen digits, so only float error.
def test_atmospheric_pressure_agrees_with_fallon():
    assert et0.atmospheric_pressure(1208.5) == pytest.approx(
        87.80710537212929, rel=1e-12
    )


@pytest.mark.parametrize(
    ("pressure_kpa", "gamma"),
    [
        # FAO-56, example 2, p. 32.
        (81.8, "0.054"),
        # FAO-56, example 17, p. 70. One line of it prints 0.0667 for 0.0674.
        (101.3, "0.0674"),
        # FAO-56, example 18, p. 72.
        (100.1, "0.0666"),
    ],
)
def test_psychrometric_constant_agrees_with_the_examples(pressure_kpa, gamma):
    assert et0.psychrometric_constant(pressure_kpa) == printed(gamma)


# FAO-56, annex 2, table 2.2; example 20, p. 77, for 200 m.
@pytest.mark.parametrize(
    ("elevation_m", "gamma"),
    [(0, "0.067"), (200, "0.066"), (1000, "0.060"), (2000, "0.053")],
)
def test_psychrometric_constant_agrees_with_table_2_2(elevation_m, gamma):
    pressure_kpa = et0.atmospheric_pressure(elevation_m)

    assert et0.psychrometric_constant(pressure_kpa) == printed(gamma)


# FAO-56, annex 2, table 2.9, factors; example 14, p. 56, prints 0.75 for 10 m.
@pytest.mark.parametrize(
    ("height_m", "factor"),
    [(1, "1.178"), (3, "0.921"), (5, "0.838"), (10, "0.748"), (10, "0.75")],
)
def test_wind_at_2_m_agrees_with_table_2_9(height_m, factor):
    assert et0.wind_at_2_m(1, height_m) == printed(factor)


# FAO-56, example 14, p. 56: 3.2 m/s at 10 m. Example 18, p. 72: 10 km/h at 10 m.
def test_wind_at_2_m_agrees_with_the_examples():
    assert et0.wind_at_2_m(3.2, 10) == printed("2.4")
    assert et0.wind_at_2_m(10 / 3.6, 10) == printed("2.078")


# Test suite of the refet library (test_calcs.py): Fallon, 4.80 mph at 3 m.
def test_wind_at_2_m_agrees_with_fallon():
    assert et0.wind_at_2_m(4.80 * 0.44704, 3) == pytest.approx(
        1.976111757722194, rel=1e-12
    )


# FAO-56, example 17, p. 70: 13°44' N, 2 m, April (J = 105), 25.6 to 34.8 °C, ea 2.85
# kPa, 2 m/s, 8.5 h of sunshine, April 30.2 °C after a March of 29.2 °C (eq. 44).
# Δ, γ, P, es and σT⁴ are checked each by itself in test_vapor.py and above.
def test_et0_penman_monteith_gives_every_line_of_example_17():
    tmin_c, tmax_c, ea, wind = 25.6, 34.8, 2.85, 2
    ra = radiation.extraterrestrial_radiation(13.73, 105)
    daylight_h = radiation.daylight_hours(13.73, 105)
    rs = radiation.solar_radiation_from_sunshine(8.5, daylight_h, ra)
    rso = radiation.clear_sky_radiation(ra, 2)
    rns = radiation.net_shortwave_radiation(rs)
    rnl = radiation.net_longwave_radiation(tmin_c, tmax_c, ea, rs, rso)
    net = rns - rnl
    soil = 0.14 * (30.2 - 29.2)
    es = et0.mean_saturation_vapor_pressure(tmin_c, tmax_c)
    # Saturated air leaves the term of the sun alone, no net heat that of the air.
    from_sun = et0.et0_penman_monteith(tmin_c, tmax_c, es, wind, net, soil, 2)
    from_air = et0.et0_penman_monteith(tmin_c, tmax_c, ea, wind, soil, soil, 2)
    whole = et0.et0_penman_monteith(tmin_c, tmax_c, ea, wind, net, soil, 2)

    assert es - ea == printed("1.57")
    assert ra == printed("38.06")
    assert daylight_h == printed("12.31")
    assert rs == printed("22.65")
    assert rso == printed("28.54")
    assert rns == printed("17.44")
    assert rnl == printed("3.11")
    assert net == printed("14.33")
    assert soil == printed("0.14")
    assert from_sun == printed("3.97")
    assert from_air == printed("1.75")
    assert whole == printed("5.72")
    assert whole == printed("5.7")


# FAO-56, example 18, p. 72: 50°48' N, 100 m, 6 July (J = 187), 12.3 to 21.5 °C,
# humidity 63 to 84 %, 10 km/h at 10 m, 9.25 h of sunshine. It prints N = 16.1 h and
# then n/N = 9.25/16.3; its Rs of 22.07 comes of the 16.1.
def test_et0_penman_monteith_gives_every_line_of_example_18():
    tmin_c, tmax_c = 12.3, 21.5
    wind = et0.wind_at_2_m(10 / 3.6, 10)
    es = et0.mean_saturation_vapor_pressure(tmin_c, tmax_c)
    ea = et0.vapor_pressure_from_humidity_extremes(tmin_c, tmax_c, 63, 84)
    ra = radiation.extraterrestrial_radiation(50.80, 187)
    daylight_h = radiation.daylight_hours(50.80, 187)
    rs = radiation.solar_radiation_from_sunshine(9.25, daylight_h, ra)
    rso = radiation.clear_sky_radiation(ra, 100)
    rns = radiation.net_shortwave_radiation(rs)
    rnl = radiation.net_longwave_radiation(tmin_c, tmax_c, ea, rs, rso)
    net = rns - rnl
    from_sun = et0.et0_penman_monteith(tmin_c, tmax_c, es, wind, net, 0, 100)
    from_air = et0.et0_penman_monteith(tmin_c, tmax_c, ea, wind, 0, 0, 100)
    whole = et0.et0_penman_monteith(tmin_c, tmax_c, ea, wind, net, 0, 100)

    assert wind == printed("2.078")
    assert 1 + 0.34 * wind == printed("1.71")
    assert es == printed("1.997")
    assert ea == printed("1.409")
    assert es - ea == printed("0.589")
    assert ra == printed("41.09")
    assert daylight_h == printed("16.1")
    assert rs == printed("22.07")
    assert rso == printed("30.90")
    assert rns == printed("17.00")
    assert rnl == printed("3.71")
    assert net == printed("13.28")
    assert from_sun == printed("2.81")
    assert from_air == printed("1.07")
    assert whole == printed("3.88")
    assert whole == printed("3.9")


# FAO-56, example 20, p. 77: 45°43' N, 200 m, July (J = 196), 14.8 to 26.6 °C and
# nothing else: dew point = minimum, inland, 2 m/s; then 1 and 3 m/s.
def test_et0_penman_monteith_gives_every_line_of_example_20():
    tmin_c, tmax_c = 14.8, 26.6
    es = et0.mean_saturation_vapor_pressure(tmin_c, tmax_c)
    ea = et0.vapor_pressure_from_minimum_temperature(tmin_c)
    ra = radiation.extraterrestrial_radiation(45 + 43 / 60, 196)
    rs = radiation.solar_radiation_from_temperature(tmin_c, tmax_c, ra)
    rso = radiation.clear_sky_radiation(ra, 200)
    rns = radiation.net_shortwave_radiation(rs)
    rnl = radiation.net_longwave_radiation(tmin_c, tmax_c, ea, rs, rso)
    net = rns - rnl
    wind = [2, 1, 3]
    from_sun = et0.et0_penman_monteith(tmin_c, tmax_c, es, 2, net, 0, 200)
    from_air = et0.et0_penman_monteith(tmin_c, tmax_c, ea, 2, 0, 0, 200)
    whole = et0.et0_penman_monteith(tmin_c, tmax_c, ea, wind, net, 0, 200)

    assert es == printed("2.58")
    assert ea == printed("1.68")
    assert ra == printed("40.55")
    assert rs == printed("22.29")
    assert rso == printed("30.58")
    assert rns == printed("17.16")
    assert rnl == printed("3.68")
    assert net == printed("13.48")
    assert from_sun == printed("3.17")
    assert from_air == printed("1.39")
    assert whole[0] == printed("4.56")
    assert whole[1] == printed("4.2")
    assert whole[2] == printed("4.8")


# FAO-56, example 20, p. 77: the same month by eq. 52.
def test_et0_hargreaves_agrees_with_example_20():
    ra = radiation.extraterrestrial_radiation(45 + 43 / 60, 196)

    assert et0.et0_hargreaves(14.8, 26.6, ra) == printed("5.0")


# FAO-56, p. 63: wind under 0.5 m/s counts as 0.5.
def test_et0_penman_monteith_counts_still_air_as_half_a_meter_a_second():
    result = et0.et0_penman_monteith(10, 25, 1, [0, 0.3, 0.5, 0.6], 12, 0, 0)

    assert result[0] == result[1] == result[2] < result[3]


# Law: a night that loses more heat than the day brings, in saturated air, dries
# nothing; and eq. 52 turns negative at a mean under -17.8 °C.
def test_et0_is_never_negative():
    es = et0.mean_saturation_vapor_pressure(-10, -2)

    assert et0.et0_penman_monteith(-10, -2, es, 2, -3, 0, 0) == 0
    assert et0.et0_hargreaves([-30, -22.8], [-20, -12.8], 10).tolist() == [0, 0]


# Law: heat that goes into the soil is heat that does not come to the grass.
def test_et0_penman_monteith_takes_soil_heat_from_net_radiation():
    with_soil = et0.et0_penman_monteith(10, 25, 1, 2, 12, [1.5, -1.5], 300)
    without = et0.et0_penman_monteith(10, 25, 1, 2, [10.5, 13.5], 0, 300)

    np.testing.assert_allclose(with_soil, without, rtol=1e-12)


# Exact: eq. 52 is linear in Ra, and without a range of temperature it is 0.
def test_et0_hargreaves_goes_with_radiation_and_range():
    result = et0.et0_hargreaves([10, 10, 15], [20, 20, 15], [15, 30, 30])

    assert result[1] == pytest.approx(2 * result[0], rel=1e-12)
    assert result[2] == 0


PENMAN_MONTEITH_ARGUMENTS = (10.0, 25.0, 1.0, 2.0, 12.0, 0.5, 300.0)


@pytest.mark.parametrize("place", range(7))
def test_et0_penman_monteith_broadcasts_and_keeps_nan_of_each_argument(place):
    arguments = list(PENMAN_MONTEITH_ARGUMENTS)
    arguments[place] = np.array([arguments[place], np.nan])
    zone = (place + 1) % 7
    arguments[zone] = np.full((3, 1), arguments[zone])
    result = et0.et0_penman_monteith(*arguments)

    assert result.shape == (3, 2)
    assert np.isnan(result).tolist() == [[False, True]] * 3


@pytest.mark.parametrize("place", range(3))
def test_et0_hargreaves_broadcasts_and_keeps_nan_of_each_argument(place):
    arguments = [10.0, 25.0, 30.0]
    arguments[place] = np.array([arguments[place], np.nan])
    zone = (place + 1) % 3
    arguments[zone] = np.full((3, 1), arguments[zone])
    result = et0.et0_hargreaves(*arguments)

    assert result.shape == (3, 2)
    assert np.isnan(result).tolist() == [[False, True]] * 3


def test_pressure_and_wind_broadcast_and_keep_nan():
    pressure = et0.atmospheric_pressure([0.0, np.nan])
    gamma = et0.psychrometric_constant([np.nan, 100.0])
    wind = et0.wind_at_2_m([[np.nan], [3.0]], [2.0, np.nan, 10.0])

    assert np.isnan(pressure).tolist() == [False, True]
    assert np.isnan(gamma).tolist() == [True, False]
    assert np.isnan(wind).tolist() == [[True] * 3, [False, True, False]]


@pytest.mark.parametrize("elevation_m", [-501, 29029, [100, 1e5]])
def test_et0_formulas_refuse_elevation_off_the_land(elevation_m):
    with pytest.raises(ValueError, match="elevation_m must be -500 to 9000, got"):
        et0.atmospheric_pressure(elevation_m)
    with pytest.raises(ValueError, match="elevation_m must be -500 to 9000, got"):
        et0.et0_penman_monteith(10, 25, 1, 2, 12, 0, elevation_m)


def test_pressure_and_wind_refuse_what_is_negative():
    with pytest.raises(ValueError, match="pressure_kpa must be 0 or more, got -1"):
        et0.psychrometric_constant([100, -1])
    with pytest.raises(ValueError, match="wind_m_s must be 0 or more, got -2"):
        et0.wind_at_2_m([3, -2], 10)


# Eq. 47 is a profile over grass: at 0.0947 m it divides by 0.
@pytest.mark.parametrize("height_m", [0, 0.09, 0.49, [2, -10]])
def test_wind_at_2_m_refuses_a_gauge_in_the_grass(height_m):
    with pytest.raises(ValueError, match=r"height_m must be 0\.5 or more, got"):
        et0.wind_at_2_m(3, height_m)


@pytest.mark.parametrize(
    ("place", "wrong", "message"),
    [
        (0, -120, "tmin_c must be -90 to 60, got -120"),
        (0, 30, "tmax_c must be tmin_c or more, got 5 °C less"),
        (1, 77, "tmax_c must be -90 to 60, got 77"),
        (2, -0.1, "vapor_pressure_kpa must be 0 or more, got -0"),
        (3, -1, "wind_2m_m_s must be 0 or more, got -1"),
    ],
)
def test_et0_penman_monteith_refuses_argument_outside_its_domain(place, wrong, message):
    arguments = list(PENMAN_MONTEITH_ARGUMENTS)
    arguments[place] = wrong

    with pytest.raises(ValueError, match=message):
        et0.et0_penman_monteith(*arguments)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((-120, 25, 30), "tmin_c must be -90 to 60, got -120"),
        ((10, 77, 30), "tmax_c must be -90 to 60, got 77"),
        ((26, 25, 30), "tmax_c must be tmin_c or more, got 1 °C less"),
        ((10, 25, -1), "extraterrestrial_mj_m2_day must be 0 or more, got -1"),
    ],
)
def test_et0_hargreaves_refuses_argument_outside_its_domain(arguments, message):
    with pytest.raises(ValueError, match=message):
        et0.et0_hargreaves(*arguments)


def test_et0_formulas_leave_their_arguments_alone():
    wind = np.array([0.0, 3.0])
    et0.et0_penman_monteith(10, 25, 1, wind, 12, 0, 300)

    assert wind.tolist() == [0, 3]
