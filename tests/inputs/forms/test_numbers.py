"""Checks what is said of numbers that cannot be read, and which spellings can."""

import datetime

import hypothesis
import numpy as np
import pytest
from hypothesis import strategies as st

from scheduler.inputs.forms import columns
from scheduler.inputs.forms.columns import Column
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import FILES, SITE_TABLES


def read_number(place, header, cell, decimal_comma=False):
    """Value in SI of one cell under a header, and its problems as text."""
    for field in FILES.get(place) or SITE_TABLES[place]:
        if header in field.names:
            unit = columns.PLAIN_UNIT
            if field.dimension:
                unit = DIMENSIONS[field.dimension].units[field.names.index(header)]
            column = Column(place, header, [cell], [14], decimal_comma)
            (value,), faults = columns.read_numbers(field, unit, column)
            return value, [str(problem) for _, problem in faults]
    raise KeyError(header)


def assert_refused(place, header, cell, wrong, accepted, hint):
    value, problems = read_number(place, header, cell)
    text = f"{place}:14: {header}: {wrong}\n  accepted: {accepted}"

    assert np.isnan(value)
    assert problems == [text + (f"\n  hint: {hint}" if hint else "")]


SHARE = "a number over 0 and up to 1"
ALONE = "write the number alone"


# The first case is the contract of style.md, word for word.
@pytest.mark.parametrize(
    ("cell", "wrong", "hint"),
    [
        ("400", "400 is not an arc", "write 360 for a full circle"),
        (" 0 ", "0 is not an arc", "write 360 for a full circle"),
        ("full", '"full" is not a number', "write 360 for a full circle"),
        ("180°", '"180°" is not a number', ALONE),
    ],
)
def test_arc_that_is_none_is_refused(cell, wrong, hint):
    accepted = "a number over 0 and up to 360"

    assert_refused("heads.csv", "arc_deg", cell, wrong, accepted, hint)


@pytest.mark.parametrize(
    ("cell", "wrong"),
    [("2.5", '"2.5" is not a whole number'), ("0", "0 is not a count")],
)
def test_count_that_is_none_is_refused(cell, wrong):
    accepted = "a whole number from 1 to 10000"

    assert_refused("heads.csv", "count", cell, wrong, accepted, "")


@pytest.mark.parametrize(
    ("cell", "wrong", "hint"),
    [
        ("62", "62 is not a uniformity", "write 0.62 for 62 %"),
        ("62 %", '"62 %" is not a number', "write 0.62 for 62 %"),
        ("1.5", "1.5 is not a uniformity", ""),
        ("-0.6", "-0.6 is not a uniformity", ""),
        ("nan", '"nan" is not a number', ""),
        ("NaN", '"NaN" is not a number', ""),
        ("inf", '"inf" is not a number', ""),
        ("-Infinity", '"-Infinity" is not a number', ""),
        ("1e999", '"1e999" is not a number', ""),
        ("good", '"good" is not a number', ""),
        ("0x1", '"0x1" is not a number', ALONE),
        ("0,123", '"0,123" is not a number', "write 0.123 with a decimal point"),
    ],
)
def test_uniformity_that_is_none_is_refused(cell, wrong, hint):
    assert_refused("zones.csv", "uniformity", cell, wrong, SHARE, hint)


@pytest.mark.parametrize(
    ("cell", "wrong", "hint"),
    [
        ("-20", "-20 is not an area", ""),
        (
            "1,500",
            '"1,500" is not a number',
            "write 1500, or 1.500 if the comma is a decimal comma",
        ),
        (
            "1,234,500.5",
            '"1,234,500.5" is not a number',
            "write 1234500.5 without thousands commas",
        ),
        ("1500,5", '"1500,5" is not a number', "write 1500.5 with a decimal point"),
        (
            "1500 sq ft",
            '"1500 sq ft" is not a number',
            "write the number alone; the unit stands in the column's name",
        ),
        (
            "20 1/2",
            '"20 1/2" is not a number',
            "write a fraction as a decimal, as 0.5 for 1/2",
        ),
    ],
)
def test_area_that_is_none_is_refused(cell, wrong, hint):
    # 1e6 m² is 1e6 / 0.3048² = 10763910.4… ft².
    accepted = "a number over 0 and up to 10760000"

    assert_refused("zones.csv", "area_ft2", cell, wrong, accepted, hint)


@pytest.mark.parametrize(
    ("place", "header", "cell", "noun", "accepted", "hint"),
    [
        (
            "zones.csv",
            "slope_percent",
            "300",
            "a slope",
            "a number from 0.5 to 100, or 0",
            "",
        ),
        # 2 % is 0.02, which a cell without a percent sign may hold.
        (
            "zones.csv",
            "slope_percent",
            "0.02",
            "a slope",
            "a number from 0.5 to 100, or 0",
            "write 2 for 2 %",
        ),
        # 5000 mm is 5000 / 25.4 = 196.85… in, shown on the side that is accepted.
        (
            "zones.csv",
            "root_depth_in",
            "0",
            "a root depth",
            "a number over 0 and up to 196.8",
            "",
        ),
        # 1e5 L/min is 1e5 / 3.785411784 = 26417.2… gal/min.
        (
            "zones.csv",
            "flow_gpm",
            "30000",
            "a flow",
            "a number over 0 and up to 26410",
            "for 30000 L/min write flow_l_min",
        ),
        # 30 psi is 207 kPa; a bar is 100 kPa, so 2000 kPa is 20 bar.
        (
            "heads.csv",
            "pressure_bar",
            "30",
            "a pressure",
            "a number over 0 and up to 20",
            "for 30 psi write pressure_psi, for 30 kPa write pressure_kpa",
        ),
        (
            "monthly climate",
            "tmax_c",
            "95",
            "a tmax",
            "a number from -60 to 60",
            "for 95 °F write tmax_f",
        ),
        # -60 °C is -76 °F, 60 °C is 140 °F.
        ("monthly climate", "tmax_f", "150", "a tmax", "a number from -76 to 140", ""),
        (
            "monthly climate",
            "solar_mj_m2_day",
            "250",
            "a solar radiation",
            "a number from 0 to 45",
            "for 250 W/m² write solar_w_m2",
        ),
        ("site", "latitude", 95, "a latitude", "a number from -90 to 90", ""),
        ("site", "longitude", -181.5, "a longitude", "a number from -180 to 180", ""),
    ],
)
def test_absurd_number_is_refused(place, header, cell, noun, accepted, hint):
    wrong = f"{cell} is not {noun}"

    assert_refused(place, header, cell, wrong, accepted, hint)


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        (True, "true"),
        (float("nan"), "nan"),
        (float("-inf"), "-inf"),
        ([38, 30], "a list"),
        ({"degrees": 38}, "a table"),
        (datetime.date(2026, 7, 31), "2026-07-31"),
    ],
)
def test_value_of_toml_that_is_no_number_is_refused(cell, shown):
    accepted = "a number from -90 to 90"

    assert_refused("site", "latitude", cell, f"{shown} is not a number", accepted, "")


def test_decimal_comma_file_may_not_group_thousands_by_points():
    value, problems = read_number("zones.csv", "area_m2", "1.500,5", decimal_comma=True)

    assert np.isnan(value)
    assert problems == [
        'zones.csv:14: area_m2: "1.500,5" is not a number\n'
        "  accepted: a number over 0 and up to 1000000\n"
        "  hint: write 1500,5 without thousands points"
    ]


def test_long_text_is_cut_in_the_error_text():
    _, problems = read_number("zones.csv", "uniformity", "m" * 500)

    assert problems == [
        f'zones.csv:14: uniformity: "{"m" * 60}…" is not a number\n  accepted: {SHARE}'
    ]


# Backtracking over the square of the length took hours; 5 s are plenty for a line.
def test_cell_of_100_000_digits_and_a_letter_is_refused_at_once():
    begun = datetime.datetime.now()
    _, problems = read_number("zones.csv", "uniformity", "1" * 100_000 + "x")

    assert problems == [
        f'zones.csv:14: uniformity: "{"1" * 60}…" is not a number\n'
        f"  accepted: {SHARE}\n  hint: {ALONE}"
    ]
    assert datetime.datetime.now() - begun < datetime.timedelta(seconds=5)


@hypothesis.given(
    number=st.decimals(0, 100, places=4),
    point=st.sampled_from([".", ","]),
    sign=st.sampled_from(["", "+"]),
    spaces=st.tuples(st.sampled_from(["", " ", "\t"]), st.sampled_from(["", "  "])),
    exponent=st.sampled_from(["", "e", "E"]),
    short=st.booleans(),
)
def test_number_in_any_spelling_reads_to_the_same_value(
    number, point, sign, spaces, exponent, short
):
    text = f"{number:.4f}"
    if exponent:
        text = f"{number.scaleb(2):.2f}{exponent}-02"
    elif short and text.startswith("0"):
        text = text[1:]
    cell = spaces[0] + sign + text.replace(".", point) + spaces[1]

    value, problems = read_number(
        "cans.csv", "catch_ml", cell, decimal_comma=point == ","
    )

    assert problems == []
    # Exact: every spelling is one decimal number, and a float is nearest to it.
    assert value == pytest.approx(float(number), rel=1e-15)


@hypothesis.given(st.floats(0, 100) | st.integers(0, 100))
def test_number_of_toml_is_taken_as_it_is(number):
    assert read_number("cans.csv", "catch_ml", number) == (number, [])
