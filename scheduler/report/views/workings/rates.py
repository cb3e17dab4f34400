"""The working of a zone's precipitation rate: flow, ground, peak and uniformity."""

from __future__ import annotations

import math

import numpy as np

from scheduler.inputs import library
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.site import SitePlan
from scheduler.rates import precipitation as nozzles
from scheduler.rates import uniformity
from scheduler.report.formulas import digits
from scheduler.report.views.workings.steps import Working
from scheduler.report.words import workings as words


def rate_steps(w: Working, plan: SitePlan, row: int) -> None:
    """From heads and supply to the zone's rate, its peak and its uniformity."""
    w.section = words.PRECIPITATION_RATE
    rates = plan.rates
    mine = np.flatnonzero(plan.site.heads.zone == row).tolist()
    flow_last = rates.flow_source[row] == "rate and area"
    area_last = rates.area_source[row] == "flow and rate"
    if not flow_last:
        _flow(w, plan, row, mine)
    if not area_last:
        _area(w, plan, row, mine)
    if rates.rate_source[row] == "flow and area":
        w.line(nozzles.ZONE_RATE, rates.rate_mm_h[row])
    elif rates.rate_source[row] == "emitters":
        zones = plan.site.zones
        _emitter_flow(w, plan, row)
        w.given("emitter_spacing", zones.emitter_spacing_m[row], words.ZONES)
        w.given("emitter_row_spacing", zones.emitter_row_spacing_m[row], words.ZONES)
        w.line(nozzles.EMITTER_RATE, rates.rate_mm_h[row])
    else:
        w.given("rate", rates.rate_mm_h[row], rates.rate_source[row])
    if flow_last:
        w.line(nozzles.FLOW_OF_RATE, rates.flow_l_min[row])
    if area_last:
        w.line(nozzles.AREA_OF_RATE, rates.area_m2[row])
    _peak_rate(w, plan, row, mine)
    _uniformity(w, plan, row)
    w.line(uniformity.MULTIPLIER, rates.run_time_multiplier[row])


def _flow(w: Working, plan: SitePlan, row: int, mine: list[int]) -> None:
    heads, rates = plan.site.heads, plan.rates
    metered = rates.flow_source[row] == "metered"
    zones, emitting = plan.site.zones, rates.flow_source[row] == "emitters"
    own_l_min = float(zones.emitters[row] * _each_l_min(plan, row))
    if emitting and math.isclose(own_l_min, rates.flow_l_min[row], rel_tol=1e-9):
        w.given("emitters", zones.emitters[row], words.ZONES)
        _emitter_flow(w, plan, row)
        w.line(nozzles.COUNTED_FLOW, rates.flow_l_min[row])
        return
    if rates.flow_source[row] != "sum of heads" and not (metered and mine):
        w.given("flow", rates.flow_l_min[row], rates.flow_source[row])
        return
    own = _own_flows(plan)
    if metered and not np.isfinite(own[mine]).all():
        w.given("flow", rates.flow_l_min[row], words.METERED)
        return
    for i in mine:
        _head_flow(w, plan, i, float(own[i]))
    terms = [(heads.count[i], own[i]) for i in mine]
    total = sum(count * each for count, each in terms)
    if math.isclose(total, rates.flow_l_min[row], rel_tol=1e-9):
        w.sum_of("flow", terms, rates.flow_l_min[row], words.HEADS)
        return
    w.sum_of("flow_of_heads", terms, total, words.HEADS)
    whose = words.METERED if metered else words.BUCKET_GAVE
    w.given("flow", rates.flow_l_min[row], whose)


def _each_l_min(plan: SitePlan, row: int) -> float:
    """Flow of one emitter of a zone at its pressure."""
    share = nozzles.emitter_share(
        plan.site.zones, library.head_kinds(), plan.points.pressure_kpa
    )
    return float(plan.site.zones.emitter_flow_l_min[row] * share[row])


def _emitter_flow(w: Working, plan: SitePlan, row: int) -> None:
    """What an emitter gives at the zone's pressure, by what it is sold by."""
    zones, flow = plan.site.zones, _each_l_min(plan, row)
    if flow == zones.emitter_flow_l_min[row]:
        w.given("emitter_flow", flow, words.ZONES)
        return
    w.given("nominal_flow", zones.emitter_flow_l_min[row], words.ZONES)
    w.given("pressure", plan.points.pressure_kpa[row],
            words.POINT_FROM[plan.points.source[row]])  # fmt: skip
    if nozzles.emitters_follow(zones)[row]:
        w.given("emitter_pressure", zones.emitter_pressure_kpa[row], words.ZONES)
        w.line(nozzles.EMITTER_FLOW, flow)
    else:
        least = plan.points.demand.least_kpa[row]
        w.given("least_pressure", least, *usual_of_kind(plan, row))
        w.line(nozzles.EMITTER_HELD, flow)


def _own_flows(plan: SitePlan) -> np.ndarray:
    """Flow of each head at its zone's pressure, before a metered flow is shared out."""
    zones, heads = plan.site.zones, plan.site.heads
    return nozzles.own_flows(
        zones, heads, library.head_kinds(), plan.points.pressure_kpa
    )


def _area(w: Working, plan: SitePlan, row: int, mine: list[int]) -> None:
    heads, head, rates = plan.site.heads, plan.rates.heads, plan.rates
    if rates.area_source[row] == "canopies":
        w.given("plants", plan.site.zones.plants[row], words.ZONES)
        w.given("canopy", plan.site.zones.canopy_m2[row], words.ZONES)
        w.line(nozzles.AREA_OF_CANOPIES, rates.area_m2[row])
        return
    if rates.area_source[row] != "heads' spacing":
        w.given("area", rates.area_m2[row], rates.area_source[row])
        return
    for i in mine:
        place = words.of_head(heads.head[i])
        w.given("arc", heads.arc_deg[i], place)
        w.given("spacing", heads.spacing_m[i], place)
        w.given("row_spacing", _row_spacing(plan, i), words.HEADS_PATTERN)
        w.line(nozzles.HEAD_AREA, head.area_m2[i])
    terms = [(heads.count[i], head.area_m2[i]) for i in mine]
    w.sum_of("area", terms, rates.area_m2[row], words.HEADS)


def _peak_rate(w: Working, plan: SitePlan, row: int, mine: list[int]) -> None:
    rates, peak = plan.rates, float(plan.rates.peak_rate_mm_h[row])
    wettest = float(plan.tests.wettest_mm_h[row])
    by_flow = float(60 * rates.flow_l_min[row] / rates.area_m2[row])
    of_heads = [float(rates.heads.rate_mm_h[i]) for i in mine]
    highest = max((rate for rate in of_heads if math.isfinite(rate)), default=0.0)
    both = (
        rates.flow_source[row] != "rate and area"
        and rates.area_source[row] != "flow and rate"
    )
    rate = float(rates.rate_mm_h[row])
    scaled = both and rates.rate_source[row] != "flow and area"
    if math.isclose(peak, wettest, rel_tol=1e-9) and wettest > rate:
        w.given("peak_rate", peak, words.WETTEST_CAN)
        return
    if highest <= (by_flow if both else rate):
        w.given("peak_rate", peak, words.ZONE_RATE)
        return
    i = mine[of_heads.index(highest)]
    _shared_flow(w, plan, i)
    w.given("head_area", rates.heads.area_m2[i], words.of_head(plan.site.heads.head[i]))
    w.line(nozzles.HEAD_RATE, highest)
    if scaled:
        w.line(nozzles.FLOW_OVER_AREA, by_flow)
        w.line(nozzles.SCALED_PEAK, peak)
    else:
        w.given("peak_rate", peak, words.HIGHEST_HEAD)


def _shared_flow(w: Working, plan: SitePlan, i: int) -> None:
    """Flow of a head, by its share of the zone's where that is not the heads' own."""
    found, own = float(plan.rates.heads.flow_l_min[i]), float(_own_flows(plan)[i])
    place = words.of_head(plan.site.heads.head[i])
    if math.isclose(found, own, rel_tol=1e-9) or "flow_of_heads" not in w.values:
        w.given("head_flow", found, place)
        return
    w.given("own_flow", own, place)
    w.line(nozzles.SHARED_FLOW, found)


def _row_spacing(plan: SitePlan, i: int) -> float:
    heads = plan.site.heads
    given = float(heads.row_spacing_m[i])
    factor = nozzles.ROW_PER_SPACING if heads.triangular[i] else 1.0
    return given if math.isfinite(given) else float(heads.spacing_m[i] * factor)


def _head_flow(w: Working, plan: SitePlan, i: int, flow_l_min: float) -> None:
    heads, zones, row = plan.site.heads, plan.site.zones, int(plan.site.heads.zone[i])
    pressure, source = plan.points.pressure_kpa[row], plan.points.source[row]
    if not source or flow_l_min == heads.flow_l_min[i]:
        return
    place = words.of_head(plan.site.heads.head[i])
    w.given("chart_flow", heads.flow_l_min[i], place)
    free = nozzles.follows_pressure(zones, heads)[i]
    if free:
        w.given("chart_pressure", heads.pressure_kpa[i], place)
    else:
        least = plan.points.demand.least_kpa[row]
        w.given("least_pressure", least, *usual_of_kind(plan, row))
    w.given("pressure", pressure, words.POINT_FROM[source])
    w.line(nozzles.HEAD_FLOW if free else nozzles.HELD_FLOW, flow_l_min)


def _uniformity(w: Working, plan: SitePlan, row: int) -> None:
    rates, source = plan.rates, plan.rates.uniformity_source[row]
    value = rates.uniformity[row]
    if source == "coverage model":
        w.given("uniformity", value, words.COVERAGE_MODEL)
    elif source == "catch-can":
        w.given("uniformity", value, words.CANS)
    elif source == "given":
        w.given("uniformity", value, words.ZONES)
    elif math.isfinite(plan.site.zones.uniformity[row]):
        _driest_quarter(w, plan, row, "uniformity")
    elif rates.imbalance[row] < 1 - 1e-9:
        w.given("usual_uniformity", rates.usual_uniformity[row],
                *usual_of_kind(plan, row))  # fmt: skip
        _driest_quarter(w, plan, row, "imbalance")
        w.line(uniformity.COMBINED, value)
    else:
        w.given("uniformity", value, *usual_of_kind(plan, row))


def _driest_quarter(w: Working, plan: SitePlan, row: int, name: str) -> None:
    """Uniformity between the heads: the driest quarter over the mean."""
    heads, head = plan.site.heads, plan.rates.heads
    mine = np.flatnonzero(heads.zone == row)
    rate, ground = head.rate_mm_h[mine], (head.area_m2 * heads.count)[mine]
    driest = uniformity.driest_quarter(rate, ground, np.zeros(mine.size, np.intp), 1)
    order = [i for i in np.argsort(rate) if driest[i] > 1e-9 * ground.sum()]

    def area(value: float) -> str:
        return digits(w.shown("area", value))

    def depth(value: float) -> str:
        return digits(w.shown("rate", value))

    terms = " + ".join(f"{area(driest[i])} × {depth(rate[i])}" for i in order)
    mean = float((rate * ground).sum() / ground.sum())
    w.add(
        name,
        float(plan.rates.imbalance[row]),
        words.WEIGHTED_QUARTER,
        words.DRIEST_QUARTER,
        f"({terms}) / {area(driest.sum())} / {depth(mean)}",
    )


def usual_of_kind(plan: SitePlan, row: int) -> tuple[str, str]:
    """Source and origin of what the table of kinds of head says."""
    kinds, kind = library.head_kinds(), int(plan.site.zones.head_kind[row])
    origin = words.origin(kinds.sources[kind], kinds.statuses[kind])
    return words.usual(HEAD_KINDS[kind]), origin
