"""Operating points: the pressure at which a zone's heads take what the supply gives."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.cautions import Caution
from scheduler.inputs.library import HeadKinds
from scheduler.inputs.site import Heads, Supply, Zones
from scheduler.rates.curve import SupplyCurve, curve_of, pressure_left
from scheduler.rates.precipitation import (
    emitters_follow,
    flow_without_heads,
    follows_pressure,
)
from scheduler.rates.supply import bucket_flow

_HALVINGS = 60
"""Times that an interval of pressure is halved: to the last digit of a float."""
_HIGHEST_KPA = 1e4


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """What zones take at a pressure, (zone,); `demand_flow` gives it.

    `free_l_min` goes with the square root of the pressure and is the flow at 1 kPa;
    `held_l_min` stands down to `least_kpa`, the least working pressure of the kind of
    head, and goes with the root below; `fixed_l_min`, NaN where not, was measured.
    `chart_kpa` is the mean pressure of the chart, weighted by flow; NaN: not known.
    """

    free_l_min: np.ndarray
    held_l_min: np.ndarray
    fixed_l_min: np.ndarray
    least_kpa: np.ndarray
    chart_kpa: np.ndarray

    def of(self, rows: np.ndarray, valves: ArrayLike = 1.0) -> Demand:
        """Rows of it, each split evenly over so many valves."""
        return Demand(
            self.free_l_min[rows] / valves,
            self.held_l_min[rows] / valves,
            self.fixed_l_min[rows] / valves,
            self.least_kpa[rows],
            self.chart_kpa[rows],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Operating pressure of each zone, (zone,), NaN where not known, and its source.

    Sources: "gauge" and "given"; "curve", where heads and supply meet; "bucket", where
    the bucket test lets no more flow; "" where not known. `most_flow_l_min` is that
    test, inf without one: nothing but a measured flow is planned over it.
    """

    pressure_kpa: np.ndarray
    source: tuple[str, ...]
    demand: Demand
    curve: SupplyCurve | None
    most_flow_l_min: float
    cautions: tuple[Caution, ...]

    @property
    def chart_share(self) -> NDArray[np.float64]:
        """Pressure over that of the chart; NaN where one of them is not known."""
        return np.asarray(self.pressure_kpa / self.demand.chart_kpa)


def find_points(
    zones: Zones,
    heads: Heads,
    kinds: HeadKinds,
    measured: Supply,
    tested_rate_mm_h: ArrayLike = np.nan,
) -> Points:
    """Operating points of zones on a supply.

    A gauge on the zone beats the pressure that is given for the site, and that the
    supply's curve.
    """
    demand = demand_of(zones, heads, kinds, tested_rate_mm_h)
    curve, most = curve_of(measured), most_flow(measured)
    gauge, given = zones.pressure_kpa, measured.pressure_kpa
    pressure = np.where(np.isnan(gauge), np.nan if given is None else given, gauge)
    source = np.where(
        np.isfinite(gauge), "gauge", "" if given is None else "given"
    ).astype(object)
    solved = np.flatnonzero(np.isnan(gauge))
    fixed = np.isfinite(demand.fixed_l_min)
    if given is None and curve is not None:
        if curve.most_kpa > 0:
            pressure[solved] = pressure_at(demand.of(solved), curve, most)
            met = solved[np.isfinite(pressure[solved])]
            source[met] = "curve"
    else:
        start = np.full(len(zones), _HIGHEST_KPA) if given is None else pressure
        held = solved[~fixed[solved] & (_as_printed(demand, pressure) > most)[solved]]
        pressure[held] = pressure_at(demand.of(held), None, most, start[held])
    at_most = demand_flow(demand, pressure) >= most * (1 - 1e-9)
    source[at_most & ~fixed & np.isnan(gauge)] = "bucket"
    return Points(
        pressure, tuple(source.tolist()), demand, curve, most,
        (*_contradictions(zones, measured, demand, curve),
         *_not_known(zones, heads, source, curve)),
    )  # fmt: skip


def most_flow(measured: Supply) -> float:
    """Most flow that the supply was seen to give wide open; inf where not tried."""
    if measured.bucket_l is None or measured.bucket_s is None:
        return np.inf
    bucket = float(bucket_flow(measured.bucket_l, measured.bucket_s))
    return max(bucket, measured.running_flow_l_min or 0.0)


def demand_of(
    zones: Zones, heads: Heads, kinds: HeadKinds, tested_rate_mm_h: ArrayLike = np.nan
) -> Demand:
    """What each zone's heads take at a pressure."""
    count = len(zones)
    free = follows_pressure(zones, heads)
    flow = heads.flow_l_min * heads.count
    with np.errstate(invalid="ignore"):
        at_1_kpa = np.where(free, flow / np.sqrt(heads.pressure_kpa), 0.0)
    held = np.where(free, 0.0, flow)
    emitters, measured = flow_without_heads(zones, tested_rate_mm_h)
    has = np.bincount(heads.zone, minlength=count) > 0
    total = np.where(has, np.bincount(heads.zone, flow, count), np.nan)
    no_sum = np.isnan(total)
    fixed = np.where(np.isnan(zones.flow_l_min) & no_sum, measured, zones.flow_l_min)
    printed = np.isfinite(heads.pressure_kpa) & np.isfinite(flow)
    weight = np.bincount(heads.zone, np.where(printed, flow, 0.0), count)
    pressure = np.where(printed, flow * heads.pressure_kpa, 0.0)
    with np.errstate(invalid="ignore"):
        chart = np.bincount(heads.zone, pressure, count) / weight
    # Emitters that do not compensate are as heads whose chart has their pressure.
    nominal = np.where(emitters_follow(zones), zones.emitter_pressure_kpa, np.nan)
    known = np.isfinite(nominal)
    of_emitters = np.where(known, emitters / np.sqrt(nominal), 0.0)
    held_emitters = np.where(known, 0.0, emitters)
    free_heads = np.bincount(heads.zone, at_1_kpa, count)
    held_heads = np.bincount(heads.zone, held, count)
    return Demand(
        free_l_min=np.where(no_sum, of_emitters, free_heads),
        held_l_min=np.where(no_sum, held_emitters, held_heads),
        fixed_l_min=fixed,
        least_kpa=kinds.least_pressure_kpa[zones.head_kind],
        chart_kpa=np.where(no_sum, nominal, chart),
    )


def demand_flow(demand: Demand, pressure_kpa: np.ndarray) -> NDArray[np.float64]:
    """What zones take at a pressure, in L/min; NaN where either is not known."""
    root = np.sqrt(pressure_kpa)
    held = demand.held_l_min * np.minimum(1.0, root / np.sqrt(demand.least_kpa))
    flow = demand.free_l_min * root + held
    return np.where(np.isnan(demand.fixed_l_min), flow, demand.fixed_l_min)


def pressure_at(
    demand: Demand,
    curve: SupplyCurve | None,
    most_flow_l_min: float = np.inf,
    start_kpa: ArrayLike = np.nan,
) -> NDArray[np.float64]:
    """Highest pressure at which zones take no more than the supply gives, in kPa.

    The demand rises with the pressure and the supply's curve falls, so there is one.
    Without a curve it is held to `start_kpa`. A measured flow is not held to the most;
    NaN where it is more than the curve gives, or where the demand is not known.
    """
    fixed = np.isfinite(demand.fixed_l_min)

    def meets(pressure_kpa: np.ndarray) -> np.ndarray:
        flow = demand_flow(demand, pressure_kpa)
        fits = flow <= most_flow_l_min
        if curve is not None:
            fits &= pressure_kpa <= pressure_left(curve, flow)
        return np.asarray(fits)

    high = np.broadcast_to(
        np.asarray(start_kpa if curve is None else curve.most_kpa, dtype=np.float64),
        demand.least_kpa.shape,
    )
    low, high = np.zeros(high.shape), high.copy()
    done = meets(high)
    low[done] = high[done]
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        fits = meets(middle)
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    found = np.where(np.isfinite(demand_flow(demand, high)), low, np.nan)
    if curve is not None:
        left = pressure_left(curve, demand.fixed_l_min)
        found = np.where(fixed, np.where(left > 0, left, np.nan), found)
    return found


def flow_at(curve: SupplyCurve, pressure_kpa: float) -> float:
    """Flow at which a supply leaves a pressure, in L/min; 0 where it never does."""
    low, high = 0.0, 1.0
    while pressure_left(curve, high) > pressure_kpa:
        low, high = high, 2 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if pressure_left(curve, middle) > pressure_kpa:
            low = middle
        else:
            high = middle
    return low


def curve_through_gauge(
    measured: Supply, pressure_kpa: float, flow_l_min: float
) -> SupplyCurve | None:
    """The curve through the static pressure and a gauge on a running zone."""
    static = curve_of(replace(measured, running_pressure_kpa=pressure_kpa,
                              running_flow_l_min=flow_l_min, other_loss_kpa=None,
                              backflow=None))  # fmt: skip
    if static is None:
        return None
    drop = static.static_kpa - static.rise_kpa - pressure_kpa
    return replace(static, reading_kpa=drop) if drop > 0 else None


def _as_printed(demand: Demand, pressure_kpa: np.ndarray) -> NDArray[np.float64]:
    """Flow at a pressure; of zones whose pressure is not known that of the chart."""
    pressure = np.where(np.isnan(pressure_kpa), demand.chart_kpa, pressure_kpa)
    return demand_flow(demand, np.where(np.isnan(pressure), _HIGHEST_KPA, pressure))


def _contradictions(
    zones: Zones, measured: Supply, demand: Demand, curve: SupplyCurve | None
) -> Iterator[Caution]:
    """Readings that the supply cannot give."""
    static = measured.static_pressure_kpa
    if static is not None:
        rise = 0.0 if curve is None else curve.rise_kpa
        most = (static - rise) * (1 + 1e-9)
        gauges = [(None, measured.pressure_kpa), *zip(zones.zone,
                  zones.pressure_kpa.tolist(), strict=True)]  # fmt: skip
        for zone, pressure in gauges:
            if pressure is not None and pressure > most:
                values = {"pressure_kpa": pressure, "most_kpa": static - rise}
                yield Caution("reading-over-supply", zone, None, values)
    if curve is not None and curve.most_kpa > 0:
        most = flow_at(curve, 0.0)
        for row in np.flatnonzero(demand.fixed_l_min > most * (1 + 1e-9)).tolist():
            values = {"flow_l_min": float(demand.fixed_l_min[row]),
                      "most_flow_l_min": most}  # fmt: skip
            yield Caution("reading-over-supply", zones.zone[row], None, values)


def _not_known(
    zones: Zones, heads: Heads, source: np.ndarray, curve: SupplyCurve | None
) -> Iterator[Caution]:
    """No pressure at all, and heads that a pressure says nothing of."""
    if curve is not None and curve.most_kpa <= 0 and "" in source:
        values = {"static_pressure_kpa": curve.static_kpa,
                  "lost_kpa": curve.static_kpa - curve.most_kpa}  # fmt: skip
        yield Caution("no-pressure-left", None, None, values)
    free = ~zones.regulated & np.isnan(zones.flow_l_min) & (source == "curve")
    blank = np.isfinite(heads.flow_l_min) & np.isnan(heads.pressure_kpa)
    for row in np.unique(heads.zone[blank & free[heads.zone]]).tolist():
        mine = np.flatnonzero(blank & (heads.zone == row)).tolist()
        names = tuple(heads.head[head] for head in mine)
        yield Caution("chart-pressure-unknown", zones.zone[row], None, {"heads": names})
    emitters, _ = flow_without_heads(zones)
    blind = ~zones.regulated & (source != "") & np.isnan(zones.flow_l_min)
    blind &= np.isfinite(emitters) & np.isnan(zones.emitter_pressure_kpa)
    blind &= ~np.isin(np.arange(len(zones)), heads.zone)
    for row in np.flatnonzero(blind).tolist():
        yield Caution("chart-pressure-unknown", zones.zone[row], None, {"heads": ()})
