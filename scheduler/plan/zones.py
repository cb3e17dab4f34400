"""Zones of a site as the planning sees them: ground, valves, permitted days."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

from scheduler.balance.ground import Ground, Valve
from scheduler.calendar import ALL_DATES, MONTHS, Periods
from scheduler.demand.et0 import sun
from scheduler.demand.leaching import leaching_added, leaching_requirement
from scheduler.demand.plants import coefficients_at_latitude, landscape_coefficient
from scheduler.inputs import library
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.parts import zones_by_part
from scheduler.inputs.site import Parts, Site, Zones
from scheduler.plan.inputs import PlanInput, what_if
from scheduler.plan.times.days import DayRule
from scheduler.plan.times.windows import (
    closes_min_of,
    local_timezone,
    permits_dates_in_a_row,
    pieces_of_date,
    window_of,
)
from scheduler.rates.precipitation import ZoneRates
from scheduler.rates.uniformity import run_time_multiplier
from scheduler.soil.intake import slope_class
from scheduler.soil.storage import RootZones, root_zones
from scheduler.soil.wetting import (
    BASIN_WIDTH_M,
    CIRCLE,
    FILLS_OF_A_RUN,
    basin_depth,
    line_fill,
)
from scheduler.units import MIN_PER_H

HOURS_IN_DAY = 24
_NEVER = DayRule(0, ALL_DATES, 7)
_A_YEAR, _DEG_AN_HOUR = 2026, 15.0
_HOUR, _NO_TIME = datetime.timedelta(hours=1), datetime.timedelta()


@dataclass(frozen=True, slots=True, eq=False)
class ZoneGround:
    """Ground of a site, a row a part of a zone, with what it was made of.

    `rows` are the zones by part: plant, soil, slope and all that a part has as its own;
    `name` (part,) is "" where a zone is one. `plant_coefficient` is (part, period);
    `slope_class` (part,) a row of the slope classes.
    """

    rows: Zones
    name: tuple[str, ...]
    roots: RootZones
    plant_coefficient: np.ndarray
    slope_class: np.ndarray
    ground: Ground


def ground_of(site: Site, periods: Periods) -> ZoneGround:
    """Ground of a site's zones: their plants, their soil and its slope."""
    plants, soils = site.plants, site.soils
    zones = zones_by_part(site.zones, site.parts)
    roots = root_zones(zones, plants, soils, library.head_kinds())
    coefficient = _plant_coefficients(site, zones)[:, periods.month]
    slopes = slope_class(zones.slope_percent, library.slope_limits_percent())
    longest, shortest = zones.longest_gap_days, zones.shortest_gap_days
    # Basins are what bubblers wet: over all of the ground they take and hold so much.
    bubblers = zones.head_kind == HEAD_KINDS.index("bubbler")
    ponds = np.where(bubblers, roots.wetted_share, 1.0)
    ground = Ground(
        valve=site.parts.zone,
        share=site.parts.share,
        landscape_coefficient=landscape_coefficient(
            coefficient,
            zones.microclimate_factor[:, None],
            zones.density_factor[:, None],
        ),
        total_available_water_mm=roots.total_available_water_mm[:, None],
        allowed_depletion_mm=roots.allowed_depletion_mm[:, None],
        wetted_share=roots.wetted_share,
        longest_gap_days=np.where(
            np.isnan(longest), plants.longest_gap_days[zones.plant], longest
        ),
        shortest_gap_days=np.where(
            np.isnan(shortest), plants.shortest_gap_days[zones.plant], shortest
        ),
        leaching_requirement=leaching_added(
            leaching_requirement(
                site.salinity_ds_m, plants.salt_threshold_ds_m[zones.plant]
            ),
            ~is_drip(site)[site.parts.zone],
        ),
        intake_mm_h=soils.intake_mm_h[zones.soil] * ponds,
        accumulation_mm=np.where(
            bubblers,
            _basins_mm(zones, roots.wetted_share) * ponds,
            soils.accumulation_mm[zones.soil, slopes],
        ),
        rate_share=rate_shares(site.parts),
    )
    return ZoneGround(zones, site.parts.part, roots, coefficient, slopes, ground)


def _basins_mm(zones: Zones, wetted_share: np.ndarray) -> np.ndarray:
    """Depth of water that the basin of each plant holds, (row,)."""
    each = zones.area_m2 / zones.plants * wetted_share
    width = np.sqrt(each / CIRCLE)
    width = np.where(np.isfinite(width), width, BASIN_WIDTH_M)
    return basin_depth(width, zones.slope_percent)


def rate_shares(parts: Parts) -> np.ndarray:
    """Rate on each part over its zone's mean, (part,); 1 where parts.csv tells none."""
    rate = np.where(np.isnan(parts.rate_mm_h), 1.0, parts.rate_mm_h)
    count = int(parts.zone.max(initial=-1)) + 1
    mean = np.bincount(parts.zone, weights=parts.share * rate, minlength=count)
    own = np.bincount(parts.zone, weights=np.isfinite(parts.rate_mm_h))[parts.zone] > 0
    return np.where(own, rate / mean[parts.zone], 1.0)


def _plant_coefficients(site: Site, zones: Zones) -> np.ndarray:
    """Coefficient of each row's plant, (row, month)."""
    plants = site.plants
    here = np.where(
        plants.northern[:, None],
        coefficients_at_latitude(plants.coefficient, site.latitude),
        plants.coefficient,
    )[zones.plant]
    given = zones.plant_factor[:, None]
    return np.where(np.isnan(given), here, given)


def valves_of(
    site: Site, rates: ZoneRates, day_rule: np.ndarray, periods: Periods
) -> Valve:
    """Valves of a site, one a zone, on its controller."""
    controller, count = site.controller, len(site.zones)

    def for_all(value: float | bool) -> np.ndarray:
        return np.full(count, value)

    return Valve(
        rate_mm_h=rates.rate_mm_h,
        peak_rate_mm_h=rates.peak_rate_mm_h,
        flow_l_min=rates.flow_l_min,
        uniformity=rates.uniformity,
        run_time_multiplier=rates.run_time_multiplier,
        drip=is_drip(site),
        runs_off=site.zones.head_kind != HEAD_KINDS.index("drip"),
        day_rule=day_rule,
        longest_run_min=for_all(controller.longest_run_min),
        minute_step=for_all(controller.minute_step),
        shortest_soak_min=for_all(controller.shortest_soak_min),
        starts=for_all(controller.starts),
        soak_built_in=for_all(controller.soak_built_in),
        climate=np.zeros(count, dtype=np.intp),
        least_cycle_min=_least_cycles(site.zones),
        night_min=_night_min(site, periods),
        longest_day_min=for_all(
            np.inf if controller.longest_day_min is None else controller.longest_day_min
        ),
        most_dry=np.where(
            np.isnan(site.zones.dry_share), site.dry_share, site.zones.dry_share
        ),
        rain_shutoff_mm=for_all(
            np.inf if controller.rain_shutoff_mm is None else controller.rain_shutoff_mm
        ),
    )


def _least_cycles(zones: Zones) -> np.ndarray:
    """Shortest useful cycle of each zone; drip takes its lines' filling thrice."""
    usual = library.head_kinds().least_cycle_min[zones.head_kind]
    fill = line_fill(zones.emitter_spacing_m, zones.emitter_flow_l_min)
    return np.fmax(usual, FILLS_OF_A_RUN * fill)


def _night_min(site: Site, periods: Periods) -> np.ndarray:
    """Minutes that a night of each zone's window holds, (zone, period).

    A window across midnight is one night where it permits two dates in a row, else the
    longer of its two pieces.
    """
    sunrise = _sunrise_min(site)
    found = np.zeros((len(HEAD_KINDS), len(MONTHS)))
    for kind in {*site.zones.head_kind.tolist()}:
        for month in range(len(MONTHS)):
            window = window_of(site.windows, HEAD_KINDS[kind], month + 1)
            if window is not None:
                closes = closes_min_of(window, int(sunrise[month]))
                after = closes if permits_dates_in_a_row(window) else None
                pieces = pieces_of_date(window, closes, False, after)
                found[kind, month] = max(piece.minutes for piece in pieces)
    return found[site.zones.head_kind][:, periods.month]


def _sunrise_min(site: Site) -> np.ndarray:
    """Minutes after midnight of sunrise by month, of the mean day length, (12,).

    By the clock of the site in the middle of the month; noon is up to a quarter of an
    hour off, for the sun does not keep even time.
    """
    daylight_h = sun.monthly_daylight_hours(site.latitude)
    zone = ZoneInfo(local_timezone(site.timezone, site.longitude))
    middles = [datetime.datetime(_A_YEAR, month, 15, 12, tzinfo=zone)
               for month in range(1, 13)]  # fmt: skip
    ahead_h = [(middle.utcoffset() or _NO_TIME) / _HOUR for middle in middles]
    rise_h = (HOURS_IN_DAY - daylight_h) / 2 + ahead_h - site.longitude / _DEG_AN_HOUR
    return np.round(np.maximum(rise_h, 0.0) * MIN_PER_H)


def with_uniformity(inputs: PlanInput, uniformity: np.ndarray) -> PlanInput:
    """The same zones with another uniformity, (valve,), and the multiplier to it."""
    multiplier = run_time_multiplier(uniformity)
    return what_if(inputs, uniformity=[uniformity], run_time_multiplier=[multiplier])


def is_drip(site: Site) -> np.ndarray:
    """Zones whose heads neither spray nor run off: drip and bubblers."""
    return np.asarray(library.head_kinds().drips[site.zones.head_kind])


def day_rules(site: Site, periods: Periods) -> tuple[tuple[DayRule, ...], np.ndarray]:
    """Distinct rules of a site, and the rule of each zone and period."""
    rows: dict[DayRule, int] = {}
    kinds, months = {*site.zones.head_kind.tolist()}, {*periods.month.tolist()}
    by_kind = np.zeros((len(HEAD_KINDS), len(MONTHS)), dtype=np.intp)
    for kind in sorted(kinds):
        for month in sorted(months):
            rule = _day_rule(site, HEAD_KINDS[kind], month + 1)
            by_kind[kind, month] = rows.setdefault(rule, len(rows))
    return tuple(rows), by_kind[site.zones.head_kind][:, periods.month]


def _day_rule(site: Site, head_kind: str, month: int) -> DayRule:
    window = window_of(site.windows, head_kind, month)
    if window is None:
        return _NEVER
    return DayRule.of_window(window)
