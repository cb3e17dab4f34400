"""`doubt` from the command line: what it refuses, and its formats."""

import re
import shutil

import pytest
from cli_answers import EXAMPLES, ROOT, WIDTH, replace, rows_of
from questions import doubts_of, less_of

from scheduler.budget.less.less import curve
from scheduler.report.blocks import text
from scheduler.report.data import to_csv
from scheduler.report.pictures.questions.doubt import doubt_picture
from scheduler.report.pictures.questions.less import less_picture
from scheduler.report.views.questions import doubt as view
from scheduler.report.words.questions import doubt as words


@pytest.fixture
def home(tmp_path):
    shutil.copytree(EXAMPLES / "home", tmp_path / "examples" / "home")
    shutil.copytree(ROOT / "climate_samples", tmp_path / "climate_samples")
    return tmp_path / "examples" / "home"


def test_a_plan_by_months_is_refused(run, home):
    replace(home, "site.toml", "[climate]", '[plan]\nby = "months"\n\n[climate]')
    ran = run("doubt", home)

    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("site.toml: plan.by: ")


def test_json_has_the_keys_of_the_contract_and_csv_as_many_rows():
    found = doubts_of("home")
    data, rows = view.to_data(found), rows_of(to_csv(view.to_table(found), "us"))

    keys = {"field", "zone", "low", "value", "high", "water_low_l_year",
            "water_high_l_year", "dry_low_percent", "dry_high_percent",
            "measure"}  # fmt: skip
    assert all(keys <= set(row) for row in data["inputs"])
    assert len(rows) == len(data["inputs"])
    assert all(row["low"] <= row["value"] <= row["high"] for row in data["inputs"])


@pytest.mark.parametrize("units", ["us", "metric"])
def test_text_keeps_within_its_width_and_adds_up_the_drive(units):
    told = text(view.blocks(doubts_of("home"), units), units)
    lines = told.splitlines()
    worth = [line for line in lines if line.endswith("  worth the drive")]

    assert max(map(len, lines)) <= WIDTH
    takes = {"soil probe": 10, "water meter": 10, "catch cans": 40,
             "pressure gauge": 5, "tape measure": 10}  # fmt: skip
    cells = [re.split(" {2,}", line) for line in worth]
    assert all(int(m) == takes.get(what, int(m)) for what, _, m, *_ in cells)
    # The example's back lawn, zone 2, wants other nozzles before they are metered.
    late = [what in {"water meter", "catch cans", "pressure gauge"} and zone == "2"
            for what, zone, *_ in cells]  # fmt: skip
    sums = [
        sum(
            int(cell[2]) for cell, waits in zip(cells, late, strict=True) if waits == at
        )
        for at in (False, True)
    ]
    flat = " ".join(told.split())
    assert f"Worth the drive, {sums[0]} minutes in all: " in flat
    assert f"once the nozzles are changed, {sums[1]} minutes in all: " in flat


def test_field_sheet_marks_what_is_worth_measuring(run, home):
    marked = run("field", home, "--doubt").out

    assert "Worth the drive" in marked
    told = " ".join(marked.split())
    # In the example's back lawn one nozzle was left on every arc.
    assert "First change the nozzles that check names in zone 2" in told
    assert "root_depth_in or root_depth_mm of zones.csv" in told


def test_what_is_worth_the_drive_is_what_the_note_says():
    found = doubts_of("home")
    site = found.water_l.sum()
    area = found.plan.rates.area_m2
    mean = (found.dry * area).sum() / area.sum()
    for one in found.measurements:
        own = site if one.zone is None else found.water_l[one.zone]
        now = mean if one.zone is None else found.dry[one.zone]
        hangs = one.wrong_l >= 0.10 * own or one.dry - now >= 0.10
        assert one.worth == (one.wrong_l >= 0.01 * site and hangs)
    assert any(one.what == "gauge" and not one.worth for one in found.measurements)
    told = " ".join(words.notes(found))
    assert "a hundredth of the site's water hangs on, and also a tenth of" in told


def test_pictures_are_drawn():
    assert doubt_picture(doubts_of("home"), ".png").startswith(b"\x89PNG")
    found = less_of("home", 20)
    drawn = less_picture(found, curve(found), "us", ".svg")
    assert drawn.startswith(b"<?xml")
