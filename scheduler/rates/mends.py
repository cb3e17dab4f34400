"""Zones that ask for more than the supply gives, and how much of what would mend it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.cautions import Caution
from scheduler.inputs.site import Supply, Zones
from scheduler.rates.curve import SupplyCurve, pressure_left
from scheduler.rates.point import (
    Demand,
    Points,
    curve_through_gauge,
    demand_flow,
    flow_at,
    pressure_at,
)
from scheduler.rates.supply import DIAMETER_EXPONENT, PIPE_EXPONENT, SupplyFound

MOST_VALVES = 9
"""Valves that a zone is split over at most; beyond that the supply is at fault."""


@dataclass(frozen=True, slots=True)
class Mends:
    """Mends of one zone, each alone; None where it would not do, or is not known.

    So many valves and the pressure at each; the flow that all heads may take together
    at their least pressure, and at the chart's where the supply's curve tells it; the
    inside diameter of the service pipe.
    """

    valves: int | None = None
    valves_kpa: float | None = None
    most_flow_l_min: float | None = None
    chart_flow_l_min: float | None = None
    pipe_mm: float | None = None


def pressure_cautions(
    zones: Zones, measured: Supply, points: Points
) -> Iterator[Caution]:
    """Zones under the least working pressure of their heads, with what mends it."""
    pressure, least = points.pressure_kpa, points.demand.least_kpa
    flow = demand_flow(points.demand, pressure)
    for row in np.flatnonzero(pressure < least * (1 - 1e-9)).tolist():
        curve = points.curve
        if points.source[row] == "gauge":
            curve = curve_through_gauge(measured, float(pressure[row]), flow[row])
        mends = Mends()
        if points.source[row] != "given":
            one = points.demand.of(np.array([row]))
            mends = mends_of(one, curve, points.most_flow_l_min, measured)
        values = {
            "pressure_kpa": float(pressure[row]),
            "least_kpa": float(least[row]),
            "flow_l_min": float(flow[row]),
            "valves": mends.valves,
            "valves_kpa": mends.valves_kpa,
            "most_flow_l_min": mends.most_flow_l_min,
            "chart_flow_l_min": mends.chart_flow_l_min,
            "chart_kpa": _known(points.demand.chart_kpa[row]),
            "pipe_mm": mends.pipe_mm,
        }
        yield Caution("pressure-too-low", zones.zone[row], None, values)


def flow_cautions(
    zones: Zones, supply: SupplyFound, flow_l_min: np.ndarray, alone: bool
) -> Iterator[Caution]:
    """Zones over the design flow, and zones under what a pump must run at.

    Only zones that run `alone` must give a pump its flow by themselves.
    """
    design, least = supply.design_flow_l_min, supply.measured.least_flow_l_min
    for zone, flow in zip(zones.zone, flow_l_min.tolist(), strict=True):
        if design is not None and flow > design * (1 + 1e-9):
            values: dict[str, object] = {
                "flow_l_min": flow,
                "design_flow_l_min": design,
                "rule": supply.design_rule,
            }
            yield Caution("over-design-flow", zone, None, values)
        if alone and least is not None and flow < least * (1 - 1e-9):
            values = {"flow_l_min": flow, "least_flow_l_min": least}
            yield Caution("flow-under-pump", zone, None, values)


def mends_of(
    demand: Demand, curve: SupplyCurve | None, most_flow_l_min: float, measured: Supply
) -> Mends:
    """Mends of a zone, a demand of one row, on a supply."""
    least = float(demand.least_kpa[0])
    wanted = float(demand_flow(demand, demand.least_kpa)[0])
    gives = most_flow_l_min
    if curve is not None:
        gives = min(gives, flow_at(curve, least))
    if not 0 < gives < np.inf or not wanted > 0:
        return Mends()
    of_chart = _flow_at_chart(demand, curve, most_flow_l_min)
    valves = math.ceil(wanted / gives * (1 - 1e-9))
    no_split = Mends(most_flow_l_min=gives, chart_flow_l_min=of_chart)
    if not 1 < valves <= MOST_VALVES:
        return no_split
    given = measured.pressure_kpa
    start = demand.chart_kpa if given is None else given
    parts = demand.of(np.array([0]), valves)
    at_each = float(pressure_at(parts, curve, most_flow_l_min, start)[0])
    if at_each < least * (1 - 1e-9):
        return no_split
    return Mends(
        valves,
        _known(at_each),
        gives,
        of_chart,
        _pipe(curve, measured, wanted, least) if wanted <= most_flow_l_min else None,
    )


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _flow_at_chart(
    demand: Demand, curve: SupplyCurve | None, most_flow_l_min: float
) -> float | None:
    """Flow that the supply gives at the chart's pressure; None where no help."""
    chart = float(demand.chart_kpa[0])
    if curve is None or not chart > demand.least_kpa[0]:
        return None
    gives = min(most_flow_l_min, flow_at(curve, chart))
    return gives if gives > 0 else None


def _pipe(
    curve: SupplyCurve | None, measured: Supply, flow_l_min: float, least_kpa: float
) -> float | None:
    """Inside diameter that leaves the least pressure; None where none does."""
    diameter = measured.pipe_diameter_mm
    if curve is None or diameter is None or not curve.pipe_loss_kpa:
        return None
    taken = curve.pipe_loss_kpa * flow_l_min**PIPE_EXPONENT * (1 + curve.fittings_share)
    allowed = float(pressure_left(curve, flow_l_min)) + taken - least_kpa
    if allowed <= 0:
        return None
    return diameter * float((taken / allowed) ** (1 / DIAMETER_EXPONENT))
