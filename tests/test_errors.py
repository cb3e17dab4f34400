"""Problems print as the house style lays them down; cautions carry values in SI."""

import dataclasses

import pytest

from scheduler.errors import HARD_LIMITS, Caution, InputError, Problem

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


def test_caution_is_for_the_site_and_the_year_unless_said():
    caution = Caution("rain-counted-twice")

    assert (caution.zone, caution.month, dict(caution.values)) == (None, None, {})


@pytest.mark.parametrize(
    ("record", "field"), [(ARC, "wrong"), (Caution("frost-month"), "code")]
)
def test_records_cannot_be_changed(record, field):
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(record, field, "other")


# The design: exit status 3 where a hard limit (window, days, supply, runoff,
# controller) cannot be met; too few starts are a caution only, and so is all that
# is merely wasteful.
def test_hard_limits_are_those_of_window_days_supply_and_runoff():
    assert {
        "window-too-short",
        "days-too-few",
        "not-permitted",
        "flow-over-supply",
        "cycle-too-short",
        "need-unmet",
    } <= HARD_LIMITS
    assert not HARD_LIMITS & {
        "starts-too-few",
        "unmatched-heads",
        "frost-month",
        "value-assumed",
        "area-mismatch",
        "pressure-too-high",
    }
