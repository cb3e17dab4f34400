"""Cautions about the supply: flow and pressure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.rates.soundness import TURBULENT_KPA
from scheduler.report.counting import named
from scheduler.report.shown import minutes, quantity
from scheduler.report.words.heads.supply import rule_text


def _over_design_flow(values: Mapping[str, Any], units: str) -> str:
    over = values["flow_l_min"] - values["design_flow_l_min"]
    by = values["rule"]
    rule = "as given" if by == "given" else f"by {rule_text(by, units)}"
    return (
        f"takes {quantity(values['flow_l_min'], 'flow', units)}, "
        f"{quantity(over, 'flow', units)} more than the design flow of "
        f"{quantity(values['design_flow_l_min'], 'flow', units)}, {rule}: the plan "
        "stands, but meter and pipes wear and hammer; smaller nozzles, or split the "
        "zone"
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
        f"{rule_text(values['rule'], units)} allows "
        f"{quantity(values['flow_l_min'], 'flow', units)}: pressure will sink"
    )


def _reading_over_supply(values: Mapping[str, Any], units: str) -> str:
    if "flow_l_min" in values:
        return (
            f"{quantity(values['flow_l_min'], 'flow', units)} was metered, but with "
            "what is known of the supply not more than "
            f"{quantity(values['most_flow_l_min'], 'flow', units)} can flow: check the "
            "meter's unit, the static pressure, and pipe and meter in [supply]"
        )
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} is given at running "
        "heads, but with the static pressure and the rise not more than "
        f"{quantity(values['most_kpa'], 'pressure', units)} can be there: read both "
        "with one gauge, and check rise_to_heads"
    )


def _no_pressure_left(values: Mapping[str, Any], units: str) -> str:
    return (
        f"of {quantity(values['static_pressure_kpa'], 'pressure', units)} static "
        "pressure nothing is left at the heads even before water flows: rise, devices "
        f"and valves take {quantity(values['lost_kpa'], 'pressure', units)}; nothing "
        "flows, and all that follows stands on the chart's flow; check the numbers, "
        "or raise the pressure"
    )


def _pressure_assumed(values: Mapping[str, Any], units: str) -> str:
    at = quantity(values["pressure_kpa"], "pressure", units)
    whose = "the chart's" if values["printed"] else "usual for such heads"
    return (
        f"flow is taken as printed, at {at} ({whose}), because the pressure is not "
        "known: measure it at a running head"
    )


def _pressure_too_high(values: Mapping[str, Any], units: str) -> str:
    if "head_kind" in values:
        drip = values["head_kind"] == "drip"
        harm = "emitters and fittings blow off" if drip else "spray turns to mist"
        return (
            f"{quantity(values['pressure_kpa'], 'pressure', units)}, but "
            f"{values['head_kind']} stands about "
            f"{quantity(values['most_kpa'], 'pressure', units)}: {harm}; regulate the "
            'pressure, or say regulated = "yes" where that is done'
        )
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} at the heads, but the "
        f"chart says {quantity(values['chart_kpa'], 'pressure', units)}: spray turns "
        "to mist; regulate the pressure"
    )


def _chart_pressure_unknown(values: Mapping[str, Any], units: str) -> str:
    if not values["heads"]:
        rated = quantity(TURBULENT_KPA, "pressure", units)
        return (
            "its emitters do not compensate (regulated), yet no pressure stands beside "
            "their flow: it is taken as it stands; write emitter_pressure_* (many are "
            f"sold by their flow at {rated}), or regulated = yes where they compensate"
        )
    return (
        f"no pressure stands beside the flow of {named('head', values['heads'])}: it "
        "is taken as it stands at any pressure; write pressure_* of the chart's row"
    )


def _emitters_on_slope(values: Mapping[str, Any], units: str) -> str:
    return (
        f"its emitters do not compensate, and at {values['slope_percent']:g} % the "
        f"ground falls {quantity(values['fall_m'], 'length', units)}: the lowest have "
        f"{quantity(values['more_kpa'], 'pressure', units)} more and give "
        f"{100 * values['flow_share']:.0f} % more water. Lay lines along the contour "
        "with a regulator for each level, or fit emitters that compensate"
    )


def _pressure_too_low(values: Mapping[str, Any], units: str) -> str:
    least = quantity(values["least_kpa"], "pressure", units)
    told = (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} at the heads, which "
        f"take {quantity(values['flow_l_min'], 'flow', units)} there; under {least} "
        "they do not do their work. "
    )
    valves, most = values["valves"], values["most_flow_l_min"]
    ways = []
    if valves is not None:
        at = values["valves_kpa"]
        each = "" if at is None else f" ({quantity(at, 'pressure', units)} at each)"
        ways.append(f"split it into {valves:.0f} valves{each}")
    of_chart, chart = values["chart_flow_l_min"], values["chart_kpa"]
    if of_chart is not None:
        flow = quantity(of_chart, "flow", units)
        at = quantity(chart, "pressure", units)
        ways.append(f"nozzles that take {flow} in all at the chart's {at}")
    elif most is not None:
        flow = quantity(most, "flow", units)
        ways.append(f"nozzles that take {flow} in all at {least}")
    if values["pipe_mm"] is not None:
        size = quantity(values["pipe_mm"], "depth", units, 2 if units == "us" else 0)
        ways.append(f"a service pipe of {size} inside")
    if not ways:
        return (
            f"{told}Split the zone, fit smaller nozzles or find what takes the "
            "pressure; static and running pressure in [supply] would say how much"
        )
    return f"{told}Any of these mends it: {'; '.join(ways)}"


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "over-design-flow": _over_design_flow,
    "flow-under-pump": _flow_under_pump,
    "design-flow-high": _design_flow_high,
    "reading-over-supply": _reading_over_supply,
    "no-pressure-left": _no_pressure_left,
    "pressure-assumed": _pressure_assumed,
    "pressure-too-high": _pressure_too_high,
    "chart-pressure-unknown": _chart_pressure_unknown,
    "emitters-on-slope": _emitters_on_slope,
    "pressure-too-low": _pressure_too_low,
}
