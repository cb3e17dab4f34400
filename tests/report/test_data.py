"""The JSON contract of DEVELOPERS.md: every key, its type, and what it may hold."""

import json
import math
from pathlib import Path

import pytest

from scheduler import cli
from scheduler.report import data

EXAMPLES = Path(__file__).parents[2] / "examples"
SITES = ("home", "southern_garden", "business_park")
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
NUMBER = (int, float)
MAYBE = (int, float, type(None))
TEXT = (str,)
WHOLE = (int,)

SITE = {"name": TEXT, "latitude": NUMBER, "longitude": NUMBER, "elevation_m": NUMBER,
        "units": TEXT}  # fmt: skip
CLIMATE_MONTH = {"month": WHOLE, "et0_mm_day": NUMBER, "rain_mm": NUMBER,
                 "tmin_c": MAYBE, "frost": (bool,)}  # fmt: skip
ZONE = {
    "zone": TEXT, "station": WHOLE, "name": TEXT, "rate_mm_h": NUMBER,
    "peak_rate_mm_h": NUMBER, "uniformity": NUMBER, "uniformity_source": TEXT,
    "run_time_multiplier": NUMBER, "allowed_depletion_mm": NUMBER,
    "intake_mm_h": NUMBER, "longest_cycle_min": NUMBER, "flow_l_min": NUMBER,
    "area_m2": NUMBER, "months": (list,),
}  # fmt: skip
MONTH = {
    "month": WHOLE, "plant_coefficient": NUMBER, "landscape_coefficient": NUMBER,
    "plant_need_mm": NUMBER, "effective_rain_mm": NUMBER, "net_need_mm": NUMBER,
    "gross_need_mm": NUMBER, "carried_in_mm": MAYBE, "gap_limit_days": MAYBE,
    "days": (list,), "parity": (str, type(None)), "days_per_week": NUMBER,
    "every_days": (int, type(None)), "minutes_per_day": NUMBER, "cycles": WHOLE,
    "cycle_minutes": NUMBER, "soak_minutes": NUMBER, "minutes_per_week": NUMBER,
    "applied_mm": NUMBER, "unmet_mm": MAYBE, "volume_l": NUMBER,
    "dry_days_percent": (int, float, type(None)), "fill_minutes": NUMBER,
    "fill_days": WHOLE,
}  # fmt: skip
CAUTION = {"code": TEXT, "zone": (str, type(None)), "month": (int, type(None)),
           "text": TEXT}  # fmt: skip


def no_constant(name: str) -> float:
    raise AssertionError(f"{name} is no JSON")


def answer(capsys, *arguments: object) -> dict:
    """JSON of a verb, with NaN and Infinity refused."""
    assert cli.status([*map(str, arguments), "--format", "json"]) == 0
    return json.loads(capsys.readouterr().out, parse_constant=no_constant)


def check_keys(record: dict, keys: dict) -> None:
    assert list(record) == list(keys)
    for key, types in keys.items():
        value = record[key]
        # True is a whole number to Python, but not here.
        assert isinstance(value, types), (key, value)
        assert not isinstance(value, bool) or bool in types, (key, value)
        if isinstance(value, float):
            assert math.isfinite(value)


@pytest.mark.parametrize("name", SITES)
def test_table_keeps_the_contract(capsys, name):
    content = answer(capsys, "table", EXAMPLES / name)

    assert list(content) == ["format", "site", "climate", "zones", "cautions"]
    assert content["format"] == 1
    check_keys(content["site"], SITE)
    assert list(content["climate"]) == ["source", "et0_method", "months"]
    assert [m["month"] for m in content["climate"]["months"]] == list(range(1, 13))
    for month in content["climate"]["months"]:
        check_keys(month, CLIMATE_MONTH)
    for zone in content["zones"]:
        check_keys(zone, ZONE)
        assert [m["month"] for m in zone["months"]] == list(range(1, 13))
        for month in zone["months"]:
            begins = {"first_date": (str, type(None))} if month["every_days"] else {}
            check_keys(month, {**MONTH, **begins})
    for caution in content["cautions"]:
        check_keys(caution, CAUTION)
        assert caution["text"]


@pytest.mark.parametrize("name", SITES)
def test_table_lists_zones_in_the_order_of_the_file(capsys, name):
    content = answer(capsys, "table", EXAMPLES / name)
    lines = (EXAMPLES / name / "zones.csv").read_text("utf-8").split("\n")
    rows = [line for line in lines if line and not line.startswith("#")][1:]

    assert [z["zone"] for z in content["zones"]] == [r.split(",")[0] for r in rows]
    rates = answer(capsys, "rates", EXAMPLES / name)
    assert [z["zone"] for z in rates["zones"]] == [r.split(",")[0] for r in rows]


@pytest.mark.parametrize("name", SITES)
def test_table_says_days_in_the_words_of_the_contract(capsys, name):
    for zone in answer(capsys, "table", EXAMPLES / name)["zones"]:
        for month in zone["months"]:
            days = month["days"]
            assert days == [day for day in WEEKDAYS if day in days]
            assert month["parity"] in (None, "odd", "even")
            assert month["every_days"] in (None, *EVERY)
            if month["every_days"]:
                assert len(days) == 1
                assert month["days_per_week"] == 7 / month["every_days"]
            elif days and month["parity"] is None:
                assert month["days_per_week"] == len(days)
            elif days:
                # Odd or even dates are about half of all dates.
                assert month["days_per_week"] == pytest.approx(len(days) / 2, rel=0.03)


# Method: days from one watering to the next, where weeks are too short or too long.
EVERY = (5, 6, 8, 9, 10, 12, 14, 16, 18, 21, 24, 28)


@pytest.mark.parametrize("name", SITES)
def test_table_keeps_the_needs_of_a_month_that_is_off(capsys, name):
    off = 0
    for zone in answer(capsys, "table", EXAMPLES / name)["zones"]:
        for month in zone["months"]:
            assert month["plant_need_mm"] > 0
            assert month["net_need_mm"] == pytest.approx(
                month["plant_need_mm"] - month["effective_rain_mm"], abs=1e-9
            )
            if month["cycles"] == 0:
                off += 1
                assert month["days"] == []
                assert month["parity"] is None
                assert month["every_days"] is None
                for key in ("days_per_week", "minutes_per_day", "cycle_minutes",
                            "soak_minutes", "minutes_per_week", "applied_mm",
                            "volume_l"):  # fmt: skip
                    assert month[key] == 0
            else:
                assert month["days"]

    assert off


@pytest.mark.parametrize("name", SITES)
def test_rates_keeps_its_keys(capsys, name):
    content = answer(capsys, "rates", EXAMPLES / name)

    assert list(content) == ["format", "zones", "cautions"]
    for zone in content["zones"]:
        check_keys(
            zone,
            {"zone": TEXT, "rate_mm_h": NUMBER, "peak_rate_mm_h": NUMBER,
             "flow_l_min": NUMBER, "flow_source": TEXT, "pressure_kpa": MAYBE,
             "pressure_source": (str, type(None)), "chart_share": MAYBE,
             "area_m2": NUMBER, "uniformity": NUMBER, "uniformity_source": TEXT,
             "heads": (list,)},
        )  # fmt: skip
        for head in zone["heads"]:
            check_keys(head, {"head": TEXT, "count": WHOLE, "rate_mm_h": MAYBE,
                              "share_of_mean": MAYBE})  # fmt: skip
    for caution in content["cautions"]:
        check_keys(caution, CAUTION)


@pytest.mark.parametrize("name", SITES)
def test_climate_keeps_its_keys(capsys, name):
    content = answer(capsys, "climate", EXAMPLES / name)
    rows = content["months"]

    assert list(content)[:4] == ["format", "source", "place", "et0_method"]
    assert [row["month"] for row in rows] == list(range(1, 13))
    for row in rows:
        for key in ("et0_mm_day", "rain_mm", "effective_rain_mm"):
            assert isinstance(row[key], float)
        assert row["tmin_c"] is None or row["tmin_c"] <= row["tmax_c"]
        assert isinstance(row["frost"], bool)
        assert 0 <= row["effective_rain_mm"] <= row["rain_mm"]
    assert all(isinstance(text, str) for text in content["assumptions"])


@pytest.mark.parametrize("name", SITES)
def test_check_keeps_its_keys(capsys, name):
    content = answer(capsys, "check", EXAMPLES / name)

    assert list(content) == ["format", "findings"]
    for finding in content["findings"]:
        check_keys(
            finding,
            {"code": TEXT, "zone": (str, type(None)), "month": (int, type(None)),
             "costs_l_year": NUMBER, "costs_min_week": NUMBER, "costs_dry_days": NUMBER,
             "costs_money": MAYBE, "tried": (list,), "text": TEXT},
        )  # fmt: skip
        for one in finding["tried"]:
            check_keys(one, {"what": TEXT, "value": MAYBE, "dry_days": NUMBER})


@pytest.mark.parametrize("name", SITES)
def test_explain_keeps_its_keys(capsys, name):
    content = answer(capsys, "explain", EXAMPLES / name, "--zone", "1", "--month", "12")

    assert list(content) == ["format", "zone", "month", "steps", "ladder"]
    assert (content["zone"], content["month"]) == ("1", 12)
    for step in content["steps"]:
        check_keys(step, dict.fromkeys(
            ("section", "name", "formula", "numbers", "value", "unit", "source",
             "origin"), TEXT))  # fmt: skip


def test_to_json_writes_what_is_not_a_number_as_null():
    text = data.to_json({"a": math.nan, "b": [math.inf, 1.0], "c": {"d": -math.inf}})

    assert json.loads(text, parse_constant=no_constant) == {
        "format": 1, "a": None, "b": [None, 1.0], "c": {"d": None}}  # fmt: skip


def test_to_json_writes_letters_as_they_are():
    assert "Größe 🌳" in data.to_json({"name": "Größe 🌳"})
