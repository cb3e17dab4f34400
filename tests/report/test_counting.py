"""Plurals and lists: English by any grammar."""

import pytest

from scheduler.report import counting


@pytest.mark.parametrize(
    ("count", "text"), [(0, "0 zones"), (1, "1 zone"), (2, "2 zones"), (12, "12 zones")]
)
def test_counted_says_one_in_the_singular_alone(count, text):
    assert counting.counted(count, "zone") == text


@pytest.mark.parametrize(
    ("count", "text"), [(1, "one visit"), (2, "2 visits"), (12, "12 visits")]
)
def test_spelled_says_one_in_letters(count, text):
    assert counting.spelled(count, "visit") == text


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ([], ""),
        (["1"], "1"),
        (["1", "2"], "1 and 2"),
        (["1", "2", "7"], "1, 2 and 7"),
    ],
)
def test_listed_has_commas_and_a_last_and(names, text):
    assert counting.listed(names) == text


@pytest.mark.parametrize(
    ("names", "text"), [(["1"], "zone 1"), (("1", "2", "7"), "zones 1, 2 and 7")]
)
def test_named_puts_the_noun_before_its_names(names, text):
    assert counting.named("zone", names) == text


@pytest.mark.parametrize(
    ("names", "count", "text"),
    [
        (["1", "2"], 2, "all zones"),
        (["1", "2"], 3, "zones 1 and 2"),
        (["1"], 1, "zone 1"),
    ],
)
def test_named_of_says_all_where_there_are_no_others(names, count, text):
    assert counting.named_of("zone", names, count) == text


@pytest.mark.parametrize(
    ("plain", "one"),
    [("throw", "throws"), ("are", "is"), ("do", "does"), ("have", "has")],
)
def test_verb_goes_with_its_number(plain, one):
    assert counting.verb(1, plain) == one
    assert counting.verb(2, plain) == plain


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.0, "0 days of a hundred"), (0.0104, "1 day of a hundred"),
     (0.146, "15 days of a hundred")],
)  # fmt: skip
def test_of_hundred_says_one_day_in_the_singular_alone(share, text):
    assert counting.of_hundred(share) == text
