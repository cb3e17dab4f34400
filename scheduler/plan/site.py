"""A site through all rooms: rates, needs, soil, and the watering table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.calendar import weekday_bits
from scheduler.demand.leaching import MOST_LEACHING, leaching_requirement
from scheduler.demand.months import ReferenceMonths, reference_months
from scheduler.demand.plants import coefficients_at_latitude, landscape_coefficient
from scheduler.demand.unlikely import climate_doubts
from scheduler.errors import Caution
from scheduler.inputs import library
from scheduler.inputs.forms.fields import DRIP_KINDS, HEAD_KINDS
from scheduler.inputs.site import Site
from scheduler.plan import by_months as table
from scheduler.plan.days import DayRule
from scheduler.plan.windows import window_of
from scheduler.rates.cans import CanTests, can_tests, cautions_over_given
from scheduler.rates.coverage.grid import modelled_uniformity
from scheduler.rates.precipitation import ZoneRates, zone_rates
from scheduler.rates.supply import SupplyFound, find_supply
from scheduler.rates.unlikely import rate_doubts
from scheduler.soil.intake import slope_class
from scheduler.soil.storage import RootZones, root_zones

_NEVER = DayRule(0, "", 7)
LEAST_UNIFORMITY = 0.05
"""Least uniformity planned with; worse ground is to be mended, not timed."""


@dataclass(frozen=True, slots=True, eq=False)
class SitePlan:
    """A site's watering table with all that it stands on.

    `plant_coefficient` is (zone, month); `slope_class` (zone,) a row of the slope
    classes.
    """

    site: Site
    supply: SupplyFound
    tests: CanTests
    months: ReferenceMonths
    rates: ZoneRates
    roots: RootZones
    plant_coefficient: np.ndarray
    slope_class: np.ndarray
    inputs: table.PlanInput
    plan: table.Plan
    cautions: tuple[Caution, ...]


def plan_site(site: Site) -> SitePlan:
    """Watering table of a site, with everything that it cannot promise."""
    kinds = library.head_kinds()
    months = reference_months(
        site.climate,
        site.latitude,
        site.elevation_m,
        site.wind_height_m,
        site.dry_year_percentile,
    )
    supply = find_supply(site.supply)
    pressure = np.nan if supply.pressure_kpa is None else supply.pressure_kpa
    tests = can_tests(site.cans)
    rates = zone_rates(
        site.zones,
        site.heads,
        kinds,
        pressure,
        tests.rate_mm_h,
        tests.uniformity,
        # Ground that gets nothing has no multiplier: `coverage` tells of it.
        np.maximum(modelled_uniformity(site, supply.pressure_kpa), LEAST_UNIFORMITY),
    )
    roots = root_zones(site.zones, site.plants, site.soils, kinds)
    coefficient = _plant_coefficients(site)
    slopes = slope_class(site.zones.slope_percent, library.slope_limits_percent())
    inputs = _plan_input(site, months, rates, roots, coefficient, slopes)
    plan = table.plan_zones(inputs)
    cautions = (
        *_site_cautions(site, months),
        *supply.cautions,
        *rates.cautions,
        *rate_doubts(site.zones, rates),
        *tests.cautions,
        *cautions_over_given(tests, site.zones),
        *_zone_cautions(site, supply.design_flow_l_min, rates, plan),
        *_month_cautions(site, plan, inputs),
    )
    return SitePlan(
        site,
        supply,
        tests,
        months,
        rates,
        roots,
        coefficient,
        slopes,
        inputs,
        plan,
        cautions,
    )


def _plant_coefficients(site: Site) -> np.ndarray:
    zones, plants = site.zones, site.plants
    here = np.where(
        plants.northern[:, None],
        coefficients_at_latitude(plants.coefficient, site.latitude),
        plants.coefficient,
    )[zones.plant]
    given = zones.plant_factor[:, None]
    return np.where(np.isnan(given), here, given)


def _plan_input(
    site: Site,
    months: ReferenceMonths,
    rates: ZoneRates,
    roots: RootZones,
    coefficient: np.ndarray,
    slopes: np.ndarray,
) -> table.PlanInput:
    zones, soils, controller = site.zones, site.soils, site.controller
    count = len(zones)
    by_month = (count, 12)

    def for_all(value: float | bool) -> np.ndarray:
        return np.full(count, value)

    landscape = landscape_coefficient(
        coefficient,
        zones.microclimate_factor[:, None],
        zones.density_factor[:, None],
    )
    frost = months.frost & (not site.water_in_frost)
    rules, rule_of = _day_rules(site)
    gap = zones.longest_gap_days
    return table.PlanInput(
        et0_mm_day=np.broadcast_to(months.et0_mm_day, by_month),
        rain_mm=np.broadcast_to(months.rain_mm, by_month),
        frost=np.broadcast_to(frost, by_month),
        landscape_coefficient=landscape,
        day_rule=rule_of,
        rain_method=for_all(table.RAIN_METHODS.index(site.rain_rule.method)),
        rain_share=for_all(site.rain_rule.share),
        total_available_water_mm=roots.total_available_water_mm,
        allowed_depletion_mm=roots.allowed_depletion_mm,
        longest_gap_days=np.where(
            np.isnan(gap), site.plants.longest_gap_days[zones.plant], gap
        ),
        drip=is_drip(site),
        rate_mm_h=rates.rate_mm_h,
        peak_rate_mm_h=rates.peak_rate_mm_h,
        flow_l_min=rates.flow_l_min,
        run_time_multiplier=rates.run_time_multiplier,
        leaching_requirement=leaching_requirement(
            site.salinity_ds_m, site.plants.salt_threshold_ds_m[zones.plant]
        ),
        intake_mm_h=soils.intake_mm_h[zones.soil],
        accumulation_mm=soils.accumulation_mm[zones.soil, slopes],
        longest_run_min=for_all(controller.longest_run_min),
        minute_step=for_all(controller.minute_step),
        shortest_soak_min=for_all(controller.shortest_soak_min),
        starts=for_all(controller.starts),
        soak_built_in=for_all(controller.soak_built_in),
        rules=rules,
        rule_intervals=(controller.intervals,) * len(rules),
    )


def is_drip(site: Site) -> np.ndarray:
    """Zones whose heads neither spray nor run off: drip and bubblers."""
    rows = [HEAD_KINDS.index(kind) for kind in DRIP_KINDS]
    return np.isin(site.zones.head_kind, rows)


def _day_rules(site: Site) -> tuple[tuple[DayRule, ...], np.ndarray]:
    """Distinct rules of a site, and the rule of each zone and month."""
    rows: dict[DayRule, int] = {}
    by_kind = np.zeros((len(HEAD_KINDS), 12), dtype=np.intp)
    for kind, name in enumerate(HEAD_KINDS):
        for month in range(12):
            rule = _NEVER
            window = window_of(site.windows, name, month + 1)
            if window is not None:
                rule = DayRule(
                    weekday_bits(window.weekdays),
                    window.parity,
                    window.most_days_a_week,
                )
            by_kind[kind, month] = rows.setdefault(rule, len(rows))
    return tuple(rows), by_kind[site.zones.head_kind]


def _site_cautions(site: Site, months: ReferenceMonths) -> Iterator[Caution]:
    if not site.water_in_frost:
        for month in np.flatnonzero(months.frost).tolist():
            yield Caution(
                "frost-month", None, month + 1, {"tmin_c": float(months.tmin_c[month])}
            )
    shut_off = site.controller.rain_shutoff_mm
    if shut_off is not None and site.rain_rule.method != "none":
        values = {"method": site.rain_rule.method, "rain_shutoff_mm": shut_off}
        yield Caution("rain-counted-twice", None, None, values)
    for text in months.assumptions:
        yield Caution("value-assumed", None, None, {"text": text})
    for assumed in site.assumed:
        yield Caution("value-assumed", None, None, {"assumed": assumed})
    yield from climate_doubts(months, site.latitude)
    if site.unused:
        yield Caution("not-used-yet", None, None, {"names": site.unused})
    if site.unread:
        values = {"workbook": site.names.workbook, "sheets": site.unread}
        yield Caution("sheets-not-read", None, None, values)


def _zone_cautions(
    site: Site, design: float | None, rates: ZoneRates, plan: table.Plan
) -> Iterator[Caution]:
    threshold = site.plants.salt_threshold_ds_m[site.zones.plant]
    waters = np.any(plan.schedule.cycles > 0, axis=1)
    for row, zone in enumerate(site.zones.zone):
        flow = float(rates.flow_l_min[row])
        if design is not None and flow > design * (1 + 1e-9):
            values = {"flow_l_min": flow, "design_flow_l_min": design}
            yield Caution("flow-over-supply", zone, None, values)
        if plan.cycle_too_short[row] and waters[row]:
            values = {
                "runoff_limit_min": float(plan.runoff_limit_min[row]),
                "longest_cycle_min": float(plan.longest_cycle_min[row]),
            }
            yield Caution("cycle-too-short", zone, None, values)
        if site.salinity_ds_m > 0:
            yield from _salt_cautions(zone, site.salinity_ds_m, float(threshold[row]))


def _salt_cautions(zone: str, salinity: float, threshold: float) -> Iterator[Caution]:
    if np.isnan(threshold):
        yield Caution("salt-tolerance-unknown", zone, None, {"salinity_ds_m": salinity})
    elif salinity >= MOST_LEACHING * (5 * threshold - salinity):
        values = {"salinity_ds_m": salinity, "salt_threshold_ds_m": threshold}
        yield Caution("salinity-high", zone, None, values)


def _month_cautions(
    site: Site, plan: table.Plan, inputs: table.PlanInput
) -> Iterator[Caution]:
    for row, zone in enumerate(site.zones.zone):
        for month in range(12):
            flags = int(plan.flags[row, month])
            if flags & table.NOT_PERMITTED:
                values = {"unmet_mm": float(plan.unmet_mm[row, month])}
                yield Caution("not-permitted", zone, month + 1, values)
            if flags & table.DAYS_TOO_FEW:
                values = {"gap_limit_days": int(plan.gap_limit_days[row, month])}
                yield Caution("days-too-few", zone, month + 1, values)
            if flags & table.NEED_UNMET:
                values = {"unmet_mm": float(plan.unmet_mm[row, month])}
                yield Caution("need-unmet", zone, month + 1, values)
            if flags & table.UNDER_STEP:
                step = float(inputs.minute_step[row])
                yield Caution("under-a-step", zone, month + 1, {"minute_step": step})
            if flags & table.STARTS_TOO_FEW:
                values = {"cycles": int(plan.schedule.cycles[row, month]),
                          "starts": int(inputs.starts[row])}  # fmt: skip
                yield Caution("starts-too-few", zone, month + 1, values)
