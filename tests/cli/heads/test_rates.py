"""The verb `rates`: CSV and JSON agree."""

import json

import pytest
from cli_answers import EXAMPLES, MM_PER_IN, SITES, approx, rows_of


@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_rates_agree(run, name):
    site = EXAMPLES / name
    content = json.loads(run("rates", site, "--format", "json").out)
    rows = rows_of(run("rates", site, "--format", "csv", "--units", "us").out)
    heads = [(z["zone"], h) for z in content["zones"] for h in z["heads"]]
    by_place = {(zone, head["head"]): head for zone, head in heads}

    assert len(rows) == len(heads)
    for row in rows:
        head = by_place[row["zone"], row["head"]]
        assert int(row["count"]) == head["count"]
        if head["rate_mm_h"] is None:
            assert row["rate_in_h"] == ""
        else:
            assert float(row["rate_in_h"]) * MM_PER_IN == approx(head["rate_mm_h"])
