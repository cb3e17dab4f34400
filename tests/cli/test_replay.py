"""The verb `replay`: its forms agree, and what is refused."""

import json

import pytest
from cli_answers import EXAMPLES, MM_PER_IN, approx, rows_of

HOME = EXAMPLES / "home"
KEYS = [
    "zone", "part", "of", "dry_days_percent", "months", "longest_dry_days",
    "worst_year", "adequacy_percent", "excess_percent", "irrigation_mm_year",
    "rain_mm_year", "rain_used_mm_year", "percolation_mm_year", "runoff_mm_year",
    "et_mm_year", "need_mm_year",
]  # fmt: skip
WAYS = [
    "table", "card", "today", "one-setting", "weekly-adjusted", "perfect-hand"
]  # fmt: skip


def test_json_has_the_keys_that_programs_are_promised(run):
    content = json.loads(run("replay", HOME, "--format", "json").out)

    assert list(content) == ["format", "years", "zones"]
    assert content["format"] == 1
    assert content["years"] == {
        "from": None, "to": None, "count": 30, "invented": True
    }  # fmt: skip
    zones = content["zones"]
    assert [list(zone) for zone in zones] == [KEYS] * 30
    assert [zone["of"] for zone in zones] == WAYS * 5
    for zone in zones:
        assert len(zone["dry_days_percent"]) == 4
        assert [month["month"] for month in zone["months"]] == list(range(1, 13))
        assert {tuple(month) for month in zone["months"]} == {
            ("month", "dry_days_percent")
        }


def test_csv_and_json_agree(run):
    content = json.loads(run("replay", HOME, "--format", "json").out)
    rows = rows_of(run("replay", HOME, "--format", "csv", "--units", "us").out)

    assert len(rows) == len(content["zones"])
    for row, zone in zip(rows, content["zones"], strict=True):
        assert (row["zone"], row["of"]) == (zone["zone"], zone["of"])
        depth = float(row["irrigation_year_in"]) * MM_PER_IN
        assert depth == approx(zone["irrigation_mm_year"])
        wetter = zone["dry_days_percent"][1:]
        assert float(row["dry_days_percent"]) == approx(sum(wetter) / 3)


def test_text_tells_the_ways_the_gains_and_what_rain_rules_save(run):
    told = run("replay", HOME)

    assert told.status == 0
    assert told.err == ""
    for text in (
        "Replay: Home with two lawns",
        "30 years of days invented from the climate's",
        "less than today's settings",
        "a perfect hand",
        "A rain shut-off set to",
        "By hand: after",
        "A percent every week",
        "this table, adjusted every week",
        "the same plan may",
    ):
        assert text in told.out


def test_zones_without_todays_settings_have_no_such_way(run):
    content = json.loads(
        run("replay", EXAMPLES / "southern_garden", "--format", "json").out
    )

    ways = [zone["of"] for zone in content["zones"]]
    assert ways == [way for way in WAYS if way != "today"] * 6


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--year", "3"], "add --picture FILE.png"),
        (["--zone", "3"], "add --picture FILE.png"),
        (["--picture", "a.pdf"], "ends in .png or .svg"),
        (["--picture", "a.svg", "--zone", "77"], '"77" is not a zone'),
        (["--picture", "a.svg", "--year", "33"], "33 is none of the years played"),
        (["--visits", "13"], "'--visits'"),
    ],
)
def test_what_cannot_be_drawn_or_played_is_refused(
    run, options, told, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    answer = run("replay", HOME, *options)

    assert answer.status == 2
    assert answer.out == ""
    assert told in " ".join(answer.err.split())
    assert not list(tmp_path.iterdir())
