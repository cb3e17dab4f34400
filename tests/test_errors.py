"""Problems print as the house style lays them down; cautions carry values in SI."""

import dataclasses

import pytest

from scheduler.errors import InputError, Problem

ARC = Problem(
    "heads.csv",
    14,
    "arc_deg",
    "400 is not an arc",
    "a number over 0 and up to 360",
    "write 360 for a full circle",
)


# House style, Errors: the example there, to the letter.
def test_problem_prints_place_what_is_wrong_what_is_accepted_and_the_hint():
    assert str(ARC) == (
        "heads.csv:14: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle"
    )


def test_problem_of_a_whole_file_has_no_line_and_no_field():
    problem = Problem("zones.csv", None, "", "has no zones", hint="add a row")

    assert str(problem) == "zones.csv: has no zones\n  hint: add a row"


def test_problem_without_accepted_or_hint_is_one_line():
    assert str(Problem("site.toml", 3, "units", "is blank")) == (
        "site.toml:3: units: is blank"
    )


def test_input_error_keeps_every_problem_in_order():
    blank = Problem("site.toml", None, "climate.file", "is missing")
    error = InputError(problem for problem in (ARC, blank))

    assert error.problems == (ARC, blank)
    assert str(error) == f"{ARC}\n{blank}"


def test_problem_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        ARC.wrong = "other"
