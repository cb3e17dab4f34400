"""Flow at pressure, precipitation rate, matched precipitation, by head and zone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.cautions import Caution
from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.library import HeadKinds
from scheduler.inputs.site import Heads, Zones
from scheduler.lines import COMMON_PRACTICE, DEFINITION, HOUSE_RULE, Line
from scheduler.rates.soundness import head_cautions
from scheduler.rates.uniformity import (
    held_uniformity,
    lower_quarter_uniformity,
    run_time_multiplier,
)

ROW_PER_SPACING = np.sqrt(3) / 2
"""Distance of rows over spacing in an equilateral triangle: sin 60°, exact."""

IMBALANCE_TOLD = 0.005
"""Drop of a usual uniformity from which the heads are told as its source."""

ZONE_RATE = Line("rate", "60 * flow / area", DEFINITION, "96.25 * flow / area")
EMITTER_RATE = Line(
    "rate", "60 * emitter_flow / (emitter_spacing * emitter_row_spacing)", DEFINITION,
    "96.25 * emitter_flow / (emitter_spacing * emitter_row_spacing)",
)  # fmt: skip
COUNTED_FLOW = Line("flow", "emitters * emitter_flow", DEFINITION)
AREA_OF_CANOPIES = Line("area", "plants * canopy", DEFINITION)
FLOW_OF_RATE = Line("flow", "rate * area / 60", DEFINITION, "rate * area / 96.25")
AREA_OF_RATE = Line("area", "60 * flow / rate", DEFINITION, "96.25 * flow / rate")
HEAD_FLOW = Line("head_flow", "chart_flow * sqrt(pressure / chart_pressure)",
                 "orifice law (from memory)")  # fmt: skip
EMITTER_FLOW = Line(
    "emitter_flow", "nominal_flow * sqrt(pressure / emitter_pressure)",
    "orifice law (from memory)",
)  # fmt: skip
EMITTER_HELD = Line(
    "emitter_flow", "nominal_flow * min(1, sqrt(pressure / least_pressure))",
    COMMON_PRACTICE,
)  # fmt: skip
HEAD_AREA = Line("head_area", "arc / 360 * spacing * row_spacing", "geometry")
HEAD_RATE = Line("head_rate", "60 * head_flow / head_area", DEFINITION,
                 "96.25 * head_flow / head_area")  # fmt: skip
HELD_FLOW = Line("head_flow", "chart_flow * min(1, sqrt(pressure / least_pressure))",
                 COMMON_PRACTICE)  # fmt: skip
SHARED_FLOW = Line("head_flow", "own_flow * flow / flow_of_heads", HOUSE_RULE)
FLOW_OVER_AREA = Line("flow_over_area", "60 * flow / area", DEFINITION,
                      "96.25 * flow / area")  # fmt: skip
SCALED_PEAK = Line("peak_rate", "head_rate * rate / flow_over_area", HOUSE_RULE)
MATCHED = Line("head_share", "head_rate / mean_head_rate", COMMON_PRACTICE)


@dataclass(frozen=True, slots=True, eq=False)
class HeadRates:
    """What each row of heads.csv lays down, (head,); NaN where not known.

    Flow and area are of one head; `share_of_mean` is its rate over the zone's mean.
    """

    flow_l_min: np.ndarray
    area_m2: np.ndarray
    rate_mm_h: np.ndarray
    share_of_mean: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class ZoneRates:
    """What each zone lays down, (zone,), and where its uniformity comes from.

    `usual_uniformity` is the tested, given or published value before anything holds it
    down; `imbalance` is the uniformity between the heads alone and
    `modelled_uniformity` that of a coverage model, NaN where not known.
    """

    flow_l_min: np.ndarray
    area_m2: np.ndarray
    rate_mm_h: np.ndarray
    peak_rate_mm_h: np.ndarray
    uniformity: np.ndarray
    usual_uniformity: np.ndarray
    imbalance: np.ndarray
    modelled_uniformity: np.ndarray
    uniformity_source: tuple[str, ...]
    run_time_multiplier: np.ndarray
    flow_source: tuple[str, ...]
    area_source: tuple[str, ...]
    rate_source: tuple[str, ...]
    heads: HeadRates
    cautions: tuple[Caution, ...]


def flow_at_pressure(
    flow_l_min: ArrayLike, chart_pressure_kpa: ArrayLike, pressure_kpa: ArrayLike
) -> NDArray[np.float64]:
    """Flow of a nozzle at a pressure other than its chart's.

    Parameters
    ----------
    flow_l_min : array_like
        Flow as the chart prints it. [L/min]
    chart_pressure_kpa : array_like
        Pressure at which the chart's flow holds. [kPa]
    pressure_kpa : array_like
        Pressure at the head. [kPa]

    Returns
    -------
    ndarray
        Flow at the head; NaN where any argument is NaN. [L/min]

    Raises
    ------
    ValueError
        If the flow is negative, or a pressure is zero or negative.

    Notes
    -----
    q = q_chart · √(P / P_chart), the orifice law. It does not hold for heads or
    valves that regulate their pressure.

    References
    ----------
    orifice law (from memory).

    Examples
    --------
    A nozzle of 10 L/min at 300 kPa, run at three quarters of that:

    >>> print(f"{flow_at_pressure(10, 300, 225):.2f} L/min")
    8.66 L/min
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0)
    chart = numbers_over("chart_pressure_kpa", chart_pressure_kpa, 0)
    pressure = numbers_over("pressure_kpa", pressure_kpa, 0)
    return np.asarray(flow * np.sqrt(pressure / chart))


def head_area(
    arc_deg: ArrayLike, spacing_m: ArrayLike, row_spacing_m: ArrayLike
) -> NDArray[np.float64]:
    """Ground that one head has to water by itself.

    Parameters
    ----------
    arc_deg : array_like
        Arc of the head, over 0 and up to 360. [°]
    spacing_m : array_like
        Distance to the next head in the row. [m]
    row_spacing_m : array_like
        Distance between rows. [m]

    Returns
    -------
    ndarray
        Area; NaN where any argument is NaN. [m²]

    Raises
    ------
    ValueError
        If an arc is not over 0 and up to 360, or a distance is not over 0.

    Notes
    -----
    a = arc/360 · spacing · row spacing: heads at the corners of a grid, each with the
    share of a cell that its arc covers.

    References
    ----------
    None: geometry.

    Examples
    --------
    A quarter circle on a square of 10 m:

    >>> print(f"{head_area(90, 10, 10):.0f} m²")
    25 m²
    """
    arc = numbers_over("arc_deg", arc_deg, 0)
    if np.any(arc > 360):
        raise ValueError(f"arc_deg must be up to 360, got {np.nanmax(arc):g}")
    spacing = numbers_over("spacing_m", spacing_m, 0)
    row_spacing = numbers_over("row_spacing_m", row_spacing_m, 0)
    return np.asarray(arc / 360 * spacing * row_spacing)


def precipitation_rate(
    flow_l_min: ArrayLike, area_m2: ArrayLike
) -> NDArray[np.float64]:
    """Mean depth of water that nozzles lay on an area in an hour.

    Parameters
    ----------
    flow_l_min : array_like
        Flow of all the nozzles that wet the area. [L/min]
    area_m2 : array_like
        Area wetted; broadcast against `flow_l_min`. [m²]

    Returns
    -------
    ndarray
        Precipitation rate; NaN where either argument is NaN. [mm/h]

    Raises
    ------
    ValueError
        If a flow is negative, or an area is zero or negative.

    Notes
    -----
    A liter on a square meter stands 1 mm deep, so P = 60 Q / A. This is a mean over
    the area; it says nothing of how evenly the area is wetted.

    References
    ----------
    None: follows from the definitions of liter, meter and hour.

    Examples
    --------
    Four quarter circles of 3.8 L/min each at the corners of a 4.5 m square:

    >>> print(f"{precipitation_rate(4 * 3.8, 4.5 * 4.5):.1f} mm/h")
    45.0 mm/h
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0)
    area = numbers_over("area_m2", area_m2, 0)
    return np.asarray(units.MIN_PER_H * flow / area)


def zone_rates(
    zones: Zones,
    heads: Heads,
    kinds: HeadKinds,
    pressure_kpa: ArrayLike = np.nan,
    tested_rate_mm_h: ArrayLike = np.nan,
    tested_uniformity: ArrayLike = np.nan,
    modelled_uniformity: ArrayLike = np.nan,
    wettest_mm_h: ArrayLike = np.nan,
    most_flow_l_min: float = np.inf,
) -> ZoneRates:
    """Rates, flows and uniformity of zones and heads.

    `pressure_kpa` is the running pressure at the heads, (zone,) or one for all, NaN
    where it is not known. A modelled uniformity may hold the usual one down, as the
    heads' imbalance does. What a catch-can test found, NaN where there is none, stands
    as it is: no model holds it down; `wettest_mm_h` is its wettest can. Heads take no
    more than the most flow.
    """
    tested_rate = np.broadcast_to(tested_rate_mm_h, (len(zones),))
    tested = np.broadcast_to(tested_uniformity, (len(zones),))
    pressure = np.broadcast_to(np.asarray(pressure_kpa, float), (len(zones),))
    head = head_rates(zones, heads, kinds, pressure, most_flow_l_min)
    head_flow, head_ground = _sums_of_heads(zones, heads, head)
    emitters, _ = flow_without_heads(zones, tested_rate)
    held = emitter_share(zones, kinds, pressure)
    held = held * np.fmin(1.0, most_flow_l_min / (emitters * held))
    with np.errstate(invalid="ignore", divide="ignore"):
        drip_rate = _drip_rate(zones) * np.where(np.isnan(held), 1.0, held)
        counted = zones.emitters * zones.emitter_flow_l_min
        counted = counted * np.where(np.isnan(held), 1.0, held)
        flow = _first(zones.flow_l_min, head_flow, counted)
        area = _first(zones.area_m2, head_ground)
        by_flow = units.MIN_PER_H * flow / area
        rate = _first(tested_rate, zones.rate_mm_h, drip_rate, by_flow)
        area_all = _first(area, units.MIN_PER_H * flow / rate)
        flow_all = _first(flow, rate * area_all / units.MIN_PER_H)
    imbalance = np.full(len(zones), np.nan)
    if len(heads):
        imbalance = lower_quarter_uniformity(
            head.rate_mm_h, head.area_m2 * heads.count, heads.zone, len(zones)
        )
    usual = _first(tested, zones.uniformity, kinds.uniformity[zones.head_kind])
    modelled = np.broadcast_to(modelled_uniformity, (len(zones),))
    told = zones.area_m2 == zones.plants * zones.canopy_m2
    given = np.isfinite(zones.uniformity)
    found = held_uniformity(zones, usual, imbalance, modelled)
    uniformity = _first(tested, found)
    return ZoneRates(
        flow_l_min=flow_all,
        area_m2=area_all,
        rate_mm_h=rate,
        peak_rate_mm_h=_peak_rate(zones, heads, head, by_flow, rate, wettest_mm_h),
        uniformity=uniformity,
        usual_uniformity=usual,
        imbalance=imbalance,
        modelled_uniformity=modelled,
        uniformity_source=tuple(
            np.select(
                [
                    np.isfinite(tested),
                    (uniformity < usual) & (modelled == uniformity),
                    uniformity < usual - np.where(given, 0.0, IMBALANCE_TOLD),
                    np.isnan(zones.uniformity),
                ],
                ["catch-can", "coverage model", "head imbalance", "kind of head"],
                "given",
            ).tolist()
        ),
        run_time_multiplier=run_time_multiplier(uniformity),
        flow_source=_sources(
            (zones.flow_l_min, "metered"), (head_flow, "sum of heads"),
            (counted, "emitters"), (flow_all, "rate and area"),
        ),
        area_source=_sources(
            (np.where(told, zones.area_m2, np.nan), "canopies"),
            (zones.area_m2, "measured"), (head_ground, "heads' spacing"),
            (area_all, "flow and rate"),
        ),
        rate_source=_sources(
            (tested_rate, "catch-can"), (zones.rate_mm_h, "measured"),
            (drip_rate, "emitters"), (rate, "flow and area"),
        ),
        heads=head,
        cautions=tuple(
            head_cautions(
                zones, heads, head.share_of_mean, kinds, pressure, head_ground
            )
        ),
    )  # fmt: skip


def flow_without_heads(
    zones: Zones, tested_rate_mm_h: ArrayLike = np.nan
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Flow of the emitters, and flow by a measured rate and the area; NaN: not known.

    Of each zone, as though it had no heads; a measured rate leaves no word to emitters.
    """
    measured = _first(np.broadcast_to(tested_rate_mm_h, (len(zones),)), zones.rate_mm_h)
    grid = _drip_rate(zones) * zones.area_m2 / units.MIN_PER_H
    emitters = _first(zones.emitters * zones.emitter_flow_l_min, grid)
    emitters = np.where(np.isfinite(measured), np.nan, emitters)
    return emitters, measured * zones.area_m2 / units.MIN_PER_H


def _drip_rate(zones: Zones) -> NDArray[np.float64]:
    ground = zones.emitter_spacing_m * zones.emitter_row_spacing_m
    return np.asarray(units.MIN_PER_H * zones.emitter_flow_l_min / ground)


def _held_share(pressure_kpa: np.ndarray, least_kpa: np.ndarray) -> np.ndarray:
    """Share of its flow that a regulated head keeps: all, down to the least pressure.

    1 where the pressure is not known.
    """
    return np.fmin(1.0, np.sqrt(pressure_kpa / least_kpa))


def emitters_follow(zones: Zones) -> NDArray[np.bool_]:
    """Zones whose emitters do not compensate, from a flow at a known pressure on."""
    return ~zones.regulated & np.isfinite(zones.emitter_pressure_kpa)


def emitter_share(
    zones: Zones, kinds: HeadKinds, pressure_kpa: np.ndarray
) -> NDArray[np.float64]:
    """Flow of each zone's emitters over what they are sold by; 1: nothing is known."""
    held = _held_share(pressure_kpa, kinds.least_pressure_kpa[zones.head_kind])
    root = np.sqrt(pressure_kpa / zones.emitter_pressure_kpa)
    return np.where(emitters_follow(zones), np.where(np.isnan(root), 1.0, root), held)


def _peak_rate(
    zones: Zones,
    heads: Heads,
    head: HeadRates,
    by_flow_mm_h: np.ndarray,
    rate_mm_h: np.ndarray,
    wettest_mm_h: ArrayLike,
) -> np.ndarray:
    """Rate of the wettest ground, which runoff goes by, (zone,).

    The highest of the heads' and the zone's; a measured rate scales it, and the
    wettest can stands where that is higher.
    """
    highest = np.full(len(zones), -np.inf)
    np.maximum.at(highest, heads.zone, np.nan_to_num(head.rate_mm_h, nan=-np.inf))
    with np.errstate(invalid="ignore", divide="ignore"):
        scale = rate_mm_h / by_flow_mm_h
    scaled = np.fmax(highest, by_flow_mm_h) * np.where(np.isnan(scale), 1.0, scale)
    return np.fmax(np.fmax(scaled, rate_mm_h), wettest_mm_h)


def _first(*arrays: np.ndarray) -> np.ndarray:
    """Element by element the first that is not NaN."""
    result = arrays[-1]
    for array in reversed(arrays[:-1]):
        result = np.where(np.isnan(array), result, array)
    return result


def _sources(*choices: tuple[np.ndarray, str]) -> tuple[str, ...]:
    known = [np.isfinite(array) for array, _ in choices]
    return tuple(np.select(known, [name for _, name in choices], "").tolist())


def follows_pressure(zones: Zones, heads: Heads) -> NDArray[np.bool_]:
    """Heads whose flow goes with the pressure: nothing regulates them, and it is known
    at which pressure the chart's flow holds."""
    return ~zones.regulated[heads.zone] & np.isfinite(heads.pressure_kpa)


def own_flows(
    zones: Zones, heads: Heads, kinds: HeadKinds, pressure_kpa: np.ndarray
) -> NDArray[np.float64]:
    """Flow of each head by itself at its zone's pressure, (zone,), in L/min."""
    at_head = pressure_kpa[heads.zone]
    scaled = flow_at_pressure(heads.flow_l_min, heads.pressure_kpa, at_head)
    free = follows_pressure(zones, heads) & np.isfinite(scaled)
    least = kinds.least_pressure_kpa[zones.head_kind][heads.zone]
    held = heads.flow_l_min * _held_share(at_head, least)
    return np.where(free, scaled, held)


def head_rates(
    zones: Zones,
    heads: Heads,
    kinds: HeadKinds,
    pressure_kpa: np.ndarray,
    most_flow_l_min: float = np.inf,
) -> HeadRates:
    """Flow, ground and rate of each head at its zone's pressure, (zone,).

    A metered flow of the zone scales all of its heads alike, and so does the most flow
    that the supply gives.
    """
    flow = own_flows(zones, heads, kinds, pressure_kpa)
    total = np.bincount(heads.zone, flow * heads.count, len(zones))
    with np.errstate(invalid="ignore", divide="ignore"):
        most = np.fmin(total, most_flow_l_min)
        share = _first(zones.flow_l_min, most) / total
    flow = flow * np.where(np.isnan(share), 1.0, share)[heads.zone]
    row_spacing = _first(
        heads.row_spacing_m,
        heads.spacing_m * np.where(heads.triangular, ROW_PER_SPACING, 1.0),
    )
    area = head_area(heads.arc_deg, heads.spacing_m, row_spacing)
    rate = precipitation_rate(flow, area)
    known = np.isfinite(rate)
    count = np.where(known, heads.count, 0)
    ground = np.bincount(heads.zone, count * np.nan_to_num(area), len(zones))
    water = np.bincount(heads.zone, count * np.nan_to_num(flow), len(zones))
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = units.MIN_PER_H * water / ground
    return HeadRates(flow, area, rate, rate / mean[heads.zone])


def _sums_of_heads(
    zones: Zones, heads: Heads, head: HeadRates
) -> tuple[np.ndarray, np.ndarray]:
    """Flow and ground of a zone's heads; NaN where not known, or without heads."""
    has = np.bincount(heads.zone, minlength=len(zones)) > 0
    flow = np.bincount(heads.zone, head.flow_l_min * heads.count, len(zones))
    area = np.bincount(heads.zone, head.area_m2 * heads.count, len(zones))
    return np.where(has, flow, np.nan), np.where(has, area, np.nan)
