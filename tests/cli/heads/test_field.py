"""`scheduler field`: the sheet, and its workbook read back."""

import json
import shutil

import openpyxl
import pytest
from cli_answers import EXAMPLES


# By hand from the files of examples/home, zone 1: 18.0 gpm over 3,600 ft² is
# 96.25 · 18 / 3600 = 0.48125 in/h, in ten minutes 0.080208 in = 2.0373 mm; DU 0.70:
# driest quarter 0.7, wettest 1.3 times that (quarter means of a law that is even about
# its mean). Zone 3: IA-ASA formula 60 · 0.15 / (1.5805 − 0.1) = 6.079 min.
def test_sheet_tells_what_ten_minutes_must_show(run):
    ran = run("field", EXAMPLES / "home", "--format", "json")
    first, _, strip, *_ = json.loads(ran.out)["zones"]

    assert ran.status == 0
    assert first["volume_l"] == pytest.approx(180 * 3.785411784, rel=1e-6)
    assert first["can_mean_mm"] == pytest.approx(2.0373, abs=5e-4)
    assert first["can_least_mm"] == pytest.approx(0.7 * 2.0373, abs=5e-4)
    assert first["can_most_mm"] == pytest.approx(1.3 * 2.0373, abs=5e-4)
    assert strip["runoff_after_min"] == pytest.approx(6.079, abs=5e-4)
    assert first["commissioned"] is False


def test_filled_in_workbook_goes_into_the_plan(run, tmp_path):
    home = tmp_path / "examples" / "home"
    shutil.copytree(EXAMPLES / "home", home)
    samples = EXAMPLES.parent / "climate_samples"
    shutil.copytree(samples, tmp_path / "climate_samples")
    book = home / "field.xlsx"
    made = run("field", home, "--dial", "gal", "--format", "xlsx", "--out", book)
    again = run("field", home, "--format", "xlsx", "--out", book)
    sheets = openpyxl.load_workbook(book)
    # 20.5 gpm is 13.9 % over the 18.0 gpm of the heads.
    sheets["meter"]["B2"], sheets["meter"]["C2"] = 100, 305
    sheets.save(book)
    table, check = run("table", home), run("check", home)

    assert (made.status, again.status) == (0, 2)
    assert "Commissioned in part: 1 of 5 zones metered." in table.out
    assert "meter-off: zone 1: the meter says 20.5 gpm, 14 % more" in " ".join(
        check.out.split()
    )


# The workbook for the next visit may lie beside the readings of the last one.
def test_a_blank_workbook_beside_readings_is_let_be_until_it_is_filled_in(
    run, tmp_path
):
    home = tmp_path / "examples" / "home"
    shutil.copytree(EXAMPLES / "home", home)
    shutil.copytree(EXAMPLES.parent / "climate_samples", tmp_path / "climate_samples")
    book = home / "field.xlsx"
    run("field", home, "--dial", "gal", "--format", "xlsx", "--out", book)
    (home / "meter.csv").write_text(
        "zone,start_gal,end_gal,minutes\n1,100,305,10\n", encoding="utf-8"
    )
    blank = run("rates", home)
    sheets = openpyxl.load_workbook(book)
    sheets["meter"]["B3"], sheets["meter"]["C3"] = 100, 230
    sheets.save(book)
    both = run("rates", home)

    assert (blank.status, blank.err) == (0, "")
    assert "20.5" in blank.out
    assert (both.status, both.out) == (2, "")
    assert "field.xlsx: stands beside meter.csv" in both.err


# Zone 3 of examples/home has sprays that hold 30 psi: they need that before them and
# stand what is over. Zone 4 drips behind a regulator: its range ends at 30 psi (from
# memory), and no gauge was read there. Rotors of a chart at 45 psi mist from 1.3 times
# that (common practice).
def test_limits_of_the_gauge_are_those_of_the_kind_of_head(run):
    ran = run("field", EXAMPLES / "home", "--format", "json")
    rotors, _, sprays, drip, _ = json.loads(ran.out)["zones"]
    psi = 6.894757293168361

    assert rotors["pressure_least_kpa"] == pytest.approx(25 * psi)
    assert rotors["pressure_most_kpa"] == pytest.approx(1.3 * 45 * psi)
    assert sprays["pressure_least_kpa"] == pytest.approx(30 * psi)
    assert sprays["pressure_most_kpa"] is None
    assert drip["pressure_kpa"] is None
    assert drip["pressure_most_kpa"] == pytest.approx(30 * psi)


def test_the_page_has_cells_to_write_in_and_heads_that_repeat(run, tmp_path):
    out = tmp_path / "field.html"
    ran = run("field", EXAMPLES / "home", "--format", "html", "--out", out)
    page, text = out.read_text(encoding="utf-8"), run("field", EXAMPLES / "home").out

    assert ran.status == 0
    assert "____" in text
    assert "____" not in page
    # Five zones: dial twice, gauge, caught and seen to be written in; for the two that
    # drip no gauge is expected and no cans, of three columns.
    assert page.count("<td></td>") == 5 * 5 + 2 * 1 + 2 * 3
    assert page.count("<thead>") == 2


# Zone 1 of examples/home would run off after over two hours: nobody waits so long.
def test_water_that_stands_late_is_told_as_late(run):
    lines = run("field", EXAMPLES / "home").out.splitlines()
    rows = [line for line in lines if line.lstrip().startswith("1  Front lawn")]

    assert "over 60" in rows[1]
