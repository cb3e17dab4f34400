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
from scheduler.rates.choice.offers import Offers, ZoneOffer
from scheduler.rates.choice.standing import Standing, on_curve, one_pressure
from scheduler.rates.choice.zone import Cycles, ZoneChoice, choose
from scheduler.rates.point import curve_through_gauge
from scheduler.rates.uniformity import run_time_multiplier

_SLACK = 1e-6
_OF_NEW_NOZZLES = ("rate-doubtful", "over-design-flow")
_RATES = 40
"""Rates between those of the chart at which the ground's cycles are looked up."""


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
    fewest_changes: bool = False,
) -> NozzlePlan:
    """Nozzles of a chart for every zone whose heads throw, or for one row of zones.

    `fewest_changes` takes the set that changes the fewest heads, of those that fit.
    """
    site, kinds = plan.site, library.head_kinds()
    offers = Offers(site.zones, site.heads, plan.rates.heads, kinds, chart,
                    site.supply.wind_m_s)  # fmt: skip
    rows = offers.throwing()
    design = plan.supply.design_flow_l_min
    taken = design is None
    if design is None:
        design = float(np.max(plan.rates.flow_l_min[rows], initial=0.0))
    asked = [row for row in rows if only is None or row == only]
    stands = [_standing(plan, offers, row, design) for row in asked]
    forced = _forced_cycles(plan, stands)
    choices = [
        _within_supply(
            plan, standing, choose(standing, cycles, allow_more_cycles), cycles
        )
        for standing, cycles in zip(stands, forced, strict=True)
    ]
    if fewest_changes:
        choices = [choice.by_fewest_changes() for choice in choices]
    after = plan_site(with_nozzles(site, chart, choices))
    cautions = (
        *_cautions(site, chart, choices, design if taken else None),
        *_new_doubts(after, choices),
    )
    return NozzlePlan(chart, plan, after, tuple(choices), cautions, only)


def _standing(plan: SitePlan, offers: Offers, zone: int, most_l_min: float) -> Standing:
    """Pressures at which a zone may come to stand with other nozzles.

    On the supply's curve, or on the one through the static pressure and a gauge on the
    zone. A given pressure stands as it is; so does a gauge alone, and the usual one of
    the kind of head where nothing is known.
    """
    points, zones = plan.points, plan.site.zones
    loose = points.source[zone] in ("curve", "bucket")
    pressure = np.nan if loose else float(points.pressure_kpa[zone])
    curve = points.curve if loose else None
    if points.source[zone] == "gauge":
        flow = float(plan.rates.flow_l_min[zone])
        curve = curve_through_gauge(plan.site.supply, pressure, flow)
    if curve is not None and not zones.regulated[zone]:
        least = offers.kinds.least_pressure_kpa[zones.head_kind[zone]]
        standing = on_curve(
            lambda pressure_kpa: offers.at(zone, pressure_kpa), offers.chart,
            curve, most_l_min, float(least),
        )  # fmt: skip
        if standing is not None:
            return standing
    return one_pressure(offers.at(zone, pressure), most_l_min)


def _within_supply(
    plan: SitePlan, standing: Standing, choice: ZoneChoice, cycles: Cycles
) -> ZoneChoice:
    """The choice, or the smallest set that matches where a rule of design alone binds.

    Meter and velocity rules say what is wise: a supply whose curve carries more may be
    asked for it, and the zone is then told to pass the design flow. A design flow that
    is given, and a bucket test, stand.
    """
    wise = plan.supply.design_rule not in ("", "given", "bucket")
    most = min(choice.least_flow_l_min * (1 + _SLACK), plan.points.most_flow_l_min)
    if choice.fits or not wise or standing.curve is None or not most < np.inf:
        return choice
    kind = plan.site.zones.head_kind[choice.offer.zone]
    least = float(library.head_kinds().least_pressure_kpa[kind])
    wider = standing.with_most(most, least)
    if wider is None:
        return choice
    over = choose(wider, cycles)
    if not (over.fits or "throw" in over.would_do):
        return choice
    return dataclasses.replace(over, design_flow_l_min=choice.design_flow_l_min)


def with_nozzles(site: Site, chart: Chart, choices: Sequence[ZoneChoice]) -> Site:
    """Site with the chosen nozzles on its heads, in the zones that fit.

    Flows and rates that were measured with the nozzles before are dropped there; a
    gauge comes to read what the new ones should have.
    """
    heads, zones = site.heads, site.zones
    nozzle, low = list(heads.nozzle), heads.low_angle.copy()
    flow, radius = heads.flow_l_min.copy(), heads.radius_m.copy()
    pressure = heads.pressure_kpa.copy()
    zone_flow, zone_rate = zones.flow_l_min.copy(), zones.rate_mm_h.copy()
    zone_pressure = zones.pressure_kpa.copy()
    untested = []
    for choice in choices:
        if not choice.fits:
            continue
        offer, picks = choice.chosen.offer, choice.chosen.nozzle
        for row, pick in zip(offer.rows.tolist(), picks.tolist(), strict=True):
            nozzle[row] = chart.nozzle[pick]
        throw = offer.radius_m[picks]
        flow[offer.rows] = choice.chosen.flow_l_min
        radius[offer.rows] = np.where(np.isnan(throw), radius[offer.rows], throw)
        pressure[offer.rows] = offer.pressure_kpa
        low[offer.rows] = offer.low_angle[picks]
        if np.isfinite(zone_pressure[offer.zone]):
            zone_pressure[offer.zone] = offer.pressure_kpa
        if not offer.areas_by_arc or np.isfinite(zones.area_m2[offer.zone]):
            zone_flow[offer.zone] = zone_rate[offer.zone] = np.nan
            untested.append(offer.zone)
    new_heads: Heads = dataclasses.replace(
        heads, nozzle=tuple(nozzle), flow_l_min=flow, radius_m=radius,
        pressure_kpa=pressure, low_angle=low,
    )  # fmt: skip
    new_zones: Zones = dataclasses.replace(
        zones, flow_l_min=zone_flow, rate_mm_h=zone_rate, pressure_kpa=zone_pressure
    )
    return dataclasses.replace(
        site,
        heads=new_heads,
        zones=new_zones,
        cans=without_tests(site.cans, untested),
    )


def _forced_cycles(plan: SitePlan, stands: Sequence[Standing]) -> list[Cycles]:
    """Cycles that the ground of zones forces at the rate of each nozzle.

    Planned at the rates of every nozzle at the lowest pressure, and as far above as
    the highest reaches; a rate between two takes the cycles of the higher.
    """
    zone: list[np.ndarray] = []
    rate: list[np.ndarray] = []
    peak: list[np.ndarray] = []
    tried = [_rates_tried(standing) for standing in stands]
    for standing, per_head in zip(stands, tried, strict=True):
        offer = standing.offer_at(standing.lowest_kpa)
        ground = (offer.count * offer.area_m2).sum()
        mean = per_head * ground / plan.rates.area_m2[offer.zone]
        zone.append(np.full(per_head.size, offer.zone, dtype=np.intp))
        rate.append(mean)
        peak.append(mean if offer.areas_by_arc else np.maximum(mean, per_head))
    if not stands:
        return []
    cycles = _cycles(
        plan, np.concatenate(zone), np.concatenate(rate), np.concatenate(peak)
    )
    ends = np.cumsum([values.size for values in rate])[:-1]
    return [
        _steps(rates, part)
        for rates, part in zip(tried, np.split(cycles, ends), strict=True)
    ]


def _rates_tried(standing: Standing) -> np.ndarray:
    """Rates of heads, rising, at which the ground's cycles are looked up."""
    ends = standing.lowest_kpa, standing.highest_kpa
    low, high = (standing.offer_at(pressure).rate_mm_h for pressure in ends)
    if standing.curve is None:
        return np.unique(low)
    growth = np.nanmax(high / low)
    between = np.geomspace(low.min(), low.max() * growth, _RATES)
    return np.unique(np.concatenate([low.ravel(), between]))


def _steps(rates_mm_h: np.ndarray, cycles: np.ndarray) -> Cycles:
    """Cycles by the rate, as a function of what a zone is offered."""

    def of(offer: ZoneOffer) -> np.ndarray:
        place = np.searchsorted(rates_mm_h, offer.rate_mm_h * (1 - 1e-9))
        return np.asarray(cycles[np.minimum(place, len(cycles) - 1)])

    return of


def _cycles(
    plan: SitePlan, zone: np.ndarray, rate_mm_h: np.ndarray, peak_mm_h: np.ndarray
) -> np.ndarray:
    """Least cycles of a day in the worst month that the ground forces."""
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
    """What the table would doubt of the new nozzles: their rates, and their flow."""
    names = after.site.zones.zone
    fitted = {names[choice.offer.zone] for choice in choices if choice.fits}
    for caution in after.cautions:
        if caution.code in _OF_NEW_NOZZLES and caution.zone in fitted:
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
    offer, zone = choice.chosen.offer, site.zones.zone[choice.offer.zone]
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
            ("pressure", site.zones.pressure_kpa),
        )
        if np.isfinite(column[offer.zone])
    ]
    if measured and choice.fits:
        yield Caution("measured-before", zone, None, {"names": measured})
    if choice.fits and np.any(site.cans.zone == offer.zone):
        yield Caution("tested-before", zone)
