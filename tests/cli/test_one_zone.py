"""`--zone` of table and check: told of one zone is what is told of it among all."""

import json
import re
import shutil

import pytest
from cli_answers import EXAMPLES, ROOT, rows_of

HOME = EXAMPLES / "home"


def test_table_of_a_zone_is_its_part_of_the_whole(run):
    whole, one = (run("table", HOME, *more).out for more in ((), ("--zone", "3")))
    block = re.search(r"Zone 3: .*?\n\n(?=Zone 4)", whole, re.S).group()

    assert block in one
    assert "Zone 2" not in one
    assert "Minutes a week" not in one


@pytest.mark.parametrize("zone", ["4", "Shrub bed", "shrub-bed"])
def test_json_and_csv_of_a_zone_hold_it_alone(run, zone):
    whole = json.loads(run("table", HOME, "--format", "json").out)
    one = json.loads(run("table", HOME, "--zone", zone, "--format", "json").out)
    rows = rows_of(run("table", HOME, "--zone", zone, "--format", "csv").out)

    assert one["zones"] == [z for z in whole["zones"] if z["zone"] == "4"]
    assert {row["zone"] for row in rows} == {"4"}
    assert len(rows) == 12
    assert all(c["zone"] in ("4", None) for c in one["cautions"])


def test_check_of_a_zone_tells_what_it_tells_of_it_among_all(run):
    def found(*more):
        return json.loads(run("check", HOME, "--format", "json", *more).out)["findings"]

    one = [f for f in found("--zone", "2") if f["zone"]]

    assert one == [f for f in found() if f["zone"] == "2"]
    assert [f["code"] for f in one] == ["unmatched-heads"]


def test_what_was_assumed_is_told_of_the_zone(run):
    told = run("check", HOME, "--zone", "5").out

    assert "\nzone 5: root depth usual for the plant" in told
    assert "all zones" not in told


def test_hard_limits_of_other_zones_do_not_count(run, tmp_path):
    site = tmp_path / "examples" / "home"
    shutil.copytree(HOME, site)
    shutil.copytree(ROOT / "climate_samples", tmp_path / "climate_samples")
    zones = site / "zones.csv"
    # Clay under spray on a slope: water runs off within a minute.
    zones.write_text(
        zones.read_text().replace("clay,5,1.05,1,380", "clay,15,1.05,1,80")
    )

    assert run("table", site).status == 3
    assert run("table", site, "--zone", "3").status == 3
    assert run("table", site, "--zone", "1").status == 0
    assert run("check", site, "--zone", "1").status == 0


@pytest.mark.parametrize("verb", ["table", "check"])
def test_a_zone_that_is_none_is_refused(run, verb):
    ran = run(verb, HOME, "--zone", "9")

    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        'zones.csv: --zone: "9" is not a zone\n  accepted: 1, 2, 3, 4, 5\n'
    )


def test_a_picture_of_one_zone_is_refused(run, tmp_path):
    ran = run("table", HOME, "--zone", "1", "--picture", tmp_path / "t.png")

    assert ran.status == 2
    assert "a picture of the table shows all zones" in ran.err
