"""The climate of a site and of a bare file, as text, CSV and JSON, by month and day."""

import csv
import datetime
import io
import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pvlib
import pytest

from scheduler import cli

ROOT = Path(__file__).parents[3]
SAMPLES = ROOT / "climate_samples"
VALLEY = SAMPLES / "dry_summer_valley_daily.csv"
GREENSBORO = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
MONTH_KEYS = ["month", "days", "tmin_c", "tmax_c", "et0_mm_day",
              "et0_dry_year_mm_day", "rain_mm", "rain_dry_year_mm", "dry_year",
              "effective_rain_mm", "frost", "frost_nights", "frost_share"]  # fmt: skip

DAILY_CSV = "--daily", "--format", "csv"


@pytest.fixture
def run(capsys):
    def run(*arguments):
        status = cli.status([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return status, told.out, told.err

    return run


@pytest.fixture
def site(tmp_path):
    """The example home, planned from days."""

    def site(*more, file=VALLEY, by=""):
        folder = tmp_path / "home"
        shutil.copytree(ROOT / "examples" / "home", folder)
        toml = folder / "site.toml"
        text = toml.read_text(encoding="utf-8")
        old = 'file = "../../climate_samples/dry_summer_valley.csv"'
        assert old in text
        new = "\n".join([f"file = {json.dumps(str(file))}", *more])
        plan = f'\n[plan]\nby = "{by}"\n' if by else ""
        toml.write_text(text.replace(old, new) + plan, encoding="utf-8")
        return folder

    return site


def content_of(run, *arguments):
    status, out, err = run(*arguments, "--format", "json")
    assert (status, err) == (0, "")
    return json.loads(out)


def rows_of(run, *arguments):
    status, out, err = run(*arguments)
    assert (status, err) == (0, "")
    return list(csv.DictReader(io.StringIO(out)))


# The contract of `climate --format json`.
@pytest.mark.parametrize("daily", [True, False])
def test_json_keeps_its_keys(run, site, daily):
    file = VALLEY if daily else SAMPLES / "dry_summer_valley.csv"
    content = content_of(run, "climate", site(file=file))

    assert list(content) == [
        "format", "source", "place", "et0_method", "years", "months",
        "dry_year_percentile", "frost_dates", "hard_freeze_dates",
            "plan_years", "assumptions"]  # fmt: skip
    assert [list(month) for month in content["months"]] == [MONTH_KEYS] * 12
    assert content["place"] == "Home with two lawns"
    assert content["years"] == (list(range(2011, 2021)) if daily else [])
    july = content["months"][6]
    assert july["days"] == (310 if daily else None)
    assert isinstance(july["et0_dry_year_mm_day"], float if daily else type(None))


# Exact: the months are means over the days that --daily prints.
def test_months_are_the_means_of_the_days(run, site):
    folder = site()
    months = content_of(run, "climate", folder)["months"]
    days = rows_of(run, "climate", folder, *DAILY_CSV, "--units", "metric")

    assert list(days[0])[:5] == ["date", "et0_mm", "rain_mm", "tmin_c", "tmax_c"]
    assert len(days) == 3653
    for month in months:
        ours = [d for d in days if int(d["date"][5:7]) == month["month"]]
        et0 = np.mean([float(day["et0_mm"]) for day in ours])
        assert month["et0_mm_day"] == pytest.approx(et0, rel=1e-5)
        tmin = np.mean([float(day["tmin_c"]) for day in ours])
        assert month["tmin_c"] == pytest.approx(tmin, rel=1e-4)


def test_days_in_json_are_those_of_the_csv(run, site):
    folder = site()
    content = content_of(run, "climate", folder, "--daily")
    rows = rows_of(run, "climate", folder, *DAILY_CSV, "--units", "metric")

    assert content["et0_method"] == "FAO-56 Penman-Monteith, daily"
    for day, row in zip(content["days"][::97], rows[::97], strict=True):
        assert day["date"] == row["date"]
        assert day["et0_mm"] == pytest.approx(float(row["et0_mm"]), rel=1e-5)
        assert day["rain_mm"] == pytest.approx(float(row["rain_mm"]), rel=1e-5)


def test_days_in_us_units_say_so(run, site):
    row = rows_of(run, "climate", site(), *DAILY_CSV)[200]

    # 20 July 2011 of the sample as it is written: degrees F, miles an hour, inches.
    written = next(
        line
        for line in VALLEY.read_text().splitlines()
        if line.startswith("2011-07-20")
    ).split(",")
    assert row["date"] == written[0]
    assert [float(row[k]) for k in ("tmin_f", "tmax_f", "dew_point_f")] == [
        float(cell) for cell in written[1:4]
    ]
    assert float(row["rain_in"]) == float(written[6])


def test_a_site_planned_for_the_dry_year_takes_its_pair(run, site):
    folder = site("dry_year_percentile = 90", by="months")
    climate = content_of(run, "climate", folder)
    status, out, _ = run("table", folder, "--format", "json")
    table = json.loads(out)

    assert status == 0
    assert climate["dry_year_percentile"] == 90
    for month, planned in zip(
        climate["months"], table["climate"]["months"], strict=True
    ):
        assert planned["et0_mm_day"] == month["et0_dry_year_mm_day"]
        assert planned["rain_mm"] == month["rain_dry_year_mm"]
    assert any("percentile 90" in text for text in climate["assumptions"])


def test_a_dry_year_costs_more_water_than_the_mean(run, site):
    def liters(folder):
        zones = json.loads(run("table", folder, "--format", "json")[1])["zones"]
        return sum(month["volume_l"] for zone in zones for month in zone["months"])

    dry = site("dry_year_percentile = 90", by="months")
    dry_l = liters(dry)
    shutil.rmtree(dry)

    assert dry_l > liters(site(by="months"))


def test_table_explain_and_check_say_that_days_were_taken(run, site):
    folder = site(by="months")
    status, out, _ = run("explain", folder, "--zone", 1, "--month", 7)

    assert status == 0
    assert "FAO-56 Penman-Monteith, daily" in " ".join(out.split())
    assert "dry year percentile 50" in run("check", folder)[1]


def test_text_of_years_tells_means_dry_year_and_frost(run):
    status, out, _ = run("climate", VALLEY, "--latitude", 38.5, "--elevation", 20)

    assert status == 0
    assert max(map(len, out.splitlines())) <= 100
    for words in ("Means over the days of 2011 to 2020.", "shown, not planned with",
                  "Last frost before summer: ", "in nine of ten", "(10 years)",
                  "wind measured at 2 m above the ground (--wind-height)"):  # fmt: skip
        assert words in " ".join(out.split())


def test_markdown_of_years_has_one_row_a_month_in_each_table(run):
    out = run("climate", VALLEY, "--latitude", 38.5, "--format", "markdown")[1]

    assert sum(line.startswith("| ") for line in out.splitlines()) == 2 * 13


@pytest.mark.parametrize("day", [False, True])
def test_a_bare_file_with_et0_needs_no_latitude(run, tmp_path, day):
    file = tmp_path / "et0.csv"
    rows = [f"{month},{month / 2},10" for month in range(1, 13)]
    text = "month,et0_mm_day,rain_mm\n"
    if day:
        text = "date,et0_mm,rain_mm\n"
        first = datetime.date(2001, 1, 1)
        dates = [first + datetime.timedelta(days=n) for n in range(365)]
        rows = [f"{date.isoformat()},{date.month / 2},0" for date in dates]
    file.write_text(text + "\n".join(rows) + "\n")
    content = content_of(run, "climate", file)

    assert [month["et0_mm_day"] for month in content["months"]] == pytest.approx(
        [month / 2 for month in range(1, 13)]
    )


def test_a_bare_file_needs_a_latitude(run):
    assert run("climate", VALLEY) == (
        2, "",
        "dry_summer_valley_daily.csv: --latitude: is missing\n"
        "  accepted: degrees, north positive, as --latitude 38.5\n"
        "  hint: the sun's strength follows from it; the file does not tell it\n",
    )  # fmt: skip


def test_a_bare_typical_year_tells_its_own_place(run):
    status, out, _ = run("climate", GREENSBORO)

    assert status == 0
    assert "One year of hours: it tells of no dry years." in out
    assert "no rain: 8,345 mm in the year cannot be" in out
    assert "wind" not in out


def test_a_bare_monthly_file_is_shown_too(run):
    file = SAMPLES / "cool_marine.csv"
    content = content_of(run, "climate", file, "--latitude", 47)

    assert content["et0_method"] == "FAO-56 Penman-Monteith, monthly"
    assert "elevation 0 m above the sea (--elevation)" in content["assumptions"]


def test_days_of_a_monthly_file_are_refused(run):
    file = SAMPLES / "cool_marine.csv"
    status, out, err = run("climate", file, "--latitude", 47, "--daily")

    assert (status, out) == (2, "")
    assert err.startswith("cool_marine.csv: --daily: holds months, not days\n")


def test_a_weather_file_of_far_away_is_told(run, site):
    folder = site('effective_rain = "none"', file=GREENSBORO)
    assumptions = content_of(run, "climate", folder)["assumptions"]

    assert "the weather file is of latitude 36.1, the place of 38.5" in assumptions


def test_a_site_planned_from_days_starts_without_pandas_and_pvlib(site):
    code = (
        "import sys; from scheduler.cli import status; "
        f"rc = status(['table', {str(site())!r}]); "
        "bad = [m for m in ('pandas', 'pvlib', 'scipy', 'requests') if m in "
        "sys.modules]; sys.exit(rc or 9 * bool(bad))"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)

    assert (ended.returncode, ended.stderr) == (0, "")
