"""Cautions about heads, and the ground that they water."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import named, verb
from scheduler.report.shown import number, quantity

_FOUND_BY = {
    "catch-can": "the cans found",
    "given": "zones.csv says",
    "coverage model": "the plan of its heads gives",
}
"""Who says how even a zone is."""


def _unmatched(values: Mapping[str, Any], units: str) -> str:
    low, high = 100 * values["lowest_share"], 100 * values["highest_share"]
    mend = (
        "choose nozzles whose flow goes with the arc (full 4 : half 2 : quarter 1)"
        if not values["mixed"]
        else "their throws are those of two kinds of head: give each kind its own valve"
    )
    return f"heads lay {low:.0f} to {high:.0f} % of the zone's mean rate: {mend}"


def _uniformity_low(values: Mapping[str, Any], units: str) -> str:
    who, found = _FOUND_BY[values["source"]], f"{values['uniformity']:.2f}"
    return (
        f"{who} a uniformity of {found}, which is poor: repair "
        "before you schedule; level sunken and tilted heads, clear clogged nozzles, "
        "match them, set the pressure right, and test anew"
    )


def _line_drains(values: Mapping[str, Any], units: str) -> str:
    zones = values["zones"]
    several = len(zones) > 1
    pipe = (
        "100 ft of 1-in pipe hold 4.1 gal"
        if units == "us"
        else "10 m of pipe of 25 mm hold 4.9 L"
    )
    return (
        f"{named('zone', zones)} {verb(len(zones), 'lie')} on "
        f"{'slopes of up to' if several else 'a slope of'} "
        f"{values['slope_percent']:g} %: without check valves in the heads the lines "
        f"run out of the lowest after each of {'their' if several else 'its'} "
        f"{number(values['cycles'])} cycles a year ({pipe}); look there for wet ground "
        "in the morning"
    )


def _area_mismatch(values: Mapping[str, Any], units: str) -> str:
    return (
        f"area is given as {quantity(values['area_m2'], 'area', units)}, but the "
        f"heads' spacing covers {quantity(values['head_area_m2'], 'area', units)}: "
        "check both with the tape"
    )


def _spacing(values: Mapping[str, Any], units: str) -> str:
    wind, heads = values["wind_m_s"], values["heads"]
    where = (
        "head to head"
        if wind is None
        else f"in wind of {quantity(wind, 'wind', units)}"
    )
    return (
        f"{named('head', heads)} {verb(len(heads), 'throw')} "
        f"{quantity(values['radius_m'], 'length', units)} but stand "
        f"{quantity(values['spacing_m'], 'length', units)} apart; {where} "
        f"{quantity(values['longest_spacing_m'], 'length', units)} is the most: "
        "longer throw, or heads between"
    )


def _standard_angle(values: Mapping[str, Any], units: str) -> str:
    return (
        f"standard-angle nozzles drift in wind of "
        f"{quantity(values['wind_m_s'], 'wind', units)}: low-angle nozzles hold "
        "better, or water when it is calm"
    )


def _mixed(values: Mapping[str, Any], units: str) -> str:
    return (
        f"heads throw from {quantity(values['least_m'], 'length', units)} to "
        f"{quantity(values['most_m'], 'length', units)}: kinds of head that differ so "
        "seldom match on one valve; give each kind its own"
    )


def _coverage_unknown(values: Mapping[str, Any], units: str) -> str:
    missing = values["missing"]
    if missing == "spray":
        return "drip and bubblers throw no water that could be laid on a plan"
    if missing == "ground":
        return "its heads stand in a line: an outline has to say what ground they water"
    what = {"place": "x_* and y_* are", "facing": "facing_deg is",
            "radius": "radius_* is", "flow": "flow_* is"}[missing]  # fmt: skip
    return (
        f"{named('head', values['heads'])}: {what} blank, so nothing of the zone is "
        "laid on the plan"
    )


def _head_outside(values: Mapping[str, Any], units: str) -> str:
    heads = values["heads"]
    return (
        f"{named('head', heads)} {verb(len(heads), 'stand')} up to "
        f"{quantity(values['distance_m'], 'length', units)} outside the outline: "
        "measure both from the same corner"
    )


def _ground_dry(values: Mapping[str, Any], units: str) -> str:
    return (
        f"no head reaches {100 * values['share']:.0f} % of the ground: move or add "
        "heads, or mend the outline"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "unmatched-heads": _unmatched,
    "uniformity-low": _uniformity_low,
    "line-drains": _line_drains,
    "area-mismatch": _area_mismatch,
    "spacing-too-wide": _spacing,
    "wind-standard-angle": _standard_angle,
    "mixed-heads": _mixed,
    "coverage-unknown": _coverage_unknown,
    "head-outside": _head_outside,
    "ground-dry": _ground_dry,
}
