"""Checks that a climate with a mixed-up unit, column or sign is doubted.

The limits are common practice: wider than any place where a lawn is watered.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from scheduler.demand.months import ReferenceMonths
from scheduler.demand.unlikely import climate_doubts, place_doubts

SAMPLES = Path(__file__).parents[2] / "climate_samples"
WARM_IN_JULY = [8.0, 10, 14, 18, 22, 26, 29, 28, 24, 19, 13, 9]


def months(et0=4.0, rain=50.0, tmax=WARM_IN_JULY):
    tmax_c = np.array(tmax, float) if tmax is not None else np.full(12, np.nan)
    return ReferenceMonths(
        "c.csv", np.full(12, et0), np.full(12, rain), tmax_c - 10, tmax_c,
        np.zeros(12, bool), np.zeros(12), None, "given", (),
    )  # fmt: skip


def doubts(given, latitude_deg=40.0):
    return [caution.values["what"] for caution in climate_doubts(given, latitude_deg)]


def test_climate_like_many_is_not_doubted():
    assert doubts(months()) == []
    assert doubts(months(tmax=None), -40.0) == []


# Millimeters under an inch column: 50 mm a month become 50 in, 15,240 mm a year.
def test_rain_of_millimeters_in_an_inch_column_is_doubted():
    assert doubts(months(rain=50 * 25.4)) == ["rain"]


# 29 °C under a Fahrenheit column becomes -1.7 °C.
def test_celsius_in_a_fahrenheit_column_is_doubted():
    fahrenheit = [(value - 32) / 1.8 for value in WARM_IN_JULY]

    assert doubts(months(tmax=fahrenheit)) == ["cold"]


# 0.16 in/day under a millimeter column is 58 mm a year; 4 mm/day under inches 37 m.
@pytest.mark.parametrize("et0", [0.16, 101.6])
def test_et0_of_the_wrong_unit_is_doubted(et0):
    assert doubts(months(et0=et0)) == ["et0"]


# 8.1, 0.87 and 7.7 mm/day: the middle one lacks a decimal place, 7.9 stands beside it.
def test_a_month_that_leaps_out_of_its_neighbours_is_doubted():
    et0 = np.array([1.2, 1.8, 3.0, 4.5, 6.5, 8.1, 0.87, 7.7, 5.5, 3.5, 1.8, 1.1])
    (caution,) = climate_doubts(months(et0=et0), 40.0)

    assert (caution.code, caution.month) == ("climate-doubtful", 7)
    assert caution.values["what"] == "leap"
    assert caution.values["beside_mm_day"] == pytest.approx((8.1 + 7.7) / 2)
    et0[6] = 8.6
    assert doubts(months(et0=et0)) == []


def test_northern_seasons_at_a_southern_latitude_are_doubted():
    assert doubts(months(), -32.8) == ["seasons"]
    assert doubts(months(tmax=np.roll(WARM_IN_JULY, 6)), 32.8) == ["seasons"]


def test_tropics_have_no_seasons_to_doubt():
    assert doubts(months(), -10.0) == []


def test_sample_climates_are_not_doubted():
    for path in sorted(SAMPLES.glob("*.csv")):
        if path.stem.endswith("_daily"):
            continue
        lines = path.read_text(encoding="utf-8").splitlines()
        latitude = next(
            float(line.split("=")[1]) for line in lines if line.startswith("# latitude")
        )
        rows = list(csv.DictReader(line for line in lines if line[:1] != "#"))
        rain = [
            float(row.get("rain_mm") or 25.4 * float(row["rain_in"])) for row in rows
        ]
        tmax = [
            float(row["tmax_c"])
            if "tmax_c" in row
            else (float(row["tmax_f"]) - 32) / 1.8
            for row in rows
        ]
        given = months(tmax=tmax)
        given.rain_mm[:] = rain

        assert doubts(given, latitude) == []


# 2 to 4 mm of rain a day, as some climates print it, instead of 60 to 120 a month: a
# humid place becomes a desert in which it rains every month.
def test_rain_of_a_days_mean_is_doubted():
    given = months(et0=3.0)
    given.rain_mm[:] = [4.0, 3.6, 3.5, 2.9, 2.6, 2.4, 2.2, 2.3, 2.8, 3.2, 3.7, 4.0]

    assert doubts(given) == ["rain-even"]
    given.rain_mm[:] *= 30
    assert doubts(given) == []


# 2 to 3 mm a day in winter and none in summer, for 60 to 90 mm a month: 15 mm a year,
# as Cairo's 18 (from memory), where ET0 is some 1,800; Phoenix has 180 for 1,900.
@pytest.mark.parametrize(("scale", "told"), [(1.0, ["rain-little"]), (30.0, [])])
def test_rain_of_a_days_mean_with_dry_summers_is_doubted(scale, told):
    given = months(et0=5.0)
    rain = [3.0, 2.6, 2.2, 1.2, 0.4, 0.0, 0.0, 0.0, 0.3, 1.0, 1.9, 2.8]
    given.rain_mm[:] = scale * np.array(rain)

    assert doubts(given) == told


# 6 to 30 mm a month in winter and none in summer: deserts that there are.
def test_rain_of_a_desert_is_not_doubted():
    given = months(et0=5.5)
    given.rain_mm[:] = [20, 18, 15, 6, 1, 0, 0, 1, 1, 3, 9, 19]

    assert doubts(given) == []


def test_longitudes_without_a_sign_are_doubted_in_us_units_only():
    def told(longitude_deg, units, timezone):
        return [c.code for c in place_doubts(longitude_deg, units, timezone)]

    assert told(112.0, "us", "") == ["place-doubtful"]
    assert told(-112.0, "us", "") == []
    assert told(112.0, "metric", "") == []
    # It was held against the time zone when it was read.
    assert told(112.0, "us", "Asia/Shanghai") == []
