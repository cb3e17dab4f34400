"""Numbers and months in words: exact units, three digits, runs of months."""

import datetime
import zoneinfo

import pytest

from scheduler.report.words.pages import spoken


# NIST Handbook 44, Appendix C: a gallon is 231 in³, an in³ 0.016387064 L; an inch is
# 25.4 mm; a square foot is 0.09290304 m². All exact.
@pytest.mark.parametrize(
    ("value", "dimension", "units", "text"),
    [
        (1000 * 231 * 0.016387064, "volume", "us", "1,000 gallons"),
        (228_255 * 231 * 0.016387064, "volume", "us", "228,000 gallons"),
        (12.34 * 231 * 0.016387064, "volume", "us", "12 gallons"),
        (10_000.0, "volume", "metric", "10.0 cubic meters"),
        (254_420.0, "volume", "metric", "254 cubic meters"),
        (5_761.0, "volume", "metric", "5.76 cubic meters"),
        (54.3, "volume", "metric", "0.054 cubic meters"),
        (0.0, "volume", "us", "0 gallons"),
        (1.6 * 25.4, "depth", "us", "1.6 inches"),
        (38.6, "depth", "metric", "39 millimeters"),
        (3600 * 0.09290304, "area", "us", "3,600 square feet"),
        (35.3, "area", "metric", "35 square meters"),
    ],
)
def test_quantity_has_three_digits_and_the_name_of_its_unit(
    value, dimension, units, text
):
    assert spoken.quantity(value, dimension, units) == text


# A US bill counts gallons, a metric one cubic meters.
@pytest.mark.parametrize(
    ("volume_l", "units", "text"),
    [
        (228_255.4 * 231 * 0.016387064, "us", "228,255 gallons"),
        (1_029_730.0, "metric", "1,029.7 cubic meters"),
        (0.0, "metric", "0.0 cubic meters"),
    ],
)
def test_whole_is_not_cut_to_three_digits(volume_l, units, text):
    assert spoken.whole(volume_l, units) == text


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (1.0, "nearly all"),
        (0.75, "three quarters"),
        (2 / 3, "two thirds"),
        (0.5, "half"),
        (1 / 3, "a third"),
        (0.25, "a quarter"),
        (0.2, "a fifth"),
        (1 / 6, "a sixth"),
        (0.1, "a tenth"),
        (0.03, "hardly any"),
        (0.0, "none"),
    ],
)
def test_share_takes_the_words_of_its_fraction(part, words):
    assert spoken.share(part) == words


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        ([7], "July"),
        ([6, 7], "June and July"),
        ([12, 1], "December and January"),
        ([11, 12, 1, 2, 3], "November to March"),
        ([3, 5, 6, 7], "March and May to July"),
        (range(1, 13), "all year"),
        ([], ""),
    ],
)
def test_months_run_around_the_turn_of_the_year(numbers, text):
    assert spoken.months(list(numbers)) == text


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("cool-season turf", "lawn of cool-season grass"),
        ("warm-season turf fao56", "lawn of warm-season grass"),
        ("shrubs moderate water", "shrubs of moderate water use"),
        ("trees very low water", "trees of very low water use"),
        ("roses", "roses"),
        ("Grandmother's phlox", "Grandmother's phlox"),
    ],
)
def test_plant_is_said_in_words_and_a_name_of_the_site_is_kept(name, words):
    assert spoken.plant(name) == words


# zoneinfo: what a name of Etc counts is the hours that UTC is ahead of it.
@pytest.mark.parametrize("name", ["Etc/GMT+8", "Etc/GMT-9", "Etc/GMT+1", "Etc/GMT-12"])
def test_names_that_count_hours_are_told_by_their_clock(name):
    day = datetime.datetime(2026, 7, 1, tzinfo=zoneinfo.ZoneInfo(name))
    hours = round(day.utcoffset().total_seconds() / 3600)
    side = "ahead of" if hours > 0 else "behind"
    noun = "hour" if abs(hours) == 1 else "hours"

    assert spoken.clock_of(name) == f"{name} ({abs(hours)} {noun} {side} UTC)"
    assert spoken.clock_of("Etc/GMT+0") == "Etc/GMT+0 (UTC)"
    assert spoken.clock_of("Europe/Paris") == "Europe/Paris"
