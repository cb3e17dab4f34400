"""The sample climates: invented, yet physically possible and typical of their kind.

The files are read, converted and judged here without the package's own code, and
radiation and reference evapotranspiration come from the refet library, so that
nothing is checked against itself.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest
import refet
import refet.calcs

FOLDER = Path(__file__).parents[1] / "climate_samples"
NAMES = (
    "dry_summer_valley",
    "humid_subtropical_coast",
    "cold_high_plains",
    "cool_marine",
    "hot_desert",
    "southern_temperate",
)
DAILY_NAMES = ("dry_summer_valley_daily", "humid_subtropical_coast_daily")
each_station = pytest.mark.parametrize("name", NAMES)

# The columns that design.md, 'Climate files', allows in a monthly file; one set a
# quantity, of which a file fills exactly one. ET0 is left to the package to compute.
CHOICES = (
    {"month"},
    {"tmin_f", "tmin_c"},
    {"tmax_f", "tmax_c"},
    {"dew_point_f", "dew_point_c", "humidity_percent"},
    {"wind_mph", "wind_km_h", "wind_m_s"},
    {"solar_mj_m2_day", "solar_w_m2", "sunshine_h"},
    {"rain_in", "rain_mm"},
    {"rain_days"},
)

# FAO-56 table 2.5: day of the year of the 15th of each month.
MID_MONTH = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])
# A year of 365 days.
DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def comments(name):
    lines = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line.startswith("#")]


def rows(name):
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def stated(name, key):
    """Read the one machine-readable comment that gives the key."""
    pattern = re.compile(rf"# {key} = (-?\d+(?:\.\d+)?)")
    (value,) = [m[1] for m in map(pattern.fullmatch, comments(name)) if m]
    return float(value)


def column(name, *conversions):
    """Monthly values, from whichever of the columns is there, converted to SI."""
    table = rows(name)
    ((field, to_si),) = [c for c in conversions if c[0] in table[0]]
    return to_si(np.array([float(row[field]) for row in table]))


def same(value):
    return value


def celsius(value_f):
    return (value_f - 32) * 5 / 9


def tmin_c(name):
    return column(name, ("tmin_c", same), ("tmin_f", celsius))


def tmax_c(name):
    return column(name, ("tmax_c", same), ("tmax_f", celsius))


def tmean_c(name):
    return (tmin_c(name) + tmax_c(name)) / 2


def saturation_kpa(temperature_c):
    # FAO-56, eq. 11, p. 36.
    return 0.6108 * np.exp(17.27 * temperature_c / (temperature_c + 237.3))


def vapor_kpa(name):
    # Mean humidity: FAO-56, eq. 12 and box 11 (ea = es RHmean / 100), p. 36 and 67.
    es_kpa = (saturation_kpa(tmin_c(name)) + saturation_kpa(tmax_c(name))) / 2
    return column(
        name,
        ("dew_point_c", saturation_kpa),
        ("dew_point_f", lambda value_f: saturation_kpa(celsius(value_f))),
        ("humidity_percent", lambda percent: es_kpa * percent / 100),
    )


def dew_point_c(name):
    # FAO-56, eq. 11, solved for the temperature.
    log_ratio = np.log(vapor_kpa(name) / 0.6108)
    return 237.3 * log_ratio / (17.27 - log_ratio)


def wind_m_s(name):
    # Exact: a mile is 1609.344 m, an hour 3600 s.
    return column(
        name,
        ("wind_m_s", same),
        ("wind_mph", lambda mph: mph * 1609.344 / 3600),
        ("wind_km_h", lambda km_h: km_h / 3.6),
    )


def rain_mm(name):
    return column(name, ("rain_mm", same), ("rain_in", lambda inches: inches * 25.4))


def extraterrestrial_mj_m2_day(name):
    latitude_rad = np.radians(stated(name, "latitude"))
    return refet.calcs.ra_daily(latitude_rad, MID_MONTH, method="asce")


def daylight_h(name):
    declination = refet.calcs.declination(MID_MONTH, method="asce")
    latitude_rad = np.radians(stated(name, "latitude"))
    return 24 / np.pi * refet.calcs.sunset_hour_angle(latitude_rad, declination)


def solar_mj_m2_day(name):
    # Exact: 1 W for a day is 0.0864 MJ. Sunshine: FAO-56, eq. 35, p. 50.
    ra = extraterrestrial_mj_m2_day(name)
    return column(
        name,
        ("solar_mj_m2_day", same),
        ("solar_w_m2", lambda w_m2: w_m2 * 0.0864),
        ("sunshine_h", lambda h: (0.25 + 0.50 * h / daylight_h(name)) * ra),
    )


def et0_mm_day(name):
    # ASCE standardized, short reference, by refet; measured at 2 m.
    return refet.Daily(
        tmin=tmin_c(name),
        tmax=tmax_c(name),
        rs=solar_mj_m2_day(name),
        uz=wind_m_s(name),
        zw=2.0,
        elev=np.full(12, stated(name, "elevation_m")),
        lat=np.full(12, stated(name, "latitude")),
        doy=MID_MONTH,
        ea=vapor_kpa(name),
        method="asce",
    ).eto()


def months_where(condition):
    return [int(month) for month in np.flatnonzero(condition) + 1]


def test_folder_holds_exactly_these_stations():
    found = {path.name for path in FOLDER.iterdir()}

    assert found == {f"{name}.csv" for name in (*NAMES, *DAILY_NAMES)}


@each_station
def test_first_line_says_that_the_station_is_invented(name):
    first = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]

    assert first == "# Invented station, not a real place."


@each_station
def test_comments_state_latitude_elevation_wind_height_units_and_climate(name):
    text = "\n".join(comments(name))

    assert -60 < stated(name, "latitude") < 60
    assert 0 <= stated(name, "elevation_m") < 3000
    assert "Wind measured at 2 m" in text
    assert "# Units: " in text
    assert "# Climate: " in text


@each_station
def test_columns_give_each_quantity_once_and_leave_et0_to_be_computed(name):
    header = list(rows(name)[0])
    chosen = [choice & set(header) for choice in CHOICES]

    assert [len(fields) for fields in chosen] == [1] * len(CHOICES)
    assert len(header) == len(CHOICES)


def test_files_together_use_every_column_in_either_unit_system():
    used = set().union(*(rows(name)[0] for name in NAMES))

    assert used == set().union(*CHOICES)


@each_station
def test_months_run_from_1_to_12(name):
    assert [row["month"] for row in rows(name)] == [str(m) for m in range(1, 13)]


# common practice: a monthly mean is kept to 0.1 degC or a whole degF, rain to whole mm
# or 0.01 in; more digits would claim an accuracy that no gauge has.
@each_station
def test_values_carry_no_false_precision(name):
    most_decimals = {"rain_in": 2, "rain_mm": 0}
    for row in rows(name):
        for field, text in row.items():
            most = most_decimals.get(field, 0 if field.endswith("_f") else 1)

            assert len(text.partition(".")[2]) <= most, f"{field} {text}"


# from memory: monthly mean diurnal range, about 5 degC by a cloudy sea in winter to
# 20 degC in dry country inland.
@each_station
def test_diurnal_range_is_between_4_and_22_c(name):
    range_c = tmax_c(name) - tmin_c(name)

    assert months_where((range_c < 4) | (range_c > 22)) == []


# FAO-56, eq. 48, p. 58 to 63: the night cools to about the dew point; 2 degC is
# allowed for means.
@each_station
def test_dew_point_is_at_most_2_c_over_tmin(name):
    assert months_where(dew_point_c(name) > tmin_c(name) + 2) == []


@each_station
def test_mean_relative_humidity_is_over_5_and_at_most_100_percent(name):
    es_kpa = (saturation_kpa(tmin_c(name)) + saturation_kpa(tmax_c(name))) / 2
    humidity_percent = 100 * vapor_kpa(name) / es_kpa

    assert months_where((humidity_percent <= 5) | (humidity_percent > 100)) == []


# FAO-56, eq. 35, p. 50: 0.25 Ra under a sky that is overcast all day. from memory: a
# clear sky lets through at most about 0.80 Ra, and that only on high ground.
@each_station
def test_solar_is_between_a_quarter_and_four_fifths_of_extraterrestrial(name):
    share = solar_mj_m2_day(name) / extraterrestrial_mj_m2_day(name)

    assert months_where((share < 0.25) | (share > 0.80)) == []


# FAO-56, eq. 37, p. 51.
@each_station
def test_solar_is_at_most_the_clear_sky_of_fao_56(name):
    clear_share = 0.75 + 2e-5 * stated(name, "elevation_m")
    clear_mj_m2_day = clear_share * extraterrestrial_mj_m2_day(name)

    assert months_where(solar_mj_m2_day(name) > clear_mj_m2_day) == []


@pytest.mark.parametrize("name", ["cool_marine"])
def test_sunshine_is_between_none_and_the_whole_of_daylight(name):
    sunshine_h = column(name, ("sunshine_h", same))

    assert months_where((sunshine_h <= 0) | (sunshine_h >= daylight_h(name))) == []


# FAO-56, p. 58 to 63: wind classes, light to strong; 0.5 m/s is the least for eq. 6.
@each_station
def test_wind_is_between_a_half_and_7_m_s(name):
    assert months_where((wind_m_s(name) < 0.5) | (wind_m_s(name) > 7)) == []


@each_station
def test_rain_is_never_negative(name):
    assert months_where(rain_mm(name) < 0) == []


def rain_days(name):
    return column(name, ("rain_days", same))


# from memory: a day of 1 mm or more brings 3 to 15 mm in the mean, from drizzle by a
# cool sea to the showers of a warm one; a mean of many years may be part of a day.
@each_station
def test_wet_day_brings_3_to_15_mm(name):
    rain, days = rain_mm(name), rain_days(name)

    assert months_where((rain < 3 * days) | (rain > 15 * days)) == []


@each_station
def test_most_of_the_days_of_a_month_are_dry_or_the_month_is_of_a_marine_winter(name):
    wet = months_where(rain_days(name) > DAYS / 2)

    assert set(wet) <= ({11, 12, 1} if name == "cool_marine" else set())


@each_station
def test_warmest_and_coldest_month_lie_in_the_seasons_of_the_hemisphere(name):
    june_to_august, december_to_february = {6, 7, 8}, {12, 1, 2}
    north = stated(name, "latitude") > 0
    warmest = int(np.argmax(tmean_c(name))) + 1
    coldest = int(np.argmin(tmean_c(name))) + 1

    assert warmest in (june_to_august if north else december_to_february)
    assert coldest in (december_to_february if north else june_to_august)


def test_only_the_southern_station_lies_south_of_the_equator():
    south = {name for name in NAMES if stated(name, "latitude") < 0}

    assert south == {"southern_temperate"}
    assert stated("southern_temperate", "latitude") == pytest.approx(-35, abs=1)


# common practice: 9 degC from month to month is about the most of a continental spring.
@each_station
def test_neighboring_months_differ_by_at_most_9_c(name):
    for temperature_c in (tmin_c(name), tmax_c(name), dew_point_c(name)):
        step_c = temperature_c - np.roll(temperature_c, 1)

        assert months_where(np.abs(step_c) > 9) == []


# Smooth through the year: one rise and one fall, January following December.
@each_station
def test_mean_temperature_rises_once_and_falls_once_in_the_year(name):
    rising = np.diff(tmean_c(name), append=tmean_c(name)[0]) > 0

    assert np.count_nonzero(rising != np.roll(rising, 1)) == 2


# The design takes a month off where the mean tmin is below 0 degC.
@pytest.mark.parametrize(
    ("name", "frost_months"),
    [(name, []) for name in NAMES if name != "cold_high_plains"]
    + [("cold_high_plains", [1, 2, 3, 11, 12])],
)
def test_frost_months_are_november_to_march_on_the_plains_alone(name, frost_months):
    assert months_where(tmin_c(name) < 0) == frost_months


# Definitions of the climates, from memory: at least two thirds of a dry-summer year's
# rain in the winter half; a humid subtropical summer no drier than its winter; an arid
# year under 100 mm here; a marine summer drier, not dry.
@pytest.mark.parametrize(
    ("name", "months", "least_share", "most_share"),
    [
        ("dry_summer_valley", [11, 12, 1, 2, 3, 4], 0.67, 0.97),
        ("dry_summer_valley", [6, 7, 8], 0.0, 0.02),
        ("humid_subtropical_coast", [6, 7, 8], 0.30, 0.45),
        ("cold_high_plains", [4, 5, 6, 7, 8], 0.60, 0.80),
        ("cool_marine", [6, 7, 8], 0.05, 0.15),
        ("southern_temperate", [9, 10, 11], 0.25, 0.35),
    ],
)
def test_rain_falls_in_its_season(name, months, least_share, most_share):
    in_season_mm = rain_mm(name)[np.array(months) - 1].sum()

    assert least_share <= in_season_mm / rain_mm(name).sum() <= most_share


# from memory: usual bands of the year's rain in each kind of climate.
@pytest.mark.parametrize(
    ("name", "least_mm", "most_mm"),
    [
        ("dry_summer_valley", 250, 600),
        ("humid_subtropical_coast", 1000, 1700),
        ("cold_high_plains", 300, 500),
        ("cool_marine", 700, 1300),
        ("hot_desert", 30, 100),
        ("southern_temperate", 500, 900),
    ],
)
def test_rain_of_the_year_is_that_of_the_climate(name, least_mm, most_mm):
    assert least_mm <= rain_mm(name).sum() <= most_mm


# from memory: usual bands of the year's grass reference evapotranspiration in each
# kind of climate. ASCE standardized daily form on mid-month days, by refet.
@pytest.mark.parametrize(
    ("name", "least_mm", "most_mm"),
    [
        ("dry_summer_valley", 1250, 1500),
        ("humid_subtropical_coast", 1200, 1400),
        ("cold_high_plains", 1100, 1400),
        ("cool_marine", 600, 800),
        ("hot_desert", 1800, 2200),
        ("southern_temperate", 1100, 1400),
    ],
)
def test_et0_of_the_year_is_that_of_the_climate(name, least_mm, most_mm):
    year_mm = float(np.sum(et0_mm_day(name) * DAYS))

    assert least_mm <= year_mm <= most_mm
