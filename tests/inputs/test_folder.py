"""Checks a whole site folder: what is missing, all problems at once, US as metric."""

import dataclasses
import pathlib

import numpy as np
import pytest

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import SITE_TABLES

STARTS_ONE = (
    "\n  accepted: a folder with site.toml, zones.csv and heads.csv, or with site.xlsx"
    "\n  hint: scheduler new FOLDER starts one"
)


def problems_of(path):
    with pytest.raises(InputError) as caught:
        read_site(path)
    return [str(problem) for problem in caught.value.problems]


def test_folder_that_is_none_is_told_so(tmp_path):
    (tmp_path / "site.toml").touch()
    file = tmp_path / "site.toml"
    (tmp_path / "empty").mkdir()

    assert problems_of(tmp_path / "none") == [
        f"{tmp_path}/none: no such folder{STARTS_ONE}"
    ]
    assert problems_of(file) == [f"{file}: is not a folder{STARTS_ONE}"]
    assert problems_of(tmp_path / "empty") == [
        f"{tmp_path}/empty: has no site.toml and no site.xlsx{STARTS_ONE}"
    ]


def test_folder_that_may_not_be_read_is_told_so(us, monkeypatch):
    def refuse(path):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(pathlib.Path, "exists", refuse)

    assert us.problems() == [
        f"{us.path}: cannot be read: Permission denied{STARTS_ONE}"
    ]


def test_missing_climate_file_gets_a_hint(us):
    us.write("climates.csv", us.text("climate.csv"))
    (us.path / "climate.csv").unlink()

    assert us.problems() == [
        "climate.csv: no such file\n  hint: did you mean climates.csv?"
    ]


@pytest.mark.parametrize(
    "file", ["site.toml", "zones.csv", "heads.csv", "climate.csv", "plants.csv",
             "soils.csv", "parts.csv", "cans.csv", "meter.csv", "current.csv",
             "outline.csv"]
)  # fmt: skip
def test_folder_in_place_of_any_file_is_one_problem(us, file):
    (us.path / file).unlink(missing_ok=True)
    (us.path / file).mkdir()

    assert us.problems() == [f"{file}: is a folder\n  hint: a file is needed here"]


def test_every_problem_of_a_folder_is_told_in_one_pass(us):
    us.replace("site.toml", "40.0", "95")
    us.append("site.toml", '[controler]\n[[window]]\nopens = "25:00"\n')
    us.replace("zones.csv", "1,Front,cool-season turf,loam,2", "1,Front,,loam,300")
    us.replace("heads.csv", "360", "400")
    us.replace("climate.csv", "\n12,", "\n11,")
    us.write("parts.csv", "zone,part,share\n9,bed,30\n")
    us.write("soils.csv", "soil,available_water_in_in,intake\nloam,0.2,0.3\n")
    us.write("cans.csv", b"\xff\xfe")
    us.write("current.csv", "zone,minutes,days_per_week,months\n1,x,3,4-6\n")

    assert us.problems() == [
        "soils.csv:1: intake: its unit is missing\n"
        "  accepted: intake_mm_h or intake_in_h",
        "soils.csv:1: intake_mm_h or intake_in_h: column is missing",
        "zones.csv:2: plant: is blank\n"
        "  accepted: plant, from the table of plants or plants.csv",
        "zones.csv:2: slope_percent: 300 is not a slope\n"
        "  accepted: a number from 0.5 to 100, or 0",
        "heads.csv:4: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle",
        "cans.csv: is UTF-16 text\n  hint: save it as CSV UTF-8",
        "parts.csv:2: share: 30 is not a share\n"
        "  accepted: a number over 0 and up to 1\n  hint: write 0.3 for 30 %",
        'parts.csv:2: zone: "9" is not a zone of zones.csv\n  accepted: 1, 2',
        'current.csv:2: minutes: "x" is not a number\n'
        "  accepted: a number from 0 to 1440",
        "site.toml:7: controler: unknown table\n"
        "  accepted: site, climate, plan, supply, window, controller, water, door\n"
        "  hint: did you mean controller?",
        "site.toml:3: site.latitude: 95 is not a latitude\n"
        "  accepted: a number from -90 to 90",
        'site.toml:9: window[1].opens: "25:00" is not a time of day\n'
        "  accepted: a time of day, as 21:00",
        "climate.csv:13: month: month 11 is there twice (first in line 12)",
        "climate.csv: month: has 11 months; missing: 12\n"
        "  accepted: a row for each of 12 months",
    ]


def test_broken_site_toml_hides_no_problem_of_other_files(us):
    us.replace("site.toml", "40.0", "40.0.0")
    us.replace("heads.csv", "360", "400")

    assert us.problems() == [
        "site.toml:3: is not readable as TOML: expected newline or end of document "
        "after a statement",
        "heads.csv:4: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle",
    ]


def arrays_and_numbers(record, path=""):
    """Every array and number inside a record, by dotted path."""
    for field in dataclasses.fields(record):
        value, name = getattr(record, field.name), f"{path}.{field.name}"
        if dataclasses.is_dataclass(value):
            yield from arrays_and_numbers(value, name)
        elif isinstance(value, (np.ndarray, float, int)):
            yield name, value


MORE_US = (
    "[supply]\ndesign_flow_gpm = 10\npressure_psi = 40\nwind_mph = 5\n"
    "[controller]\nrain_shutoff_in = 0.5\n"
)
# Exact but for psi: 10 * 3.785411784 L/min, 5 * 1.609344 km/h, 0.5 * 25.4 mm;
# 40 psi are 40 * 0.45359237 * 9.80665 / 0.0254² Pa.
MORE_METRIC = (
    "[supply]\ndesign_flow_l_min = 37.85411784\npressure_kpa = 275.7902917267320\n"
    "wind_km_h = 8.04672\n[controller]\nrain_shutoff_mm = 12.7\n"
)


def test_site_written_in_metric_units_is_the_site_written_in_us_units(us, metric):
    us.append("site.toml", MORE_US)
    us.replace("site.toml", "[climate]", "elevation_ft = 1000\n[climate]")
    metric.append("site.toml", MORE_METRIC)
    metric.replace("site.toml", "[climate]", "elevation_m = 304.8\n[climate]")
    written_in_us = dict(arrays_and_numbers(us.site()))
    written_in_metric = dict(arrays_and_numbers(metric.site()))

    assert written_in_us.keys() == written_in_metric.keys()
    assert {".zones.area_m2", ".heads.flow_l_min", ".climate.tmax_c",
            ".supply.pressure_kpa", ".elevation_m"} <= written_in_us.keys()  # fmt: skip
    for name, value in written_in_us.items():
        # Float error alone. NaN stands for blank on both sides.
        np.testing.assert_allclose(
            written_in_metric[name], value, rtol=1e-12, equal_nan=True, err_msg=name
        )


def test_arrays_of_a_site_are_in_si(us):
    us.append("site.toml", MORE_US)
    site = us.site()

    # Exact: 1000 ft² of 0.3048² m², 15 ft, 0.5 gal/min of 3.785411784 L; 50 °F is
    # 10 °C; 5 mi/h of 1609.344 m; 0.1 in of 25.4 mm.
    assert site.zones.area_m2[0] == pytest.approx(92.90304, rel=1e-12)
    assert site.heads.radius_m[0] == pytest.approx(4.572, rel=1e-12)
    assert site.heads.flow_l_min[0] == pytest.approx(1.892705892, rel=1e-12)
    assert site.climate.tmin_c == pytest.approx([10] * 12, rel=1e-12)
    assert site.climate.wind_m_s == pytest.approx([2.2352] * 12, rel=1e-12)
    assert site.climate.et0_mm_day == pytest.approx([2.54] * 12, rel=1e-12)
    # design.md: units sets only what people are shown.
    us.replace("site.toml", '"us"', '"Metric"')
    assert us.site().units == "metric"
    assert us.site().zones.area_m2.tolist() == site.zones.area_m2.tolist()


def test_site_is_named_by_its_folder_unless_it_has_a_name(us):
    assert us.site().name == "us_site"

    us.replace("site.toml", "[climate]", 'name = "Corner house"\n[climate]')

    assert us.site().name == "Corner house"


def test_unknown_key_gets_all_keys_of_its_table(us):
    us.append("site.toml", "[water]\ntier = 3\n")
    names = ", ".join(name for field in SITE_TABLES["water"] for name in field.names)

    assert us.problems() == [
        f"site.toml:8: water.tier: unknown key\n  accepted: {names}\n"
        "  hint: did you mean tiers?"
    ]
