"""Cautions about new plantings: what they want, and what the rules leave them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import counted
from scheduler.report.shown import date_text, quantity
from scheduler.report.words.plantings import planted, wants

LEAST_TOLD_MM = 0.5
"""Less than that a week is not told as missing."""
_ASK = "ask for the local rule on new plantings, and write it as a [[window]] with "


def _when(values: Mapping[str, Any]) -> str:
    first, last = date_text(values["first"]), date_text(values["last"])
    return f"from {first} to {last}" if first != last else f"on {first}"


def _not_permitted(values: Mapping[str, Any], units: str) -> str:
    stage = values["stage"]
    return (
        f"{wants(stage)} water {_when(values)}, and no window permits it: {_ASK}"
        f'stages = ["{stage}"]'
    )


def _days(values: Mapping[str, Any], units: str) -> str:
    stage, every = values["stage"], values["every_days"]
    often = "every day" if every == 1 else f"every {every} days"
    return (
        f"{wants(stage)} water {often} {_when(values)}, and the permitted days leave "
        f"gaps of {counted(values['gap_days'], 'day')}{_missing(values, units)}: {_ASK}"
        f'stages = ["{stage}"] and days = "any"'
    )


def _missing(values: Mapping[str, Any], units: str) -> str:
    """What is missing though each watering is as deep as the ground takes it."""
    if values["missing_mm_week"] < LEAST_TOLD_MM:
        return ", so each watering is as much deeper"
    missing = quantity(values["missing_mm_week"], "catch", units)
    return f", and {missing} a week are missing even at the depth that new roots hold"


def _hours(values: Mapping[str, Any], units: str) -> str:
    stage = values["stage"]
    given = values["given"] or "none"
    times = counted(values["starts"], "watering")
    return (
        f"{wants(stage)} {times} by day {_when(values)}, and {values['opens']} to "
        f"{values['closes']} has the hours of {given}: {_ASK}"
        f'stages = ["{stage}"], opens = "06:00" and closes = "18:00"'
    )


def _store(values: Mapping[str, Any], units: str) -> str:
    need, holds = (
        quantity(values[name], "catch", units) for name in ("need_mm", "holds_mm")
    )
    return (
        f"new roots hold {holds} {_when(values)}, and {need} is drawn from one "
        "watering to the next: look in the heat of the afternoon, and water by hand "
        "where it wilts"
    )


def _lately(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{planted(values['stage'], values['planted'])}: until it has grown in its "
        f"steps hold, and the table from {date_text(values['grown_in'])} on"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "planting-not-permitted": _not_permitted,
    "planting-days-too-few": _days,
    "planting-hours-too-few": _hours,
    "planting-store-small": _store,
    "planted-lately": _lately,
}
