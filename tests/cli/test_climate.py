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


# By hand: 2.5 + 3 + 3.5 mm of ET0, 4 mm of rain; 3 March is not in the file.
def test_any_stretch_of_days_is_shown_with_totals(run, tmp_path):
    file = tmp_path / "week.csv"
    file.write_text(
        "date,et0_mm,rain_mm,tmin_c\n"
        "2024-03-01,2.5,0,-1\n2024-03-02,3,4,0\n2024-03-04,3.5,0,2\n"
    )
    told = run("climate", file, "--daily")
    content = json.loads(run("climate", file, "--daily", "--format", "json").out)
    rows = rows_of(run("climate", file, "--daily", "--format", "csv").out)

    assert told.status == 0
    assert "3 days, 2024-03-01 to 2024-03-04; ET0 9 mm; rain 4 mm." in told.out
    assert "1 day in between is not in the file." in told.out
    assert content["totals"] == {"days": 3, "et0_mm": 9.0, "rain_mm": 4.0}
    assert [row["et0_method"] for row in rows] == ["given"] * 3


# Rain of 30 mm on 10 days of each month, from a file of its own beside days.
def test_rain_days_of_a_rain_file_beside_days_are_played(run, site):
    sample = EXAMPLES.parent / "climate_samples" / "dry_summer_valley_daily.csv"
    (site / "rain.csv").write_text(
        "month,rain_mm,rain_days\n" + "".join(f"{m},30,10\n" for m in range(1, 13))
    )
    toml = site / "site.toml"
    text = toml.read_text().replace(
        'file = "climate.csv"', f'file = "{sample}"\nrain_file = "rain.csv"'
    )
    toml.write_text(text)
    years = json.loads(run("climate", site, "--format", "json").out)["plan_years"]

    assert years["invented"]
    assert years["rain_days_given"]
    assert [month["rain_days_asked"] for month in years["months"]] == [10.0] * 12
    assert [month["rain_mm"] for month in years["months"]] == approx([30.0] * 12)
