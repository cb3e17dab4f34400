"""Permitted hours of a date: sunrise, pieces, and clocks that change."""

import dataclasses
import datetime
import math
import zoneinfo

import numpy as np
import pandas as pd
import pytest
from pvlib import solarposition

from scheduler.calendar import ALL_DATES, ODD, WEEKDAYS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.times.windows import (
    Piece,
    clock_minutes,
    clock_text,
    closes_min_of,
    crosses_midnight,
    earliest_sunrise_min,
    instant_s,
    is_open_between,
    is_permitted,
    local_timezone,
    pieces_of_date,
    windows_in_force,
)

PACIFIC = zoneinfo.ZoneInfo("America/Los_Angeles")


def window(opens, closes, parity=ALL_DATES, weekdays=WEEKDAYS):
    return Window(tuple(range(1, 13)), HEAD_KINDS, weekdays, parity, opens, closes, 7)


# NOAA Solar Calculator (Global Monitoring Laboratory), equations of its spreadsheet,
# after Meeus, Astronomical Algorithms: sunrise where the zenith is 90.833°. Written out
# here from memory; the sun's place is taken at the sunrise itself.
def noaa_sunrise_utc_min(midnight, latitude_deg, longitude_deg):
    minutes = 360.0 - 4 * longitude_deg
    for _ in range(3):
        at = midnight + datetime.timedelta(minutes=minutes)
        century = (at - J2000).total_seconds() / 86_400 / 36_525
        declination, equation_min = sun(century)
        latitude = math.radians(latitude_deg)
        cosine = math.cos(math.radians(90.833)) / (
            math.cos(latitude) * math.cos(declination)
        ) - math.tan(latitude) * math.tan(declination)
        hour_angle_deg = math.degrees(math.acos(cosine))
        minutes = 720 - 4 * (longitude_deg + hour_angle_deg) - equation_min
    return minutes


J2000 = datetime.datetime(2000, 1, 1, 12, tzinfo=datetime.UTC)


def sun(t):
    """Declination in radians, equation of time in minutes."""
    sin, cos, rad = math.sin, math.cos, math.radians
    mean_longitude = rad(280.46646 + t * (36000.76983 + t * 0.0003032))
    anomaly = rad(357.52911 + t * (35999.05029 - 0.0001537 * t))
    eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
    center = (
        sin(anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t))
        + sin(2 * anomaly) * (0.019993 - 0.000101 * t)
        + sin(3 * anomaly) * 0.000289
    )
    node = rad(125.04 - 1934.136 * t)
    longitude = mean_longitude + rad(center - 0.00569 - 0.00478 * sin(node))
    seconds = 21.448 - t * (46.815 + t * (0.00059 - t * 0.001813))
    obliquity = rad(23 + (26 + seconds / 60) / 60 + 0.00256 * cos(node))
    declination = math.asin(sin(obliquity) * sin(longitude))
    y = math.tan(obliquity / 2) ** 2
    equation = (
        y * sin(2 * mean_longitude)
        - 2 * eccentricity * sin(anomaly)
        + 4 * eccentricity * y * sin(anomaly) * cos(2 * mean_longitude)
        - 0.5 * y * y * sin(4 * mean_longitude)
        - 1.25 * eccentricity**2 * sin(2 * anomaly)
    )
    return declination, 4 * math.degrees(equation)


# Ours is cut to the minute, which takes up to one; the two methods differ by seconds.
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (38.5, -120.0, "Etc/GMT+8"),
        (-35.0, 140.0, "Etc/GMT-9"),
        (40.5, -104.0, "America/Denver"),
        (0.0, 179.5, "Etc/GMT-12"),
        (-18.0, -178.9, "Etc/GMT+12"),
        (60.0, 25.0, "Europe/Helsinki"),
        (-45.0, 170.0, "Pacific/Auckland"),
    ],
)
@pytest.mark.parametrize("month", range(1, 13))
def test_earliest_sunrise_is_that_of_the_noaa_equations(
    latitude, longitude, zone, month
):
    found = earliest_sunrise_min(latitude, longitude, zone, 2026, month)

    clock = []
    day = datetime.datetime(2026, month, 1, tzinfo=datetime.UTC)
    for back in range(-1, 33):
        date = day + datetime.timedelta(days=back)
        rise = noaa_sunrise_utc_min(date, latitude, longitude)
        here = (date + datetime.timedelta(minutes=rise)).astimezone(
            zoneinfo.ZoneInfo(zone)
        )
        if here.month == month:
            clock.append(here.hour * 60 + here.minute + here.second / 60)
    assert found == pytest.approx(min(clock) - 0.5, abs=0.6)


# Almanacs print these as the earliest sunrise of the year: New York 05:24 (EDT) and
# London 04:43 (BST), both in the middle of June. From memory.
@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "printed"),
    [
        (40.7128, -74.0060, "America/New_York", "05:24"),
        (51.5074, -0.1278, "Europe/London", "04:43"),
    ],
)
def test_earliest_sunrise_of_june_is_the_almanacs(latitude, longitude, zone, printed):
    found = earliest_sunrise_min(latitude, longitude, zone, 2026, 6)

    assert found == pytest.approx(clock_minutes(printed), abs=1)


# The sun stays down at 78° N in December and up in June: astronomy, exact.
@pytest.mark.parametrize("month", [6, 12])
def test_no_sunrise_in_polar_day_and_night(month):
    rise = earliest_sunrise_min(78.2, 15.6, "Arctic/Longyearbyen", 2026, month)

    assert rise is None
    assert closes_min_of(window("20:00", "sunrise"), rise) == 12 * 60


def test_clock_times_and_their_text():
    assert clock_minutes("21:30") == 21 * 60 + 30
    assert clock_minutes("24:00") == 1440
    assert clock_text(21 * 60 + 30) == "21:30"
    assert clock_text(1440) == "00:00"


# 15° of longitude to the hour; names of that kind count the other way round.
@pytest.mark.parametrize(
    ("longitude", "name"),
    [(-120.0, "Etc/GMT+8"), (140.0, "Etc/GMT-9"), (2.0, "Etc/GMT+0"),
     (180.0, "Etc/GMT-12"), (-180.0, "Etc/GMT+12")],
)  # fmt: skip
def test_time_zone_from_longitude(longitude, name):
    found = local_timezone("", longitude)

    assert found == name
    offset = datetime.datetime(2026, 7, 1, tzinfo=zoneinfo.ZoneInfo(found)).utcoffset()
    assert offset == datetime.timedelta(hours=round(longitude / 15))
    assert local_timezone("Europe/Paris", longitude) == "Europe/Paris"


# pvlib (NREL's solar position algorithm): by a clock of the longitude the sun is
# highest at 12:00, but for half an hour of longitude and the equation of time, which is
# 16.5 min at most.
@pytest.mark.parametrize("longitude", [-172.0, -118.0, -70.4, -7.6, 7.6, 139.0, 172])
def test_sun_is_highest_at_noon_of_the_clock_by_longitude(longitude):
    days = pd.date_range("2026-01-01 12:00", periods=12, freq="30D", tz="UTC")
    sun = solarposition.sun_rise_set_transit_spa(days, 30.0, longitude)
    noon = pd.DatetimeIndex(sun["transit"]).tz_convert(local_timezone("", longitude))

    off_min = np.abs((noon.hour - 12) * 60 + noon.minute)
    assert off_min.max() <= 30 + 17


@pytest.mark.parametrize(
    ("opens", "closes", "crosses"),
    [
        ("21:00", "06:00", True),
        ("04:00", "08:00", False),
        ("00:00", "24:00", False),
        ("21:00", "00:00", True),
        # A window to sunrise that opens in the morning is of that morning.
        ("03:00", "sunrise", False),
        ("07:00", "sunrise", False),
        ("20:00", "sunrise", True),
    ],
)
def test_windows_across_midnight(opens, closes, crosses):
    own = window(opens, closes)

    assert crosses_midnight(own, closes_min_of(own, 6 * 60)) is crosses


# Every minute of a run falls on a permitted date within the hours (design, [[window]]).
@pytest.mark.parametrize(
    ("opens", "closes", "before", "next_closes", "pieces"),
    [
        # Both neighbours permitted: one night.
        ("21:00", "06:00", True, 360, [(1260, 1800)]),
        # The next date is not: up to midnight.
        ("21:00", "06:00", True, None, [(1260, 1440)]),
        # Neither is: two pieces of one date.
        ("21:00", "06:00", False, None, [(0, 360), (1260, 1440)]),
        ("21:00", "06:00", False, 360, [(0, 360), (1260, 1800)]),
        # The next date's small hours close by its own window.
        ("21:00", "06:00", True, 300, [(1260, 1740)]),
        ("04:00", "08:00", False, None, [(240, 480)]),
        ("00:00", "24:00", True, None, [(0, 1440)]),
        ("21:00", "00:00", False, None, [(1260, 1440)]),
        # The sun is up before the window opens: no time at all.
        ("07:00", "sunrise", False, None, [(420, 420)]),
    ],
)
def test_pieces_of_a_date(opens, closes, before, next_closes, pieces):
    own = window(opens, closes)

    found = pieces_of_date(own, closes_min_of(own, 360), before, next_closes)
    assert found == tuple(Piece(*piece) for piece in pieces)
    assert all(piece.minutes >= 0 for piece in found)


def test_permitted_dates_by_weekday_and_parity():
    odd_mondays = window("21:00", "06:00", ODD, ("mon",))

    permitted = [
        day for day in range(1, 32)
        if is_permitted(odd_mondays, datetime.date(2026, 8, day))
    ]  # fmt: skip
    # Mondays of August 2026 are 3, 10, 17, 24 and 31 (calendar).
    assert permitted == [3, 17, 31]


def utc(text):
    return int(datetime.datetime.fromisoformat(f"{text}+00:00").timestamp())


# Daylight saving in the United States: from the second Sunday of March, 02:00, to the
# first Sunday of November, 02:00 (15 U.S.C. 260a). In 2026: 8 March and 1 November.
# Pacific standard time is UTC − 8 h, daylight time UTC − 7 h.
@pytest.mark.parametrize(
    ("date", "minutes", "opens", "shown"),
    [
        # Skipped: 02:30 is the moment of the change, 10:00 UTC, at either end.
        ("2026-03-08", 150, True, "2026-03-08 10:00"),
        ("2026-03-08", 150, False, "2026-03-08 10:00"),
        ("2026-03-07", 1440 + 150, False, "2026-03-08 10:00"),
        ("2026-03-08", 119, True, "2026-03-08 09:59"),
        ("2026-03-08", 180, True, "2026-03-08 10:00"),
        # Twice: a window opens at the second 01:30 and closes at the first.
        ("2026-11-01", 90, True, "2026-11-01 09:30"),
        ("2026-11-01", 90, False, "2026-11-01 08:30"),
        ("2026-11-01", 120, True, "2026-11-01 10:00"),
        ("2026-07-01", 0, True, "2026-07-01 07:00"),
        ("2026-07-01", 1440, False, "2026-07-02 07:00"),
    ],
)
def test_instants_where_the_clock_changes(date, minutes, opens, shown):
    day = datetime.date.fromisoformat(date)

    assert instant_s(day, minutes, PACIFIC, opens) == utc(shown)


def test_a_window_after_another_holds_only_for_what_that_leaves():
    night, day = window("22:00", "06:00"), window("08:00", "16:00")
    summer = dataclasses.replace(night, months=(6, 7, 8))
    seeds = dataclasses.replace(day, stages=("seed",))
    drip = dataclasses.replace(day, head_kinds=("drip",))

    assert windows_in_force((night, day), {"rotor"}) == (night,)
    assert windows_in_force((summer, day), {"rotor"}) == (summer, day)
    assert windows_in_force((seeds, drip, night), {"rotor"}) == (night,)
    assert windows_in_force((seeds, drip, night), {"rotor", "drip"}) == (drip, night)
    assert windows_in_force((night,), set()) == ()


@pytest.mark.parametrize(
    ("opens", "closes", "is_open"),
    [("06:00", "10:00", False), ("06:00", "10:01", True), ("16:00", "24:00", False),
     ("15:59", "06:00", True), ("22:00", "11:00", True), ("22:00", "sunrise", False),
     ("11:00", "sunrise", False), ("12:00", "12:00", True)],
)  # fmt: skip
def test_what_a_window_holds_of_the_middle_of_the_day(opens, closes, is_open):
    assert is_open_between(window(opens, closes), 600, 960) is is_open
