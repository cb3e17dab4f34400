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
