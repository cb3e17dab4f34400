"""The verb `adjust`: its forms agree, and what is refused."""

import json
import shutil

import pytest
from cli_answers import EXAMPLES, MM_PER_IN, approx, replace, rows_of

HOME = EXAMPLES / "home"
WEATHER = HOME / "last_weeks.csv"
WEEK = ("--et0-week-mm", "42", "--rain-week-mm", "0", "--date", "2026-07-13")


def test_json_has_the_keys_that_programs_are_promised(run):
    told = run("adjust", HOME, "--weather", WEATHER, "--format", "json")
    content = json.loads(told.out)

    assert told.status == 0
    assert list(content) == ["format", "zones"]
    assert content["format"] == 1
    assert [zone["zone"] for zone in content["zones"]] == ["1", "2", "3", "4", "5"]
    for zone in content["zones"]:
        assert list(zone) == ["zone", "percent", "skip_until", "deficit_mm"]
        assert zone["percent"] % 5 == 0


@pytest.mark.parametrize("of", ["table", "card", "today"])
def test_csv_and_json_agree_whosever_settings_are_in_force(run, of):
    asked = ("adjust", HOME, "--weather", WEATHER, "--of", of)
    content = json.loads(run(*asked, "--format", "json").out)
    rows = rows_of(run(*asked, "--format", "csv", "--units", "us").out)

    assert len(rows) == len(content["zones"])
    for row, zone in zip(rows, content["zones"], strict=True):
        assert row["zone"] == zone["zone"]
        assert float(row["percent"]) == approx(zone["percent"])
        assert float(row["deficit_in"]) * MM_PER_IN == approx(zone["deficit_mm"])
        assert (row["skip_until"] or None) == zone["skip_until"]


def test_text_tells_the_week_the_weather_and_on_request_the_working(run):
    told = run("adjust", HOME, "--weather", WEATHER)
    explained = run("adjust", HOME, "--weather", WEATHER, "--explain")
    of_zone = run("adjust", HOME, "--weather", WEATHER, "--zone", "front lawn")

    assert (told.status, told.err) == (0, "")
    assert "Week from Mon 13 July 2026" in told.out
    assert "Mon 15 June to Sun 12 July (28 days)" in told.out
    assert "It lacks" not in told.out
    assert explained.out.count("It lacks") == 5
    assert of_zone.out.count("It lacks") == 1
    assert "Zone 1: Front lawn\n---" in of_zone.out


def test_a_raining_and_a_hot_week_are_one_command_each(run):
    wet = run("adjust", HOME, "--et0-week-in", "1.2", "--rain-week-in", "2",
              "--date", "2026-07-13", "--format", "json")  # fmt: skip
    hot = run("adjust", HOME, "--et0-week-in", "2.6", "--rain-week-in", "0",
              "--date", "2026-07-13", "--format", "json")  # fmt: skip

    for less, more in zip(
        json.loads(wet.out)["zones"], json.loads(hot.out)["zones"], strict=True
    ):
        assert less["deficit_mm"] < more["deficit_mm"]
        assert more["skip_until"] is None
        assert less["skip_until"] is not None or less["percent"] <= more["percent"]


# January runs nothing; a lawn may lack 0.54 in, and a dry winter takes more.
def test_dry_ground_in_a_month_that_is_off_is_told(run, tmp_path):
    site = shutil.copytree(EXAMPLES, tmp_path / "examples") / "home"
    shutil.copytree(EXAMPLES.parent / "climate_samples", tmp_path / "climate_samples")
    with (site / "site.toml").open("a", encoding="utf-8") as file:
        file.write('\n[plan]\nby = "months"\n')
    told = run("adjust", site, "--et0-week-mm", "12", "--date", "2027-01-03")

    assert "nothing is set to run this week, yet" in " ".join(told.out.split())
    assert "0 cycles" not in told.out


def test_a_controller_without_percents_is_told_minutes(run, tmp_path):
    site = shutil.copytree(EXAMPLES, tmp_path / "examples") / "home"
    shutil.copytree(EXAMPLES.parent / "climate_samples", tmp_path / "climate_samples")
    replace(site, "site.toml", 'percent_by = "program"', 'percent_by = "none"')
    told = run("adjust", site, *WEEK)

    assert told.status == 0
    assert "key in" in told.out
    assert " min " in told.out


def test_one_percent_for_the_whole_controller_is_one(run, tmp_path):
    site = shutil.copytree(EXAMPLES, tmp_path / "examples") / "home"
    shutil.copytree(EXAMPLES.parent / "climate_samples", tmp_path / "climate_samples")
    replace(site, "site.toml", 'percent_by = "program"', 'percent_by = "controller"')
    told = run("adjust", site, *WEEK, "--format", "json")
    zones = json.loads(told.out)["zones"]

    assert len({zone["percent"] for zone in zones}) == 1
    assert "share one percent" in run("adjust", site, *WEEK).out


def test_what_is_missing_in_the_weather_is_told(run, tmp_path):
    path = tmp_path / "gaps.csv"
    days = [f"2026-07-{day:02d},6,\n" for day in range(1, 11) if day not in (4, 5)]
    path.write_text("date,et0_mm,rain_mm\n" + "".join(days), encoding="utf-8")
    told = run("adjust", HOME, "--weather", path, "--date", "2026-07-13")
    text = " ".join(told.out.split())

    assert told.status == 0
    # 4 and 5 July, and the 11th and 12th before the date.
    assert "4 days without ET0 (Sat 4 July, Sun 5 July, Sat 11 July, Sun 12" in text
    assert "tells no rain" in text
    assert "begins so late" in text


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ([], "give a daily file, or ET0 and rain of the week"),
        ([*WEEK, "--weather", WEATHER], "not both"),
        (["--weather", "none.csv"], "none.csv"),
        (["--weather", WEATHER, "--date", "13 July"], "dates are written year-month"),
        (["--weather", WEATHER, "--date", "2026-08-13"], "ends on 2026-07-12"),
        (["--weather", WEATHER, "--date", "2026-06-15"], "begins on 2026-06-15"),
        (["--weather", WEATHER, "--zone", "77"], '"77" is not a zone'),
        (["--weather", HOME / "zones.csv"], "zones.csv"),
        (["--rain-week-mm", "3"], "--et0-week-mm: is missing"),
    ],
)
def test_what_cannot_be_adjusted_by_is_refused(run, options, told):
    answer = run("adjust", HOME, *options)

    assert answer.status == 2
    assert answer.out == ""
    assert told in " ".join(answer.err.split())


def test_todays_settings_have_to_be_told(run):
    answer = run("adjust", EXAMPLES / "southern_garden", *WEEK, "--of", "today")

    assert answer.status == 2
    assert "no current.csv" in answer.err


# From memory: some 50 mm of ET0 in a week of July in a dry summer; 2.6 are its inches.
def test_a_week_in_the_other_unit_is_asked_for(run):
    told = run("adjust", HOME, "--et0-week-mm", "2.6", "--date", "2027-07-05")

    assert (told.status, told.out) == (2, "")
    assert "is it in the other" in " ".join(told.err.split())
    assert run("adjust", HOME, "--et0-week-in", "2.6", "--date", "2027-07-05").out
