"""Cautions about nozzles to be chosen from a chart."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import listed
from scheduler.report.shown import quantity


def _supply_taken(values: Mapping[str, Any], units: str) -> str:
    return (
        "the supply is not known; taken as what the largest zone draws today, "
        f"{quantity(values['design_flow_l_min'], 'flow', units)}: try it, and look at "
        "the stream"
    )


def _pressure_taken(values: Mapping[str, Any], units: str) -> str:
    return (
        "the pressure at the heads is not known; taken as usual for the kind of head, "
        f"{quantity(values['pressure_kpa'], 'pressure', units)}: read it at a running "
        "head"
    )


def _beyond_chart(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} is beyond the chart's "
        f"rows of {listed(values['nozzles'])}: flow by the square root of the "
        "pressure, the throw is a guess; try one"
    )


def _throw_too_far(values: Mapping[str, Any], units: str) -> str:
    return (
        f"nothing that throws shorter suits {listed(values['heads'])}: turn it down, "
        "and see that the stream stays even"
    )


def _throw_short(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{listed(values['heads'])}: the throw of "
        f"{quantity(values['radius_m'], 'length', units)} does not reach the next head "
        f"at {quantity(values['spacing_m'], 'length', units)}; within the usual "
        "spacing for this wind, yet drier in more of it"
    )


def _throw_unknown(values: Mapping[str, Any], units: str) -> str:
    return (
        f"the chart gives no throw for {listed(values['nozzles'])}: see that it "
        "reaches the next head"
    )


def _spacing_unknown(values: Mapping[str, Any], units: str) -> str:
    return (
        f"no spacing is given for {listed(values['heads'])}: ground is shared out by "
        "arc, and throw is not checked"
    )


def _measured_before(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{listed(values['names'])} of the zone hold for the nozzles of today: blank "
        "them, and measure anew"
    )


def _tested_before(values: Mapping[str, Any], units: str) -> str:
    return (
        "the catch-can test holds for the nozzles of today: take the zone out of it, "
        "and test anew"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "supply-taken": _supply_taken,
    "pressure-taken": _pressure_taken,
    "beyond-chart": _beyond_chart,
    "throw-too-far": _throw_too_far,
    "throw-short": _throw_short,
    "throw-unknown": _throw_unknown,
    "spacing-unknown": _spacing_unknown,
    "measured-before": _measured_before,
    "tested-before": _tested_before,
}
