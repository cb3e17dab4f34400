"""Cautions about catch-can tests."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.shown import quantity


def _cans_too_few(values: Mapping[str, Any], units: str) -> str:
    return (
        f"tested with {values['cans']} cans; an audit asks for {values['enough']} or "
        "more: take the result as a first look"
    )


def _driest_dry(values: Mapping[str, Any], units: str) -> str:
    return (
        f"the driest {values['cans']} cans caught nothing or next to it: no run time "
        "mends that; raise, straighten or move heads, and test anew"
    )


def _cans_over_given(values: Mapping[str, Any], units: str) -> str:
    pairs = []
    rate, uniformity = values["rate_mm_h"], values["uniformity"]
    if rate is not None:
        tested = quantity(values["tested_rate_mm_h"], "rate", units)
        pairs.append(f"{tested}, not {quantity(rate, 'rate', units)}")
    if uniformity is not None:
        tested = f"{values['tested_uniformity']:.2f}"
        pairs.append(f"uniformity {tested}, not {uniformity:.2f}")
    return f"the catch-can test goes before what the zone says: {'; '.join(pairs)}"


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "cans-too-few": _cans_too_few,
    "driest-quarter-dry": _driest_dry,
    "cans-over-given": _cans_over_given,
}
