"""Coverage in words, tables and data: units, what is left out, what is refused."""

import csv
import dataclasses
import io
import json
from pathlib import Path

import numpy as np
import pytest

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.rates.coverage.grid import cover_site
from scheduler.report import blocks, data
from scheduler.report.views.heads import coverage

EXAMPLES = Path(__file__).parents[4] / "examples"


@pytest.fixture(scope="module")
def home():
    return read_site(EXAMPLES / "home")


@pytest.fixture(scope="module")
def found(home):
    return cover_site(home)


def without_places(site):
    unknown = np.full(len(site.heads), np.nan)
    heads = dataclasses.replace(site.heads, x_m=unknown, y_m=unknown)
    return dataclasses.replace(site, heads=heads)


def test_to_data_has_the_agreed_keys_in_si(home, found):
    parsed = json.loads(data.to_json(coverage.to_data(home, found)))

    assert list(parsed) == ["format", "zones"]
    assert [zone["zone"] for zone in parsed["zones"]] == ["1", "2"]
    first, record = parsed["zones"][0], found.zones[0]
    assert list(first) == [
        "zone",
        "mean_mm_h",
        "uniformity_lq",
        "christiansen_percent",
        "scheduling_coefficient",
        "driest",
    ]
    assert list(first["driest"]) == ["x_m", "y_m", "rate_mm_h"]
    assert first["mean_mm_h"] == record.mean_mm_h
    assert first["driest"]["rate_mm_h"] == record.driest_mm_h


def test_coefficient_without_limit_is_null_in_data_and_dry_in_text(home, found):
    zone = found.zones[0]
    dry = dataclasses.replace(zone, ground_l_min=np.zeros_like(zone.ground_l_min))
    found = dataclasses.replace(found, zones=(dry,))

    text = data.to_json(coverage.to_data(home, found))
    assert json.loads(text)["zones"][0]["scheduling_coefficient"] is None
    assert " dry " in blocks.text(coverage.blocks(home, found, "us"), "us")


# 1 in is 25.4 mm, 1 ft 0.3048 m, exactly; CSV has six digits.
def test_to_table_is_in_the_readers_units(home, found):
    us, metric = (
        next(csv.DictReader(io.StringIO(
            data.to_csv(coverage.to_table(home, found), units))))
        for units in ("us", "metric")
    )  # fmt: skip

    mean = float(us["mean_in_h"]) * 25.4
    assert mean == pytest.approx(float(metric["mean_mm_h"]), rel=1e-5)
    east = float(us["driest_x_ft"]) * 0.3048
    assert east == pytest.approx(float(metric["driest_x_m"]), rel=1e-5)
    area = float(us["ground_ft2"]) * 0.3048**2
    assert area == pytest.approx(float(metric["ground_m2"]), rel=1e-5)
    assert us["uniformity_lq"] == metric["uniformity_lq"]


# The front lawn of the example: 70 ft by 51.4 ft is 3,598 ft².
@pytest.mark.parametrize("draw", [blocks.text, blocks.markdown])
def test_every_format_for_reading_tells_all_that_has_to_be_known(home, found, draw):
    text = draw(coverage.blocks(home, found, "us"), "us")
    plain = " ".join(text.split())

    assert "3,598" in text
    assert "wind is not modelled" in plain
    assert "never raise it" in plain
    assert "driest square window of 5 % of the ground" in plain
    assert "No outline of zone 2:" in plain
    assert "for want of the heads' places: zones 3, 4 and 5." in plain
    if draw is blocks.text:
        assert max(map(len, text.splitlines())) <= 100


def test_to_text_tells_cautions(home):
    outline = home.outlines[0] * 0.9
    site = dataclasses.replace(home, outlines=(outline, *home.outlines[1:]))
    text = blocks.text(coverage.blocks(site, cover_site(site), "metric"), "metric")

    assert "head-outside: zone 1: head" in text


# The nearest head by Pythagoras, from the record's own places.
def test_to_text_names_the_head_nearest_to_the_driest_spot(home, found):
    zone = found.zones[1]
    away = [
        (np.hypot(home.heads.x_m[i] - zone.driest_x_m,
                  home.heads.y_m[i] - zone.driest_y_m), home.heads.head[i])
        for i in zone.heads
    ]  # fmt: skip
    distance, name = min(away)

    lines = blocks.text(coverage.blocks(home, found, "metric"), "metric").splitlines()
    row = [line for line in lines if "Back lawn" in line][1]
    assert row.split()[-2:] == [name, f"{distance:.1f}"]


def test_site_without_places_is_refused_with_what_to_measure(home):
    site = without_places(home)
    with pytest.raises(InputError) as caught:
        coverage.refuse_nothing(site, cover_site(site), "us")

    assert str(caught.value) == (
        "heads.csv: x_* and y_*: no places of the heads of zones 1, 2, 3, 4 and 5\n"
        "  accepted: x_*, y_*, radius_* and flow_* of every head of a zone, facing_deg "
        "of part circles\n"
        "  hint: measure from one corner of the property: x to the east, y to the north"
    )


def test_zone_with_a_head_without_place_is_refused_by_name(home):
    x = home.heads.x_m.copy()
    x[1] = np.nan
    site = dataclasses.replace(home, heads=dataclasses.replace(home.heads, x_m=x))
    with pytest.raises(InputError) as caught:
        coverage.refuse_nothing(site, cover_site(site, only=0), "us")

    assert str(caught.value).startswith(
        "heads.csv: zone 1: head street side: x_* and y_* are blank, so nothing of "
        "the zone is laid on the plan\n"
    )


def test_site_with_places_is_not_refused(home, found):
    coverage.refuse_nothing(home, found, "us")


@pytest.mark.parametrize("name", ["home", "business_park", "southern_garden"])
def test_every_example_has_a_coverage_worth_seeing(name):
    site = read_site(EXAMPLES / name)
    found = cover_site(site)

    assert len(found.zones) >= 2
    assert found.cautions == ()
    for zone in found.zones:
        known = site.zones.area_m2[zone.zone]
        # The ground on the plan is that of zones.csv, within the tape's error.
        assert zone.area_m2 == pytest.approx(known, rel=0.02)
