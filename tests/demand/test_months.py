"""ET0 of twelve months: which method the columns allow, and its numbers.

FAO-56 is Allen and others (1998), paper 56. The independent chain is refet's (ASCE-EWRI
2005), with extraterrestrial radiation of each day averaged over the month.
"""

import itertools

import numpy as np
import pytest
from refet import calcs

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand import months
from scheduler.inputs.weather.monthly import Climate

LATITUDE = 38.5
ELEVATION_M = 210.0
GAUGE_M = 10.0

# An invented station with hot dry summers.
TMIN_C = np.array([3, 4.5, 6, 7.5, 11, 14, 16, 15.5, 14, 10, 6, 3.0])
TMAX_C = np.array([12, 16, 19, 23, 27.5, 32, 35, 34, 31.5, 25.5, 17.5, 12.0])
COLUMNS = {
    "dew_point_c": np.array([2, 4, 5, 6, 8, 10, 11, 11, 10, 7, 5, 2.0]),
    "humidity_percent": np.array([84, 77, 70, 62, 55, 49, 46, 48, 51, 60, 74, 84.0]),
    "wind_m_s": np.array([2.4, 2.8, 3.2, 3.5, 3.8, 4, 3.7, 3.4, 3, 2.6, 2.3, 2.4]),
    "solar_mj_m2_day": np.array([7, 11, 16, 21, 25.5, 28, 28, 25, 20, 14, 8.5, 6.4]),
    "sunshine_h": np.array([4.5, 6.8, 8.5, 10, 11.8, 13, 13.6, 12.7, 11, 8.9, 5.9, 4]),
}  # fmt: skip
RAIN_MM = np.array([90, 80, 70, 30, 15, 4, 0, 1, 8, 25, 55, 85.0])

PENMAN = "penman-monteith-monthly"
HARGREAVES = "hargreaves"


def climate_of(names=(), **columns):
    """Temperatures and rain, the named columns of the station, and what is given."""
    blank = np.full(12, np.nan)
    values = {"et0_mm_day": blank, "tmin_c": TMIN_C, "tmax_c": TMAX_C,
              "rain_mm": RAIN_MM, "rain_days": blank,
              **dict.fromkeys(COLUMNS, blank)}  # fmt: skip
    values |= {name: COLUMNS[name] for name in names}
    return Climate("station.csv", **(values | columns))


def months_of(climate, latitude_deg=LATITUDE):
    return months.reference_months(climate, latitude_deg, ELEVATION_M, GAUGE_M)


def mean_of_days(daily):
    """Mean over the days of each month of a year of 365."""
    lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    assert len(daily) == sum(lengths)
    first = np.cumsum([0, *lengths])
    return np.array([daily[first[m] : first[m + 1]].mean() for m in range(12)])


def by_refet(names, latitude_deg=LATITUDE):
    """ET0 of the months by refet's formulas, and the room that its constants leave.

    FAO-56, eq. 43: heat that goes into the soil, 0.07 (next month - month before).
    """
    days = np.arange(1, 366)
    latitude = np.radians(latitude_deg)
    declination = calcs.declination(days)
    ra = mean_of_days(calcs.ra_daily(latitude, days))
    daylight = mean_of_days(24 / np.pi * calcs.sunset_hour_angle(latitude, declination))
    es = (calcs.sat_vapor_pressure(TMIN_C) + calcs.sat_vapor_pressure(TMAX_C)) / 2
    if "dew_point_c" in names:
        ea = calcs.sat_vapor_pressure(COLUMNS["dew_point_c"])
    elif "humidity_percent" in names:
        ea = es * COLUMNS["humidity_percent"] / 100  # FAO-56, eq. 19
    else:
        ea = calcs.sat_vapor_pressure(TMIN_C)  # FAO-56, eq. 48
    rso = calcs.rso_simple(ra, ELEVATION_M)
    if "solar_mj_m2_day" in names:
        rs = COLUMNS["solar_mj_m2_day"]
    elif "sunshine_h" in names:
        rs = (0.25 + 0.50 * COLUMNS["sunshine_h"] / daylight) * ra  # FAO-56, eq. 35
    else:
        rs = np.minimum(0.16 * np.sqrt(TMAX_C - TMIN_C) * ra, rso)  # FAO-56, eq. 50
    u2 = np.full(12, 2.0)  # FAO-56, p. 63
    if "wind_m_s" in names:
        u2 = calcs.wind_height_adjust(COLUMNS["wind_m_s"], GAUGE_M)
    rnl = calcs.rnl_daily(TMAX_C, TMIN_C, ea, calcs.fcd_daily(rs, rso))
    rn = calcs.rn_daily(rs, rnl)
    mean_c = (TMIN_C + TMAX_C) / 2
    g = np.array([0.07 * (mean_c[(m + 1) % 12] - mean_c[m - 1]) for m in range(12)])
    psy = 0.000665 * calcs.air_pressure(ELEVATION_M)
    et0 = calcs.etsz(rn, g, mean_c, u2, es - ea, calcs.es_slope(mean_c), psy, 900, 0.34)
    # σ is 4.901e-9 for 4.903e-9, and the slope 2503 for 4098 · 0.6108 = 2503.06; how
    # far that can move ET0 is worked out in test_against_refet_and_eto.py.
    slope_share = 4098 * 0.6108 / 2503 - 1
    room = 0.408 * 2 / 4901 * rnl + slope_share * (0.408 * np.abs(rn - g) + et0)
    return et0, room


def codes(found):
    return [assumption.code for assumption in found.assumptions]


ALL_COMBINATIONS = [
    names
    for size in range(1, 6)
    for names in itertools.combinations(COLUMNS, size)
]  # fmt: skip


@pytest.mark.parametrize("names", ALL_COMBINATIONS, ids="+".join)
def test_any_column_beside_temperatures_makes_it_penman_monteith(names):
    expected, room = by_refet(names)

    found = months_of(climate_of(names))

    assert found.method == PENMAN
    assert np.all(np.abs(found.et0_mm_day - expected) <= room + 1e-10)
    assert np.all(room < 0.004)


@pytest.mark.parametrize("names", ALL_COMBINATIONS, ids="+".join)
def test_what_had_to_be_assumed_is_said(names):
    said = codes(months_of(climate_of(names)))

    assert ("no-humidity" in said) is not (
        {"dew_point_c", "humidity_percent"} & {*names}
    )
    assert ("no-wind" in said) is ("wind_m_s" not in names)
    assert ("no-radiation" in said) is not (
        {"solar_mj_m2_day", "sunshine_h"} & {*names}
    )


# eq. 52 with the days' mean Ra by refet; the equation is linear in Ra, so float error.
def test_temperatures_alone_make_it_hargreaves():
    days = np.arange(1, 366)
    ra = mean_of_days(calcs.ra_daily(np.radians(LATITUDE), days))
    mean_c = (TMIN_C + TMAX_C) / 2
    expected = 0.0023 * (mean_c + 17.8) * np.sqrt(TMAX_C - TMIN_C) * 0.408 * ra

    found = months_of(climate_of())

    assert found.method == HARGREAVES
    np.testing.assert_allclose(found.et0_mm_day, expected, rtol=1e-10)


# Design, climate files: ET0 is taken as given, else computed.
@pytest.mark.parametrize("names", [(), tuple(COLUMNS)], ids=["alone", "with all else"])
def test_given_et0_is_taken_as_it_is(names):
    given = np.linspace(1, 8, 12)

    found = months_of(climate_of(names, et0_mm_day=given))

    assert found.method == "given"
    np.testing.assert_array_equal(found.et0_mm_day, given)
    np.testing.assert_array_equal(found.rain_mm, RAIN_MM)
    assert found.assumptions == ()


def test_given_et0_without_temperatures_takes_no_month_as_frosty_and_says_so():
    blank = np.full(12, np.nan)
    climate = climate_of(et0_mm_day=np.ones(12), tmin_c=blank, tmax_c=blank)

    found = months_of(climate)

    assert found.method == "given"
    assert not found.frost.any()
    assert np.isnan(found.tmin_c).all()
    assert codes(found) == ["no-minimum"]


# The method, step 6: a month is frosty whose mean tmin is below 0 °C, not at 0.
def test_frost_is_a_mean_minimum_below_zero():
    tmin_c = np.array([-5, -0.01, 0, 0.01, 5, 9, 11, 10, 7, 3, 0, -3.0])

    found = months_of(climate_of(tmin_c=tmin_c))

    assert (np.flatnonzero(found.frost) + 1).tolist() == [1, 2, 12]


# A sunshine recorder can burn longer than the sun's center is up, and a mistyped month
# more so: n/N is then 1, and Rs = (0.25 + 0.50) Ra (FAO-56, eq. 35).
def test_sunshine_above_daylight_counts_as_a_clear_month_and_is_said():
    days = np.arange(1, 366)
    ra = mean_of_days(calcs.ra_daily(np.radians(LATITUDE), days))
    names = ("dew_point_c", "wind_m_s")
    held = climate_of(names, sunshine_h=np.full(12, 20.0))
    clear = climate_of(names, solar_mj_m2_day=0.75 * ra)

    found = months_of(held)

    np.testing.assert_allclose(found.et0_mm_day, months_of(clear).et0_mm_day, rtol=1e-9)
    assert "sunshine-held" in codes(found)


# Beyond the polar circles the sun stays down, or up, for months. Common sense, not a
# published value: ET0 is a number, not below 0, and less in the dark.
@pytest.mark.parametrize("latitude_deg", [-90.0, -75.0, -66.6, 66.6, 70.0, 90.0])
@pytest.mark.parametrize("names", [(), ("dew_point_c",), ("sunshine_h",),
                                   ("solar_mj_m2_day", "wind_m_s")],
                         ids="+".join)  # fmt: skip
def test_polar_latitudes_give_numbers(latitude_deg, names):
    season = -np.cos(2 * np.pi * (np.arange(12) - 0.5) / 12) * np.sign(latitude_deg)
    tmin_c = -12 + 14 * season
    more = {}
    if "sunshine_h" in names:
        more["sunshine_h"] = np.maximum(8 * season, 0)
    if "solar_mj_m2_day" in names:
        more["solar_mj_m2_day"] = np.maximum(18 * season, 0)
    if "dew_point_c" in names:
        more["dew_point_c"] = tmin_c - 1
    climate = climate_of(names, **({"tmin_c": tmin_c, "tmax_c": tmin_c + 7} | more))

    found = months_of(climate, latitude_deg)

    assert np.all(np.isfinite(found.et0_mm_day))
    assert np.all(found.et0_mm_day >= 0)
    summer, winter = (6, 0) if latitude_deg > 0 else (0, 6)
    assert found.et0_mm_day[summer] > found.et0_mm_day[winter]


# Exact: no wind gauge means 2 m/s at 2 m (FAO-56, p. 63); no humidity a dew point at
# the minimum (eq. 48), and no sun √ of the range with 0.16 (eq. 50, p. 60). Written
# out, the same columns must give the same ET0.
def test_what_is_assumed_is_what_would_be_written():
    written = climate_of(
        ("sunshine_h",),
        dew_point_c=TMIN_C,
        wind_m_s=np.full(12, 2.0) * np.log(67.8 * GAUGE_M - 5.42) / 4.87,
    )

    found = months_of(climate_of(("sunshine_h",)))

    np.testing.assert_allclose(
        found.et0_mm_day, months_of(written).et0_mm_day, rtol=1e-12
    )


# A law: half a year on and the other way up. On a year of equal months the two halves
# of the earth would be mirror images; the sun's distance (3.3 % of Ra either way,
# FAO-56, eq. 23) and the lengths of the months leave a tenth.
def test_the_south_is_the_north_half_a_year_later():
    north = months_of(climate_of())
    south = months_of(
        climate_of(tmin_c=np.roll(TMIN_C, 6), tmax_c=np.roll(TMAX_C, 6)), -LATITUDE
    )

    np.testing.assert_allclose(np.roll(south.et0_mm_day, 6), north.et0_mm_day, rtol=0.1)


# FAO-56, p. 60: radiation from the temperature range stays under that of a clear sky.
# 0.16 √R passes 0.75 at a range of 22 °C; with 30 °C the sky is clear.
def test_radiation_from_a_wide_temperature_range_is_held_to_a_clear_sky():
    days = np.arange(1, 366)
    ra = mean_of_days(calcs.ra_daily(np.radians(LATITUDE), days))
    wide = {"tmin_c": TMAX_C - 30, "tmax_c": TMAX_C}
    clear = climate_of(("dew_point_c",), **wide,
                       solar_mj_m2_day=calcs.rso_simple(ra, ELEVATION_M))  # fmt: skip

    found = months_of(climate_of(("dew_point_c",), **wide))

    np.testing.assert_allclose(found.et0_mm_day, months_of(clear).et0_mm_day, rtol=1e-9)


def test_days_in_month_add_up_to_a_common_year():
    assert DAYS_IN_MONTH.sum() == 365
    assert (np.flatnonzero(DAYS_IN_MONTH == 30) + 1).tolist() == [4, 6, 9, 11]
    assert DAYS_IN_MONTH[1] == 28
