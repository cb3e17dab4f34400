"""Checks of the sun formulas; FAO-56 is Allen and others (1998), paper 56."""

import calendar
import csv
from decimal import Decimal
from pathlib import Path

import numpy as np
import pvlib
import pytest

from scheduler.demand.et0 import sun

FAO56_TABLE_2_6 = Path(__file__).with_name("fao56_table_2_6.csv")
# FAO-56, annex 2, table 2.5: day of the year of the 15th of each month.
DAY_OF_15TH = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]
MM_PER_MJ_M2 = 0.408  # FAO-56, eq. 20
EVERY_DAY = np.arange(1, 367)


def printed(text):
    """The number as a source prints it, give or take half a unit of its last digit."""
    number = Decimal(text)
    unit = Decimal(1).scaleb(number.as_tuple().exponent)
    return pytest.approx(float(number), abs=float(unit / 2))


# FAO-56, example 8, p. 47: 20° S, 3 September (J = 246).
def test_sun_formulas_give_every_line_of_example_8():
    latitude = np.radians(-20)
    declination = sun.solar_declination_rad(246)
    ra = sun.extraterrestrial_radiation(-20, 246)

    assert sun.inverse_relative_distance(246) == printed("0.985")
    assert declination == printed("0.120")
    assert sun.sunset_hour_angle(-20, 246) == printed("1.527")
    assert np.sin(latitude) * np.sin(declination) == printed("-0.041")
    assert np.cos(latitude) * np.cos(declination) == printed("0.933")
    assert ra == printed("32.2")
    assert MM_PER_MJ_M2 * ra == printed("13.1")


# FAO-56, example 19, p. 75: 1 October (J = 274), to four decimals.
def test_distance_and_declination_agree_with_example_19():
    assert sun.inverse_relative_distance(274) == printed("1.0001")
    assert sun.solar_declination_rad(274) == printed("-0.0753")


# Latitudes as the examples put them into decimals.
@pytest.mark.parametrize(
    ("latitude_deg", "day", "ra", "daylight"),
    [
        # FAO-56, example 9, p. 49.
        (-20, 246, "32.2", "11.7"),
        # FAO-56, example 10, p. 50: 22°54' S, 15 May.
        (-22.90, 135, "25.1", "10.9"),
        # FAO-56, example 17, p. 70: 13°44' N, 15 April. Example 16, p. 62, prints 38.1.
        (13.73, 105, "38.06", "12.31"),
        # FAO-56, example 18, p. 72: 50°48' N, 6 July. It prints N = 16.1 h, and 16.3
        # one line further on; the 16.1 is what gives its radiation.
        (50.80, 187, "41.09", "16.1"),
    ],
)
def test_radiation_and_daylight_agree_with_the_examples(
    latitude_deg, day, ra, daylight
):
    assert sun.extraterrestrial_radiation(latitude_deg, day) == printed(ra)
    assert sun.daylight_hours(latitude_deg, day) == printed(daylight)


# FAO-56, example 20, p. 77 (40.55) and example 15, p. 61 (40.6): 45°43' N, 15 July.
def test_extraterrestrial_radiation_agrees_with_examples_15_and_20():
    ra = sun.extraterrestrial_radiation(45 + 43 / 60, 196)

    assert ra == printed("40.55")
    assert ra == printed("40.6")


# FAO-56, annex 2, table 2.6, second-hand (see the head of the CSV). Tolerance 0.15:
# half a unit of the table, 0.05, and 0.10 for eq. 24, which prints its phase, 1.39,
# to half a unit of 0.005 rad. That is 0.002 rad of declination, and a radian of
# declination moves Ra by 24 · 60 / π · 0.0820 · ω sin φ, at most 51 MJ/m² at 60°.
def test_extraterrestrial_radiation_agrees_with_table_2_6():
    with FAO56_TABLE_2_6.open(encoding="utf-8") as file:
        rows = list(csv.reader(line for line in file if not line.startswith("#")))
    table = np.array(rows[1:], dtype=np.float64)
    ra = sun.extraterrestrial_radiation(table[:, :1], DAY_OF_15TH)

    assert table.shape == (16, 13)
    np.testing.assert_allclose(ra, table[:, 1:], rtol=0, atol=0.15)
    # The rounding of the phase leans one way or the other by season and hemisphere;
    # over all months and latitudes it must all but cancel.
    assert abs(np.mean(ra - table[:, 1:])) < 0.05


# Test suite of the refet library (test_calcs.py, test_daily.py), ASCE-EWRI forms:
# Fallon, Nevada, 39.4575° N, 1 July 2015. Seventeen digits, so only float error.
def test_extraterrestrial_radiation_agrees_with_fallon():
    ra = sun.extraterrestrial_radiation(39.4575, 182)

    assert ra == pytest.approx(41.64824567735701, rel=1e-12)


# pvlib's method "asce" is the same series from another hand, times a constant.
def test_inverse_relative_distance_agrees_with_pvlib():
    factor = pvlib.irradiance.get_extra_radiation(
        EVERY_DAY, solar_constant=1.0, method="asce"
    )

    np.testing.assert_allclose(
        sun.inverse_relative_distance(EVERY_DAY), factor, rtol=1e-12
    )


# Cooper (1969) in pvlib: 23.45° sin(2π (284 + J) / 365). The amplitudes differ by
# 23.45° - 0.409 rad = 0.016° and the phases by 2π - 1.39 - 2π 284/365 = 0.0044 rad,
# which is 0.103° of declination: 0.12° together.
def test_solar_declination_agrees_with_cooper():
    cooper = pvlib.solarposition.declination_cooper69(EVERY_DAY)

    np.testing.assert_allclose(
        sun.solar_declination_rad(EVERY_DAY), cooper, rtol=0, atol=np.radians(0.12)
    )


# Ra is the solar constant times the sine of the sun's height, summed while the sun is
# up (definition; FAO-56, p. 43). Summed here by rectangles of a minute, each of which
# is off by less than its share at the two edges: 2 minutes of 0.082 · sin(0.25°).
@pytest.mark.parametrize("latitude_deg", [-90, -75, -40, 0, 23.4, 52, 66, 68, 85])
def test_extraterrestrial_radiation_is_the_sum_over_the_day(latitude_deg):
    latitude = np.radians(latitude_deg)
    hour_angle = np.radians((np.arange(1440) + 0.5) / 4 - 180)
    declination = sun.solar_declination_rad(EVERY_DAY)[:, np.newaxis]
    sine = np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(
        declination
    ) * np.cos(hour_angle)
    summed = 0.0820 * np.maximum(sine, 0).sum(axis=1)

    np.testing.assert_allclose(
        sun.extraterrestrial_radiation(latitude_deg, EVERY_DAY),
        summed * sun.inverse_relative_distance(EVERY_DAY),
        rtol=0,
        atol=2 * 0.082 * np.sin(np.radians(0.25)),
    )


# Law: inside the polar circles the sun stays up in summer and down in winter. 21 June
# is day 172, 21 December day 355; the pole itself is included.
@pytest.mark.parametrize("latitude_deg", [70, 80, 90])
def test_sun_does_not_set_in_polar_summer_nor_rise_in_polar_winter(latitude_deg):
    latitudes_deg, days = [latitude_deg, -latitude_deg], [172, 355]

    assert sun.sunset_hour_angle(latitudes_deg, days).tolist() == [np.pi, np.pi]
    assert sun.sunset_hour_angle(latitudes_deg, days[::-1]).tolist() == [0, 0]
    assert sun.daylight_hours(latitudes_deg, days).tolist() == [24, 24]
    assert sun.daylight_hours(latitudes_deg, days[::-1]).tolist() == [0, 0]
    assert sun.extraterrestrial_radiation(latitudes_deg, days[::-1]).tolist() == [0, 0]


def test_extraterrestrial_radiation_is_never_negative():
    latitudes_deg = np.linspace(-90, 90, 1801)[:, np.newaxis]

    assert sun.extraterrestrial_radiation(latitudes_deg, EVERY_DAY).min() == 0


# Law: tan 0 = 0, so the sun is up for 12 h on every day at the equator; and the night
# of a latitude is the day of its opposite.
def test_daylight_hours_mirror_at_the_equator():
    north = sun.daylight_hours(np.arange(91)[:, np.newaxis], EVERY_DAY)
    south = sun.daylight_hours(-np.arange(91)[:, np.newaxis], EVERY_DAY)

    np.testing.assert_allclose(north + south, 24, rtol=1e-12)
    np.testing.assert_allclose(north[0], 12, rtol=1e-12)


# The days of each month counted by the calendar of the standard library.
def test_monthly_means_are_means_over_the_days_of_each_month():
    months = np.array(
        [m for m in range(1, 13) for _ in range(calendar.monthrange(2023, m)[1])]
    )
    days = np.arange(1, 366)
    latitudes_deg = np.array([[-78.0, -33.0, 0.0], [15.0, 47.0, 71.0]])
    ra = sun.monthly_extraterrestrial_radiation(latitudes_deg)
    daylight = sun.monthly_daylight_hours(latitudes_deg)

    assert ra.shape == daylight.shape == (2, 3, 12)
    for place in np.ndindex(2, 3):
        for month in range(1, 13):
            in_month = days[months == month]
            latitude_deg = latitudes_deg[place]
            assert ra[place][month - 1] == pytest.approx(
                np.mean([sun.extraterrestrial_radiation(latitude_deg, in_month)]),
                rel=1e-12,
            )
            assert daylight[place][month - 1] == pytest.approx(
                np.mean([sun.daylight_hours(latitude_deg, in_month)]), rel=1e-12
            )


def test_monthly_means_of_one_latitude_have_twelve_months():
    assert sun.monthly_extraterrestrial_radiation(40).shape == (12,)
    assert sun.monthly_daylight_hours(40).shape == (12,)


@pytest.mark.parametrize(
    "formula",
    [sun.sunset_hour_angle, sun.extraterrestrial_radiation, sun.daylight_hours],
)
def test_sun_formulas_broadcast_and_keep_nan(formula):
    result = formula([[np.nan], [40.0]], [1.0, np.nan, 366.0])

    assert result.shape == (2, 3)
    assert np.isnan(result).tolist() == [[True] * 3, [False, True, False]]


def test_formulas_of_the_day_keep_shape_and_nan():
    days = [[1.0, np.nan], [200.0, 366.0]]
    nan = [[False, True], [False, False]]

    assert np.isnan(sun.inverse_relative_distance(days)).tolist() == nan
    assert np.isnan(sun.solar_declination_rad(days)).tolist() == nan


def test_monthly_means_keep_nan():
    ra = sun.monthly_extraterrestrial_radiation([np.nan, 40.0])
    daylight = sun.monthly_daylight_hours([np.nan, 40.0])

    assert np.isnan(ra).all(axis=1).tolist() == [True, False]
    assert np.isnan(daylight).all(axis=1).tolist() == [True, False]
    assert not np.isnan(ra[1]).any()
    assert not np.isnan(daylight[1]).any()


@pytest.mark.parametrize("latitude_deg", [90.5, -91, [40, 140], np.inf])
@pytest.mark.parametrize(
    "formula",
    [
        lambda latitude: sun.sunset_hour_angle(latitude, 1),
        lambda latitude: sun.extraterrestrial_radiation(latitude, 1),
        lambda latitude: sun.daylight_hours(latitude, 1),
        sun.monthly_extraterrestrial_radiation,
        sun.monthly_daylight_hours,
    ],
)
def test_sun_formulas_refuse_latitude_beyond_the_poles(formula, latitude_deg):
    with pytest.raises(ValueError, match="latitude_deg must be -90 to 90, got"):
        formula(latitude_deg)


@pytest.mark.parametrize("day", [0, 367, -5, [100, 400]])
@pytest.mark.parametrize(
    "formula",
    [
        sun.inverse_relative_distance,
        sun.solar_declination_rad,
        lambda day: sun.sunset_hour_angle(40, day),
        lambda day: sun.extraterrestrial_radiation(40, day),
        lambda day: sun.daylight_hours(40, day),
    ],
)
def test_sun_formulas_refuse_day_outside_the_year(formula, day):
    with pytest.raises(ValueError, match="day_of_year must be 1 to 366, got"):
        formula(day)
