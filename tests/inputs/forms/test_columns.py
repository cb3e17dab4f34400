"""Checks what is said of words, days, clocks and lists that cannot be read."""

import datetime

import hypothesis
import pytest
from hypothesis import strategies as st

from scheduler.errors import InputError
from scheduler.inputs.forms import columns, dates
from scheduler.inputs.forms.columns import Column
from scheduler.inputs.forms.fields import FILES, SITE_TABLES


def field_of(place, name):
    fields = FILES.get(place) or SITE_TABLES[place]
    return next(field for field in fields if field.name == name)


def told(faults):
    """Texts of what is wrong with the one row of a column."""
    assert {row for row, _ in faults} <= {0}
    return [str(problem) for _, problem in faults]


def read_one(place, name, cell):
    field = field_of(place, name)
    (value,), faults = columns.read_one(field, Column(place, name, [cell], [14]))
    return value, told(faults)


@hypothesis.settings(deadline=None)
@hypothesis.given(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.dates()
    | st.lists(st.integers() | st.text() | st.booleans(), max_size=3)
    | st.dictionaries(st.text(max_size=3), st.integers(), max_size=2)
)  # fmt: skip
def test_any_cell_is_read_or_gets_a_problem_that_names_its_place(cell):
    hypothesis.assume(not isinstance(cell, int) or abs(cell) < 10**18)
    for place, fields in [*FILES.items(), *SITE_TABLES.items()]:
        for field in fields:
            column = Column(place, field.names[0], [cell], [14])
            if field.kind in ("number", "whole", "share"):
                _, faults = columns.read_numbers(field, columns.PLAIN_UNIT, column)
            elif field.kind == "word":
                _, faults = columns.read_words(field, field.words, column)
            elif field.kind == "text":
                _, faults = columns.read_texts(column)
            elif field.kind == "flag":
                _, faults = columns.read_flags(field, column)
            else:
                _, faults = columns.read_one(field, column)
            start = f"{place}:14: {field.names[0]}: "

            assert len(faults) <= 1
            assert all(text.startswith(start) for text in told(faults))


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (
            "rotary",
            '"rotary" is not a head kind\n'
            "  accepted: rotor, spray, multi-stream, drip, bubbler\n"
            "  hint: did you mean rotor?",
        ),
        (
            "Multi-streams",
            '"Multi-streams" is not a head kind\n'
            "  accepted: rotor, spray, multi-stream, drip, bubbler\n"
            "  hint: did you mean multi-stream?",
        ),
        (
            "xyz",
            '"xyz" is not a head kind\n'
            "  accepted: rotor, spray, multi-stream, drip, bubbler",
        ),
        (
            7,
            "7 is not a head kind\n"
            "  accepted: rotor, spray, multi-stream, drip, bubbler",
        ),
    ],
)
def test_unknown_word_is_never_replaced_by_the_nearest(cell, text):
    field = field_of("zones.csv", "head_kind")
    column = Column("zones.csv", "head_kind", [cell], [3])
    words, faults = columns.read_words(field, field.words, column)

    assert words == [""]
    assert told(faults) == [f"zones.csv:3: head_kind: {text}"]


@pytest.mark.parametrize(
    "cell",
    ["multi-stream", "Multi Stream", "MULTISTREAM", "multi_stream", "multi–Stream"],
)
def test_words_are_matched_without_case_hyphens_and_spaces(cell):
    field = field_of("zones.csv", "head_kind")
    column = Column("zones.csv", "head_kind", [cell], [3])

    assert columns.read_words(field, field.words, column) == (["multi-stream"], [])


@pytest.mark.parametrize("cell", ["perhaps", "1", 1, [True]])
def test_flag_must_be_yes_or_no(cell):
    field = field_of("zones.csv", "regulated")
    column = Column("zones.csv", "regulated", [cell], [3])
    flags, faults = columns.read_flags(field, column)

    shown = "a list" if cell == [True] else f'"{cell}"' if cell != 1 else "1"
    assert flags == [None]
    assert told(faults) == [
        f"zones.csv:3: regulated: {shown} is neither yes nor no\n  accepted: yes or no"
    ]


@pytest.mark.parametrize(
    ("cell", "flag"),
    [("Yes", True), ("y", True), ("TRUE", True), (True, True), (" no ", False),
     ("N", False), ("False", False), (False, False), ("", None)],
)  # fmt: skip
def test_flag_is_read_as_people_and_spreadsheets_write_it(cell, flag):
    field = field_of("zones.csv", "regulated")
    column = Column("zones.csv", "regulated", [cell], [3])

    assert columns.read_flags(field, column) == ([flag], [])


DATE = "  accepted: a date, as 2026-07-31"
NINE = '\n  hint: write "21:00"'
CLOCK = "  accepted: a time of day, as 21:00"
CLOSES = CLOCK + ', or "sunrise"'
DAYS = (
    '  accepted: "any", "odd", "even", or a list of mon, tue, wed, thu, fri, sat, sun'
)
MONTHS = '  accepted: months by number or name, as [4, 5, 6], "4-6" or "Apr-Oct"'
KINDS = "  accepted: rotor, spray, multi-stream, drip, bubbler"
TIERS = "  accepted: [{to = 10, price = 3.10}, {price = 4.50}]"


@pytest.mark.parametrize(
    ("place", "name", "cell", "text"),
    [
        (
            "zones.csv",
            "planted",
            "2025-02-30",
            '"2025-02-30" is no day of the calendar\n' + DATE,
        ),
        ("zones.csv", "planted", "31.7.2026", '"31.7.2026" is not a date\n' + DATE),
        ("zones.csv", "planted", "7/31/2026", '"7/31/2026" is not a date\n' + DATE),
        ("zones.csv", "planted", "next spring", '"next spring" is not a date\n' + DATE),
        ("window", "opens", "25:00", '"25:00" is not a time of day\n' + CLOCK),
        ("window", "opens", "24:01", '"24:01" is not a time of day\n' + CLOCK),
        ("window", "opens", "9 pm", '"9 pm" is not a time of day\n' + CLOCK + NINE),
        (
            "window",
            "opens",
            "9:00 P.M.",
            '"9:00 P.M." is not a time of day\n' + CLOCK + NINE,
        ),
        ("window", "opens", "13 pm", '"13 pm" is not a time of day\n' + CLOCK),
        (
            "window",
            "opens",
            "12 am",
            '"12 am" is not a time of day\n' + CLOCK + '\n  hint: write "00:00"',
        ),
        ("window", "opens", "sunrise", '"sunrise" is not a time of day\n' + CLOCK),
        ("window", "opens", 21, "21 is not a time of day\n" + CLOCK + NINE),
        ("window", "closes", "sunset", '"sunset" is not a time of day\n' + CLOSES),
        ("window", "days", [], "no day is named\n" + DAYS),
        ("window", "days", ["mon", "someday"], '"someday" is not a weekday\n' + DAYS),
        (
            "window",
            "days",
            ["mo", "We"],
            '"mo" is not a weekday\n' + DAYS + '\n  hint: write ["mon", "wed"]',
        ),
        (
            "window",
            "days",
            ["mond"],
            '"mond" is not a weekday\n' + DAYS + '\n  hint: write ["mon"]',
        ),
        (
            "window",
            "days",
            "sa-mo",
            '"sa-mo" is not a weekday\n'
            + DAYS
            + '\n  hint: write ["sat", "sun", "mon"]',
        ),
        (
            "window",
            "days",
            ["mon", "Tuseday"],
            '"Tuseday" is not a weekday\n' + DAYS + "\n  hint: did you mean tuesday?",
        ),
        (
            "window",
            "months",
            "agust",
            '"agust" is not a month\n' + MONTHS + "\n  hint: did you mean august?",
        ),
        ("window", "days", [1, 3], "1 is not a weekday\n" + DAYS),
        ("window", "days", 3, "3 is not a rule for days\n" + DAYS),
        ("window", "months", "4-13", '"13" is not a month\n' + MONTHS),
        ("window", "months", "0", '"0" is not a month\n' + MONTHS),
        ("window", "months", "4-6-8", '"4-6-8" is not a month\n' + MONTHS),
        ("window", "months", "marble", '"marble" is not a month\n' + MONTHS),
        ("window", "months", "summer", '"summer" is not a month\n' + MONTHS),
        (
            "window",
            "months",
            "6-Apr",
            '"6-Apr" may be a date that a spreadsheet made\n' + MONTHS,
        ),
        ("window", "months", [], "no month is named\n" + MONTHS),
        ("window", "months", ",", "no month is named\n" + MONTHS),
        ("window", "months", [4, 5.5], "5.5 is not a month\n" + MONTHS),
        ("window", "months", [True], "true is not a month\n" + MONTHS),
        ("window", "months", True, "true is not a list of months\n" + MONTHS),
        ("window", "months", {"from": 4}, "a table is not a list of months\n" + MONTHS),
        (
            "window",
            "head_kinds",
            ["drip", "mist"],
            '"mist" is not a kind of head\n' + KINDS,
        ),
        ("window", "head_kinds", [], "no kind of head is named\n" + KINDS),
        ("window", "head_kinds", 3, "3 is not a kind of head\n" + KINDS),
        ("water", "tiers", "3.10", '"3.10" is not a list of tiers\n' + TIERS),
        ("water", "tiers", [], "a list is not a list of tiers\n" + TIERS),
        ("water", "tiers", [3.1], "tier 1 takes price alone, as the last\n" + TIERS),
        (
            "water",
            "tiers",
            [{"price": 3}, {"price": 4}],
            "tier 1 takes to and price\n" + TIERS,
        ),
        (
            "water",
            "tiers",
            [{"to": 9, "price": 3}],
            "tier 1 takes price alone, as the last\n" + TIERS,
        ),
        (
            "water",
            "tiers",
            [{"to": 9, "price": 3}, {"to": 9, "price": 4}, {"price": 5}],
            "tier 2 ends at 9, before it begins\n" + TIERS,
        ),
        (
            "water",
            "tiers",
            [{"to": "9", "price": 3}, {"price": 4}],
            "tier 1: to is not a number\n" + TIERS,
        ),
        (
            "water",
            "tiers",
            [{"price": -4}],
            "tier 1: price must be 0 or more\n" + TIERS,
        ),
        (
            "water",
            "tiers",
            [{"price": True}],
            "tier 1: price is not a number\n" + TIERS,
        ),
    ],
)
def test_day_clock_month_kind_or_tier_that_is_none_is_refused(place, name, cell, text):
    assert read_one(place, name, cell) == (None, [f"{place}:14: {name}: {text}"])


@pytest.mark.parametrize(
    ("place", "name", "cell", "value"),
    [
        ("zones.csv", "planted", " 2024-02-29 ", datetime.date(2024, 2, 29)),
        ("zones.csv", "planted", "", None),
        ("window", "opens", "0:05", "00:05"),
        ("window", "opens", datetime.time(21, 30), "21:30"),
        ("window", "closes", "24:00", "24:00"),
        ("window", "closes", " Sunrise ", "sunrise"),
        ("window", "days", "ODD", "odd"),
        ("window", "days", "Tuesday", ("tue",)),
        ("window", "days", ["Sun", "monday", "sun"], ("mon", "sun")),
        ("window", "months", "4-6, 9", (4, 5, 6, 9)),
        ("window", "months", "Apr-Oct", (4, 5, 6, 7, 8, 9, 10)),
        ("window", "months", "nov–feb", (1, 2, 11, 12)),
        ("window", "months", "Sept; june", (6, 9)),
        ("window", "months", [12, "1-2"], (1, 2, 12)),
        ("window", "months", 7, (7,)),
        ("window", "head_kinds", "SPRAY", ("spray",)),
    ],
)
def test_day_clock_month_or_kind_is_read_as_people_write_it(place, name, cell, value):
    assert read_one(place, name, cell) == (value, [])


@pytest.mark.parametrize("text", ["7", "07", "jul", "July", " JUL "])
def test_month_of_an_option_may_be_a_number_or_a_name(text):
    assert dates.read_month(text) == 7


def test_month_of_an_option_that_is_none_is_refused():
    with pytest.raises(InputError) as caught:
        dates.read_month("13")

    assert str(caught.value) == (
        '--month: "13" is not a month\n'
        "  accepted: a number from 1 to 12, or a name such as jul"
    )
