"""The verb `check`: CSV and JSON agree."""

import json

import pytest
from cli_answers import EXAMPLES, L_PER_GAL, SITES, approx, rows_of


@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_check_agree(run, name):
    site = EXAMPLES / name
    ran = run("check", site, "--format", "json", "--units", "us")
    found = json.loads(ran.out)["findings"]
    rows = rows_of(run("check", site, "--format", "csv", "--units", "us").out)

    assert len(rows) == len(found)
    for row, finding in zip(rows, found, strict=True):
        assert row["code"] == finding["code"]
        assert row["zone"] == (finding["zone"] or "")
        assert row["month"] == str(finding["month"] or "")
        assert row["text"] == finding["text"]
        water = float(row["costs_year_gal"]) * L_PER_GAL
        assert water == approx(finding["costs_l_year"])
