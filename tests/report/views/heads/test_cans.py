"""Catch-can tests in words, tables and data, and in the plan of a site."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.canfile import read_can_file
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.rates.cans import can_tests
from scheduler.report import blocks, data
from scheduler.report.views.heads import cans
from scheduler.report.views.workings import working
from scheduler.report.words import sentences

ROOT = Path(__file__).parents[4]


@pytest.fixture
def tested(tmp_path):
    """Function that tests a file of catches in inches, 15 min, of zones by name."""
    path = tmp_path / "cans.csv"

    def test(**zones):
        lines = [f"{zone},{zone}{i},{catch},15\n"
                 for zone, catches in zones.items()
                 for i, catch in enumerate(catches, 1)]  # fmt: skip
        path.write_text("zone,can,catch_in,minutes\n" + "".join(lines), "utf-8")
        return can_tests(read_can_file(path))

    return test


# By hand: eight cans add up to 1.60 in, mean 0.20 in in 15 min, 0.80 in/h or 20.3 mm/h;
# the driest two, 0.11 and 0.15, have a mean of 0.13: 0.65; the driest four add up to
# 0.64, 0.16 over 0.20 are 0.80; deviations 0.09 + 0.05 + 0.01 + 0.01 + 0.02 + 0.03 +
# 0.05 + 0.06 = 0.32, 0.32 / 1.60 = 0.2; 1 / (0.4 + 0.39) = 1.27.
EIGHT = [0.22, 0.11, 0.19, 0.26, 0.25, 0.15, 0.23, 0.19]


def test_to_text_shows_the_test_in_us_units(tested):
    text = blocks.text(cans.blocks(tested(front=EIGHT), "us"), "us")
    row = next(line for line in text.splitlines() if line.startswith("front"))

    assert row.split() == ["front", "8", "0.80", "0.65", "0.80", "80", "1.27",
                           "front2", "front6"]  # fmt: skip
    assert "2 of 8 cans" in text
    assert "cans-too-few: zone front: tested with 8 cans; an audit asks for 24" in text
    assert "20.3" in blocks.text(cans.blocks(tested(front=EIGHT), "metric"), "metric")


def test_to_text_names_the_quarter_of_every_number_of_cans(tested):
    text = blocks.text(
        cans.blocks(tested(a=EIGHT, b=[0.2] * 10, c=[0.2] * 24), "us"), "us"
    )

    assert "2 of 8 cans, 3 of 10 cans and 6 of 24 cans" in " ".join(text.split())


def test_markdown_has_a_heading_and_a_table_with_bars(tested):
    text = blocks.markdown(cans.blocks(tested(a=EIGHT), "us"), "us")

    assert text.startswith("# Catch-can test\n")
    assert text.count("\n|") == 3


def test_to_data_has_the_agreed_keys_in_si(tested):
    parsed = json.loads(data.to_json(cans.to_data(tested(a=EIGHT), "us")))

    assert parsed["format"] == 1
    assert [list(zone) for zone in parsed["zones"]] == [
        ["zone", "cans", "rate_mm_h", "uniformity_lq", "uniformity_lh",
         "christiansen_percent", "run_time_multiplier"]
    ]  # fmt: skip
    assert parsed["zones"][0] == {
        "zone": "a",
        "cans": 8,
        "rate_mm_h": pytest.approx(20.32),
        "uniformity_lq": pytest.approx(0.65),
        "uniformity_lh": pytest.approx(0.8),
        "christiansen_percent": pytest.approx(80),
        "run_time_multiplier": pytest.approx(1 / 0.79),
    }
    assert [caution["code"] for caution in parsed["cautions"]] == ["cans-too-few"]


def test_to_table_as_csv_has_the_unit_in_the_header(tested):
    (row,) = csv.DictReader(
        io.StringIO(data.to_csv(cans.to_table(tested(a=EIGHT)), "us"))
    )

    assert float(row["rate_in_h"]) == pytest.approx(0.8)
    assert row["driest"] == "a2 a6"


# In a site: a copy of the garden whose rear lawn, zone 2, was tested


@pytest.fixture
def garden(tmp_path):
    """Function that plans the garden after a change of its files."""
    for name in ("examples/southern_garden", "climate_samples"):
        shutil.copytree(ROOT / name, tmp_path / name)
    folder = tmp_path / "examples" / "southern_garden"

    def plan(**files):
        for name, content in files.items():
            path = folder / f"{name}.csv"
            if content is None:
                path.unlink()
            else:
                path.write_text(content, "utf-8")
        return plan_site(read_site(folder))

    plan.zones = (folder / "zones.csv").read_text("utf-8")
    return plan


ROW = 1


# The file's own numbers by hand: 24 cans hold 992 mL, over circles of 11 cm in 30 min
# 992 / 24 / 95.033 cm² * 10 mm * 2 = 8.70 mm/h; the six of row D hold 154 mL:
# 154 / 6 over 992 / 24 = 0.621.
def test_tested_zone_goes_by_its_cans(garden):
    plan = garden()
    rates = plan.rates

    assert rates.rate_mm_h[ROW] == pytest.approx(8.70, abs=0.005)
    assert rates.uniformity[ROW] == pytest.approx(0.621, abs=0.0005)
    assert rates.uniformity_source[ROW] == "catch-can"
    assert rates.rate_source[ROW] == "catch-can"
    assert plan.inputs.valve.rate_mm_h[ROW] == rates.rate_mm_h[ROW]
    assert plan.tests.cans.tolist() == [0, 24, 0, 0, 0, 0]


# design.md: a measured rate beats flow and area for minutes, never for volume.
def test_tested_zone_keeps_its_flow_for_volume(garden):
    tested, untested = garden(), garden(cans=None)
    minutes = tested.plan.schedule.minutes_per_week[ROW]
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])

    assert tested.rates.flow_l_min[ROW] == untested.rates.flow_l_min[ROW]
    assert tested.rates.area_m2[ROW] == untested.rates.area_m2[ROW]
    assert untested.rates.rate_mm_h[ROW] != pytest.approx(8.70, abs=0.5)
    assert tested.plan.volume_l[ROW] == pytest.approx(
        minutes * days / 7 * tested.rates.flow_l_min[ROW]
    )


# Only a test may stand over what models say: heads of a ratio of 1 to 4 on like ground
# hold a given uniformity down, not a tested one.
def test_tested_uniformity_is_not_held_down_by_the_heads(garden):
    heads = (ROOT / "examples/southern_garden/heads.csv").read_text("utf-8")
    uneven = heads.replace("2;sides;6;M180;180;6,4;2,7", "2;sides;6;M180;180;6,4;0,7")
    tested, untested = garden(heads=uneven), garden(heads=uneven, cans=None)

    assert uneven != heads
    assert tested.rates.uniformity[ROW] == pytest.approx(0.621, abs=0.0005)
    assert untested.rates.uniformity_source[ROW] == "head imbalance"
    assert "unmatched-heads" in {c.code for c in tested.cautions if c.zone == "2"}


def test_cans_go_before_what_zones_csv_gives_and_say_so(garden):
    lines = []
    for line in garden.zones.splitlines():
        if not line.startswith("#"):
            given = {"zone": ",rate_mm_h,uniformity", "2,Rear": ",10.5,0.7"}
            line += next((v for k, v in given.items() if line.startswith(k)), ",,")
        lines.append(line)
    plan = garden(zones="\n".join(lines) + "\n")
    (caution,) = [c for c in plan.cautions if c.code == "cans-over-given"]

    assert plan.rates.rate_mm_h[ROW] == pytest.approx(8.70, abs=0.005)
    assert plan.rates.uniformity[ROW] == pytest.approx(0.621, abs=0.0005)
    assert caution.zone == "2"
    assert sentences.sentence(caution, "metric") == (
        "the catch-can test goes before what the zone says: 8.7 mm/h, not 10.5 mm/h; "
        "uniformity 0.62, not 0.70"
    )


def test_explain_tells_that_rate_and_uniformity_are_the_cans(garden):
    steps = {s.name: s for s in working.explain(garden(), "2", 1, "metric")}

    assert steps["precipitation rate"].source == "catch-can"
    assert steps["distribution uniformity"].source.startswith("cans.csv")


def test_dry_quarter_in_words(tested):
    (caution,) = tested(a=[0.0] * 6 + [0.2] * 18).cautions

    assert sentences.sentence(caution, "us").startswith(
        "the driest 6 cans caught nothing or next to it: no run time mends that"
    )
