"""Cautions about the supply: flow and pressure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.shown import minutes, quantity
from scheduler.report.words.heads.supply import RULES


def _flow_over_supply(values: Mapping[str, Any], units: str) -> str:
    over = values["flow_l_min"] - values["design_flow_l_min"]
    return (
        f"needs {quantity(values['flow_l_min'], 'flow', units)}, "
        f"{quantity(over, 'flow', units)} more than the design flow of "
        f"{quantity(values['design_flow_l_min'], 'flow', units)}: smaller nozzles, "
        "or split the zone"
    )


def _flow_under_pump(values: Mapping[str, Any], units: str) -> str:
    least = quantity(values["least_flow_l_min"], "flow", units)
    if "minutes" in values:
        return (
            f"for {minutes(values['minutes'])} min of the night less flows than the "
            f"{least} that the pump must run at: no other zone can run then"
        )
    return (
        f"draws {quantity(values['flow_l_min'], 'flow', units)}, the pump must run at "
        f"{least} or more: give it a pressure tank, or run another zone with it"
    )


def _design_flow_high(values: Mapping[str, Any], units: str) -> str:
    return (
        f"the design flow is given as "
        f"{quantity(values['design_flow_l_min'], 'flow', units)}, but "
        f"{RULES[values['rule']]} allows "
        f"{quantity(values['flow_l_min'], 'flow', units)}: pressure will sink"
    )


def _no_pressure_left(values: Mapping[str, Any], units: str) -> str:
    return (
        f"of {quantity(values['static_pressure_kpa'], 'pressure', units)} static "
        "pressure nothing is left at the heads: meter, pipe and rise take "
        f"{quantity(values['lost_kpa'], 'pressure', units)} at the design flow; check "
        "the numbers, or draw less"
    )


def _pressure_assumed(values: Mapping[str, Any], units: str) -> str:
    at = quantity(values["pressure_kpa"], "pressure", units)
    whose = "the chart's" if values["printed"] else "usual for such heads"
    return (
        f"flow is taken as printed, at {at} ({whose}), because [supply] pressure is "
        "not given: measure it at a running head"
    )


def _pressure_too_high(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} at the heads, but the "
        f"chart says {quantity(values['chart_kpa'], 'pressure', units)}: spray turns "
        "to mist; regulate the pressure"
    )


def _pressure_too_low(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} at the heads, but the "
        f"chart says {quantity(values['chart_kpa'], 'pressure', units)}: streams fall "
        "short and leave a dry ring; smaller nozzles or fewer heads raise the pressure"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "flow-over-supply": _flow_over_supply,
    "flow-under-pump": _flow_under_pump,
    "design-flow-high": _design_flow_high,
    "no-pressure-left": _no_pressure_left,
    "pressure-assumed": _pressure_assumed,
    "pressure-too-high": _pressure_too_high,
    "pressure-too-low": _pressure_too_low,
}
