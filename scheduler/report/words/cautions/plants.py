"""Cautions about plants on drip and bubblers: canopies and emitters."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.shown import MONTH_LABELS, quantity


def _basin(values: Mapping[str, Any], units: str) -> str:
    ground, canopies = (
        quantity(values[name], "area", units) for name in ("area_m2", "canopies_m2")
    )
    by_canopies, by_ground = (
        quantity(values[name], "volume", units) for name in ("canopies_l", "area_l")
    )
    month = MONTH_LABELS[values["month"] - 1]
    return (
        f"canopies make {canopies}, more than the {ground} of ground: is that "
        f"basins? The plan goes by the canopies, {by_canopies} in {month}; by that "
        f"ground it would be {by_ground}"
    )


def _unknown(values: Mapping[str, Any], units: str) -> str:
    area, volume = (
        quantity(values["area_m2"], "area", units),
        quantity(values["volume_l"], "volume", units),
    )
    month = MONTH_LABELS[values["month"] - 1]
    told = f"trees are taken to shade the {area} of area_*, {volume} in {month}"
    if "canopy_l" not in values:
        return f"{told}: write plants and canopy_*, for they drink by their canopies"
    canopy = quantity(values["canopy_m2"], "area", units)
    then = quantity(values["canopy_l"], "volume", units)
    return (
        f"{told}. If that is a basin and each shades {canopy}, they need {then}: write "
        "plants and canopy_*"
    )


def _few(values: Mapping[str, Any], units: str) -> str:
    canopy = quantity(values["canopy_m2"], "area", units)
    return (
        f"{values['emitters']:.3g} emitters a plant wet "
        f"{100 * values['wetted_share']:.0f} % of the roots under a canopy of "
        f"{canopy}: {values['wanted']} would wet half, and leave water where one clogs"
    )


def _grows(values: Mapping[str, Any], units: str) -> str:
    now, grown = (
        quantity(values[name], "area", units)
        for name in ("canopy_m2", "grown_canopy_m2")
    )
    week, then = (
        quantity(values[name], "volume", units) for name in ("week_l", "grown_week_l")
    )
    month = MONTH_LABELS[values["month"] - 1]
    return (
        f"a canopy of {now} will be {grown}: a plant then takes {then} a week in "
        f"{month} in place of {week}, and {values['wanted']} emitters in place of "
        f"{values['emitters']:.3g}: size the line for them, and add them as it grows"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "basin-as-ground": _basin,
    "canopy-unknown": _unknown,
    "emitters-too-few": _few,
    "canopy-grows": _grows,
}
