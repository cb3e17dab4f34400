"""The verb `climate`: CSV and JSON agree."""

import json

import pytest
from cli_answers import EXAMPLES, MM_PER_IN, SITES, UNITS, approx, rows_of


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_climate_agree(run, name, units):
    site = EXAMPLES / name
    content = json.loads(run("climate", site, "--format", "json").out)
    rows = rows_of(run("climate", site, "--format", "csv", "--units", units).out)
    mm = MM_PER_IN if units == "us" else 1
    depth = "in" if units == "us" else "mm"

    for row, month in zip(rows, content["months"], strict=True):
        assert int(row["month"]) == month["month"]
        assert float(row[f"rain_{depth}"]) * mm == approx(month["rain_mm"])
        assert float(row[f"et0_{depth}_day"]) * mm == approx(month["et0_mm_day"])
        assert float(row[f"effective_rain_{depth}"]) * mm == approx(
            month["effective_rain_mm"]
        )
        assert (row["frost"] == "True") == month["frost"]
        if units == "us":
            assert (float(row["tmin_f"]) - 32) / 1.8 == pytest.approx(
                month["tmin_c"], abs=1e-3
            )
        else:
            assert float(row["tmin_c"]) == approx(month["tmin_c"])
