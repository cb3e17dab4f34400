"""The registry of cautions: what it refuses, which limits are hard, how codes rank."""

import ast
import dataclasses
from pathlib import Path

import pytest

import scheduler
from scheduler.cautions import (
    HARD_LIMITS,
    KINDS,
    ONLY_TOLD,
    Caution,
    badness,
    rank,
)

PACKAGE = Path(scheduler.__file__).parent


def codes_in_the_package() -> set[str]:
    """First arguments of all calls of Caution in the package's source."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Caution":
                assert isinstance(node.args[0], ast.Constant), path
                found.add(node.args[0].value)
    return found


def test_codes_declared_are_those_that_the_package_raises():
    assert codes_in_the_package() == set(KINDS)


def test_caution_is_for_the_site_and_the_year_unless_said():
    caution = Caution("tested-before")

    assert (caution.zone, caution.month, dict(caution.values)) == (None, None, {})


def test_caution_refuses_a_code_that_is_not_declared():
    with pytest.raises(ValueError, match="days-to-few is no code of a caution"):
        Caution("days-to-few", "1", 7, {"gap_limit_days": 2})


@pytest.mark.parametrize(
    ("code", "values"),
    [
        ("days-too-few", {}),
        ("days-too-few", {"gap_days": 2}),
        ("days-too-few", {"gap_limit_days": 2, "zones": ("1",)}),
        # One shape's words with the other's number.
        ("flow-under-pump", {"flow_l_min": 40.0, "minutes": 3.0}),
    ],
)
def test_caution_refuses_other_values_than_declared(code, values):
    with pytest.raises(ValueError, match=f"values of {code} are .*; got"):
        Caution(code, "1", 7, values)


def test_caution_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        Caution("tested-before").code = "other"


# The design: exit status 3 where a hard limit (window, days, supply, runoff,
# controller) cannot be met, a zone under its heads' least pressure among them; too few
# starts and passing a rule of design are cautions only, and so is what merely wastes.
def test_hard_limits_are_those_of_window_days_supply_runoff_and_controller():
    assert {
        "card-deep",
        "card-dry",
        "card-shallow",
        "cycle-too-short",
        "days-too-few",
        "need-unmet",
        "no-pressure-left",
        "not-permitted",
        "planting-days-too-few",
        "planting-hours-too-few",
        "planting-not-permitted",
        "pressure-too-low",
        "window-too-short",
    } == HARD_LIMITS


def test_rank_puts_doubts_then_hard_limits_first_and_what_is_only_told_last():
    ranked = sorted(KINDS, key=rank)
    doubts = {code for code in KINDS if code.endswith("-doubtful")}
    first, ranked = ranked[: len(doubts)], ranked[len(doubts) :]

    # What can hardly be meant is asked before all else.
    assert set(first) == doubts
    assert set(ranked[: len(HARD_LIMITS)]) == HARD_LIMITS
    assert set(ranked[-len(ONLY_TOLD) :]) == ONLY_TOLD
    assert rank("unmatched-heads") == rank("area-mismatch")
    assert rank("unmatched-heads") < rank("rate-over-intake") < rank("frost-month")


@pytest.mark.parametrize("code", [code for code in KINDS if KINDS[code].most])
def test_most_of_a_value_is_the_worst(code):
    kind = KINDS[code]
    mild, bad = (
        Caution(code, values={**dict.fromkeys(kind.shapes[0]), kind.most: amount})
        for amount in (1, 2)
    )

    assert badness(bad) > badness(mild)
    assert all(kind.most in shape for shape in kind.shapes)


@pytest.mark.parametrize("code", [code for code in KINDS if KINDS[code].least])
def test_least_of_a_value_is_the_worst(code):
    kind = KINDS[code]
    mild, bad = (
        Caution(code, values={**dict.fromkeys(kind.shapes[0]), kind.least: amount})
        for amount in (2, 1)
    )

    assert badness(bad) > badness(mild)
    assert all(kind.least in shape for shape in kind.shapes)
