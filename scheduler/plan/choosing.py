"""Nozzles of a whole site: what the chart offers, what the ground takes, what it gains.

The ground's cycles are those of the table itself, planned at the rate of each nozzle.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.cautions import Caution
from scheduler.inputs import library
from scheduler.inputs.chart import Chart
from scheduler.inputs.site import Heads, Site, Zones
from scheduler.plan.inputs import of_valves
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import SitePlan, plan_site
from scheduler.plan.times.cycles import least_cycles
from scheduler.rates.cans import without_tests
from scheduler.rates.choice.offers import ZoneOffer, offer_nozzles
from scheduler.rates.choice.zone import ZoneChoice, choose
from scheduler.rates.curve import pressure_left
from scheduler.rates.uniformity import run_time_multiplier


@dataclass(frozen=True, slots=True, eq=False)
class NozzlePlan:
    """A choice for every zone whose heads throw, and the table that it leads to.

    `only` is the row of the one zone that was asked for, None for all. In `after` the
    zones that fit have their new nozzles, all others what they have.
    """

    chart: Chart
    before: SitePlan
    after: SitePlan
    choices: tuple[ZoneChoice, ...]
    cautions: tuple[Caution, ...]
    only: int | None = None

    @property
    def fits(self) -> bool:
        """Whether every zone has a set that fits."""
        return all(choice.fits for choice in self.choices)


def choose_nozzles(
    plan: SitePlan,
    chart: Chart,
    allow_more_cycles: bool = False,
    only: int | None = None,
) -> NozzlePlan:
    """Nozzles of a chart for every zone whose heads throw, or for one row of zones."""
    site = plan.site
    offers = offer_nozzles(
        site.zones,
        site.heads,
        plan.rates.heads,
        library.head_kinds(),
        chart,
        _pressure_of_offers(plan),
        site.supply.wind_m_s,
    )
    design = plan.supply.design_flow_l_min
    taken = design is None
    if design is None:
        flows = plan.rates.flow_l_min[[offer.zone for offer in offers]]
        design = float(np.max(flows, initial=0.0))
    asked = tuple(o for o in offers if only is None or o.zone == only)
    cycles = _forced_cycles(plan, asked)
    choices = tuple(
        choose(offer, design, forced, allow_more_cycles)
        for offer, forced in zip(asked, cycles, strict=True)
    )
    after = plan_site(with_nozzles(site, chart, choices))
    cautions = (
        *_cautions(site, chart, choices, design if taken else None),
        *_new_doubts(after, choices),
    )
    return NozzlePlan(chart, plan, after, choices, cautions, only)


def _pressure_of_offers(plan: SitePlan) -> np.ndarray:
    """Pressure at which nozzles are offered, (zone,), NaN where not known.

    That of heads which are to go says little of others: what the supply leaves at the
    design flow holds for them, and a gauge or a given pressure as it stands.
    """
    points, left = plan.points, np.nan
    if plan.site.supply.pressure_kpa is not None:
        left = plan.site.supply.pressure_kpa
    elif points.curve is not None and plan.supply.design_flow_l_min is not None:
        left = float(pressure_left(points.curve, plan.supply.design_flow_l_min))
    loose = np.isin(points.source, ("curve", "bucket"))
    return np.where(loose, left if left > 0 else np.nan, points.pressure_kpa)


def with_nozzles(site: Site, chart: Chart, choices: Sequence[ZoneChoice]) -> Site:
    """Site with the chosen nozzles on its heads, in the zones that fit.

    Flows and rates that were measured with the nozzles before are dropped there.
    """
    heads, zones = site.heads, site.zones
    nozzle, low = list(heads.nozzle), heads.low_angle.copy()
    flow, radius = heads.flow_l_min.copy(), heads.radius_m.copy()
    pressure = heads.pressure_kpa.copy()
    zone_flow, zone_rate = zones.flow_l_min.copy(), zones.rate_mm_h.copy()
    untested = []
    for choice in choices:
        if not choice.fits:
            continue
        offer, picks = choice.offer, choice.chosen.nozzle
        for row, pick in zip(offer.rows.tolist(), picks.tolist(), strict=True):
            nozzle[row] = chart.nozzle[pick]
        throw = offer.radius_m[picks]
        flow[offer.rows] = choice.chosen.flow_l_min
        radius[offer.rows] = np.where(np.isnan(throw), radius[offer.rows], throw)
        pressure[offer.rows] = offer.pressure_kpa
        low[offer.rows] = offer.low_angle[picks]
        if not offer.areas_by_arc or np.isfinite(zones.area_m2[offer.zone]):
            zone_flow[offer.zone] = zone_rate[offer.zone] = np.nan
            untested.append(offer.zone)
    new_heads: Heads = dataclasses.replace(
        heads, nozzle=tuple(nozzle), flow_l_min=flow, radius_m=radius,
        pressure_kpa=pressure, low_angle=low,
    )  # fmt: skip
    new_zones: Zones = dataclasses.replace(
        zones, flow_l_min=zone_flow, rate_mm_h=zone_rate
    )
    return dataclasses.replace(
        site,
        heads=new_heads,
        zones=new_zones,
        cans=without_tests(site.cans, untested),
    )


def _forced_cycles(plan: SitePlan, offers: Sequence[ZoneOffer]) -> list[np.ndarray]:
    """Cycles that the ground forces at the rate of each nozzle, (row, nozzle)."""
    zone, rate, peak = [np.zeros(0, dtype=np.intp)], [np.zeros(0)], [np.zeros(0)]
    for offer in offers:
        per_head = offer.rate_mm_h.ravel()
        ground = (offer.count * offer.area_m2).sum()
        mean = per_head * ground / plan.rates.area_m2[offer.zone]
        zone.append(np.full(per_head.size, offer.zone, dtype=np.intp))
        rate.append(mean)
        peak.append(mean if offer.areas_by_arc else np.maximum(mean, per_head))
    cycles = _cycles(
        plan, np.concatenate(zone), np.concatenate(rate), np.concatenate(peak)
    )
    ends = np.cumsum([values.size for values in rate])[1:-1]
    parts = np.split(cycles, ends) if offers else []
    return [
        part.reshape(len(offer.rows), -1)
        for part, offer in zip(parts, offers, strict=True)
    ]


def _cycles(
    plan: SitePlan, zone: np.ndarray, rate_mm_h: np.ndarray, peak_mm_h: np.ndarray
) -> np.ndarray:
    """Least cycles of a day in the worst month that the ground forces."""
    if not zone.size:
        return np.zeros(0)
    multiplier = run_time_multiplier(plan.rates.usual_uniformity)
    rows = of_valves(plan.inputs, zone)
    valve = dataclasses.replace(
        rows.valve,
        rate_mm_h=rate_mm_h,
        peak_rate_mm_h=peak_mm_h,
        run_time_multiplier=multiplier[zone],
    )
    planned = plan_valves(dataclasses.replace(rows, valve=valve))
    least = least_cycles(planned.event_minutes, planned.longest_cycle_min[:, None])
    forced = np.where(planned.schedule.soak_min > 0, least, 1)
    return np.asarray(forced.max(axis=1), dtype=float)


def _cautions(
    site: Site,
    chart: Chart,
    choices: Sequence[ZoneChoice],
    design_taken_l_min: float | None,
) -> Iterator[Caution]:
    if design_taken_l_min is not None and choices:
        values = {"design_flow_l_min": design_taken_l_min}
        yield Caution("supply-taken", None, None, values)
    for choice in choices:
        yield from _zone_cautions(site, chart, choice)


def _new_doubts(after: SitePlan, choices: Sequence[ZoneChoice]) -> Iterator[Caution]:
    """Doubts about the rates that the new nozzles would lay down."""
    names = after.site.zones.zone
    fitted = {names[choice.offer.zone] for choice in choices if choice.fits}
    for caution in after.cautions:
        if caution.code == "rate-doubtful" and caution.zone in fitted:
            yield caution


def _shortest(
    offer: ZoneOffer, picks: np.ndarray, names: list[str], short: np.ndarray
) -> dict[str, object]:
    """Heads whose throw is short of the next, and the shortest of them."""
    rows = np.flatnonzero(short)
    throw = offer.radius_m[picks[rows]]
    worst = int(np.argmin(throw / offer.spacing_m[rows]))
    spacing = float(offer.spacing_m[rows[worst]])
    return {"heads": names, "radius_m": float(throw[worst]), "spacing_m": spacing}


def _zone_cautions(site: Site, chart: Chart, choice: ZoneChoice) -> Iterator[Caution]:
    offer, zone = choice.offer, site.zones.zone[choice.offer.zone]
    picks = choice.chosen.nozzle
    given = np.flatnonzero(picks >= 0)
    names = {int(pick): chart.nozzle[pick] for pick in picks[given]}

    def of(mask: np.ndarray) -> list[str]:
        return list(dict.fromkeys(names[k] for k in names if mask[k]))

    def heads(mask: np.ndarray) -> list[str]:
        return [site.heads.head[offer.rows[row]] for row in given if mask[row]]

    if offer.pressure_source == "kind":
        values: dict[str, object] = {"pressure_kpa": offer.pressure_kpa}
        yield Caution("pressure-taken", zone, None, values)
    if of(~offer.in_chart):
        values = {"nozzles": of(~offer.in_chart), "pressure_kpa": offer.pressure_kpa}
        yield Caution("beyond-chart", zone, None, values)
    if of(~offer.calm):
        values = {"wind_m_s": site.supply.wind_m_s}
        yield Caution("wind-standard-angle", zone, None, values)
    far = np.zeros(len(picks), dtype=bool)
    far[given] = (~offer.near[given, picks[given]]) & ~offer.out_of_reach[given]
    if far.any():
        yield Caution("throw-too-far", zone, None, {"heads": heads(far)})
    short = np.zeros(len(picks), dtype=bool)
    reaching = offer.reaches & ~offer.to_next
    short[given] = reaching[given, picks[given]]
    if short.any():
        yield Caution("throw-short", zone, None, _shortest(offer, picks, heads(short),
                                                           short))  # fmt: skip
    if of(np.isnan(offer.radius_m)):
        values = {"nozzles": of(np.isnan(offer.radius_m))}
        yield Caution("throw-unknown", zone, None, values)
    if np.isnan(offer.spacing_m).any():
        values = {"heads": heads(np.isnan(offer.spacing_m))}
        yield Caution("spacing-unknown", zone, None, values)
    measured = [
        name
        for name, column in (
            ("flow", site.zones.flow_l_min),
            ("rate", site.zones.rate_mm_h),
            ("uniformity", site.zones.uniformity),
        )
        if np.isfinite(column[offer.zone])
    ]
    if measured and choice.fits:
        yield Caution("measured-before", zone, None, {"names": measured})
    if choice.fits and np.any(site.cans.zone == offer.zone):
        yield Caution("tested-before", zone)
