"""A site through all rooms: rates, needs, soil, and the watering table."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np

from scheduler.balance.day import dry_limit
from scheduler.balance.ground import Ground
from scheduler.balance.years import Years, invented_years, whole_years
from scheduler.calendar import TWELVE_MONTHS
from scheduler.cautions import Caution
from scheduler.demand.frost import FEWEST_NIGHTS, FrostSeason, kept_to, mostly_empty
from scheduler.demand.months import ReferenceMonths, reference_months
from scheduler.demand.series import MEAN_PERCENTILE
from scheduler.demand.unlikely import climate_doubts, place_doubts
from scheduler.inputs import library
from scheduler.inputs.site import Site
from scheduler.plan import table
from scheduler.plan.by_days import Settings, plan_days, season_of, table_of
from scheduler.plan.by_months import plan_by_months
from scheduler.plan.inputs import RAIN_METHODS, PlanInput
from scheduler.plan.planning import Salt, washed
from scheduler.plan.plantings.steps import (
    Given,
    Planting,
    planting_cautions,
    plantings,
)
from scheduler.plan.season import Season
from scheduler.plan.zones import ZoneGround, day_rules, ground_of, valves_of
from scheduler.rates.cans import CanTests, can_tests, cautions_over_given
from scheduler.rates.coverage.grid import Coverage, cover_site, planned_uniformity
from scheduler.rates.mends import flow_cautions, pressure_cautions
from scheduler.rates.point import Points, find_points
from scheduler.rates.precipitation import ZoneRates, zone_rates
from scheduler.rates.readings import meter_cautions
from scheduler.rates.supply import SupplyFound, find_supply
from scheduler.rates.unlikely import rate_doubts, uniformity_cautions


@dataclass(frozen=True, slots=True, eq=False)
class SitePlan:
    """A site's watering table with all that it stands on.

    `inputs`, `stands_on` and `by_part`, the table of each part, are along ground;
    `plan`, `settings` and `ground` are along zones. `decides` (zone, month) is the row
    of ground that a zone runs for; need and store of `ground`, a row a zone, and
    `plant_coefficient` (zone, month) are that part's. `recorded` are the years of
    days of its climate, None where it has too few;
    `settings`, what was chosen by years of days, are None where the table is by months.
    `plantings` are zones that have not grown in: until then their steps hold.
    """

    site: Site
    supply: SupplyFound
    points: Points
    tests: CanTests
    coverage: Coverage
    months: ReferenceMonths
    rates: ZoneRates
    stands_on: ZoneGround
    inputs: PlanInput
    recorded: Years | None
    by_part: table.Plan
    plan: table.Plan
    decides: np.ndarray
    ground: Ground
    plant_coefficient: np.ndarray
    settings: Settings | None
    cautions: tuple[Caution, ...]
    plantings: tuple[Planting, ...] = ()

    @property
    def years(self) -> Years:
        """Years of days: those recorded, else invented ones."""
        return invented(self.months) if self.recorded is None else self.recorded

    @property
    def frost_season(self) -> FrostSeason | None:
        """When hard freezes come, and lines are empty by the site's own dates."""
        return _frost_season(self.site, self.months)

    @property
    def lines_empty(self) -> FrostSeason | None:
        """When lines are empty for frost; None where they are not said to freeze."""
        return self.frost_season if self.site.lines_can_freeze else None

    @property
    def leads(self) -> np.ndarray:
        """Row of ground that each zone runs for in its busiest month, (zone,)."""
        busiest = np.argmax(self.plan.schedule.minutes_per_week, axis=1)
        return np.asarray(self.decides[np.arange(len(busiest)), busiest])

    @property
    def soak_a_minute(self) -> np.ndarray:
        """Time that what a minute leaves standing takes to go in, (zone,): the worst.

        Minutes of a minute; see plan.table.own_soak.
        """
        return _soak_a_minute(self.inputs)

    def parts(self, zone: int) -> np.ndarray:
        """Rows of ground of a zone."""
        return np.flatnonzero(self.inputs.ground.valve == zone)

    @property
    def season(self) -> Season | None:
        """What the months of all zones offer; None where the table is by months."""
        return season_of(self.inputs) if self.inputs.years else None


def plan_site(site: Site, today: datetime.date | None = None) -> SitePlan:
    """Watering table of a site, with everything that it cannot promise.

    What was planted lately has its steps from `today` on, without a date all of them.
    """
    kinds = library.head_kinds()
    months = reference_months(
        site.climate,
        site.latitude,
        site.elevation_m,
        site.wind_height_m,
        site.dry_year_percentile if site.plan_by == "months" else MEAN_PERCENTILE,
    )
    supply = find_supply(site.supply)
    tests = can_tests(site.cans)
    points = find_points(site.zones, site.heads, kinds, site.supply, tests.rate_mm_h)
    coverage = cover_site(site, points=points)
    rates = zone_rates(
        site.zones,
        site.heads,
        kinds,
        points.pressure_kpa,
        tests.rate_mm_h,
        tests.uniformity,
        planned_uniformity(site, coverage, points),
        tests.wettest_mm_h,
        points.most_flow_l_min,
    )
    stands_on = ground_of(site, TWELVE_MONTHS)
    recorded = recorded_years(months)
    inputs = _plan_input(site, months, recorded, rates, stands_on.ground)
    salt = None
    if site.salinity_ds_m > 0:
        threshold = site.plants.salt_threshold_ds_m[stands_on.rows.plant]
        inputs, salt = washed(inputs, site.salinity_ds_m, threshold)
    by_part, settings = _planned(inputs)
    plan = table.along_valves(by_part, inputs.ground, inputs.valve, inputs.periods.days)
    decides = table.deciding_rows(by_part.decides, inputs.ground, inputs.valve)
    ground = table.ground_along_valves(inputs.ground, inputs.valve, decides)
    young = plantings(
        Given(site, stands_on, inputs, plan, _soak_a_minute(inputs),
              bool(months.frost.any())),
        today,
    )  # fmt: skip
    cautions = (
        *_site_cautions(site, months),
        *_frost_cautions(site, months, plan),
        *supply.cautions,
        *points.cautions,
        *pressure_cautions(site.zones, site.supply, points),
        *rates.cautions,
        *meter_cautions(site.zones, site.metered, flow_without_meter(site, tests)),
        *rate_doubts(site.zones, rates),
        *tests.cautions,
        *cautions_over_given(tests, site.zones),
        *flow_cautions(
            site.zones, supply, rates.flow_l_min, site.controller.zones_at_once == 1
        ),
        *_zone_cautions(site, plan),
        *_salt_cautions(site, salt, stands_on),
        *uniformity_cautions(site.zones, rates),
        *_month_cautions(site, plan, inputs, settings),
        *_store_cautions(site, plan, inputs, ground),
        *planting_cautions(site, young),
    )
    return SitePlan(
        site,
        supply,
        points,
        tests,
        coverage,
        months,
        rates,
        stands_on,
        inputs,
        recorded,
        by_part,
        plan,
        decides,
        ground,
        stands_on.plant_coefficient[decides, np.arange(len(TWELVE_MONTHS))],
        settings,
        cautions,
        young,
    )


def _soak_a_minute(inputs: PlanInput) -> np.ndarray:
    """Time that what a minute leaves standing takes to go in, (zone,): the worst."""
    found = np.zeros(len(inputs.valve))
    own = table.own_soak(inputs.ground, inputs.valve)
    np.maximum.at(found, inputs.ground.valve, own)
    return found


def flow_without_meter(site: Site, tests: CanTests) -> np.ndarray:
    """Flow that each zone is planned with where nobody reads a meter, (zone,)."""
    zones = replace(site.zones, flow_l_min=site.metered.given_flow_l_min)
    kinds, rate = library.head_kinds(), tests.rate_mm_h
    points = find_points(zones, site.heads, kinds, site.supply, rate)
    return zone_rates(
        zones, site.heads, kinds, points.pressure_kpa, rate,
        most_flow_l_min=points.most_flow_l_min,
    ).flow_l_min  # fmt: skip


def _planned(inputs: PlanInput) -> tuple[table.Plan, Settings | None]:
    """The table, and by days the settings that it is made of."""
    if not inputs.years:
        return plan_by_months(inputs), None
    limits = table.cycle_limits(inputs.ground, inputs.valve)
    settings = plan_days(inputs, limits)
    return table_of(inputs, limits, settings), settings


def _plan_input(
    site: Site,
    months: ReferenceMonths,
    recorded: Years | None,
    rates: ZoneRates,
    ground: Ground,
) -> PlanInput:
    periods, count = TWELVE_MONTHS, len(site.zones)
    by_month = (count, len(periods))
    frost = _off_for_frost(site, months)
    rules, rule_of = day_rules(site, periods)
    years: tuple[Years, ...] = ()
    if site.plan_by == "days":
        years = (invented(months) if recorded is None else recorded,)
    return PlanInput(
        periods=periods,
        et0_mm_day=np.broadcast_to(months.et0_mm_day, by_month),
        rain_mm=np.broadcast_to(months.rain_mm, by_month),
        frost=np.broadcast_to(frost, by_month),
        dormant=np.broadcast_to(frost & months.frost, by_month),
        rain_method=np.full(count, RAIN_METHODS.index(site.rain_rule.method)),
        rain_share=np.full(count, site.rain_rule.share),
        ground=ground,
        valve=valves_of(site, rates, rule_of, periods),
        rules=rules,
        rule_intervals=(site.controller.intervals,) * len(rules),
        years=years,
    )


def _frost_season(site: Site, months: ReferenceMonths) -> FrostSeason | None:
    season = months.frost_season
    return season if site.lines_empty is None else kept_to(season, *site.lines_empty)


def _off_for_frost(site: Site, months: ReferenceMonths) -> np.ndarray:
    """Months, (12,), in which nothing runs: too cold, or lines are mostly empty."""
    if site.water_in_frost:
        return np.zeros(len(months.frost), dtype=bool)
    season = _frost_season(site, months) if site.lines_can_freeze else None
    empty = mostly_empty(season)
    return np.asarray(months.frost | empty)


def recorded_years(months: ReferenceMonths) -> Years | None:
    """Years of days of a climate's own file; None where it has too few.

    Where rain comes by months from a file of its own, the record has no days to play.
    """
    days = months.days
    if days is None or days.weather.typical_year:
        return None
    weather, rain_mm = days.weather, days.weather.rain_mm
    of_months = weather.rain_of_months_mm
    if np.nan_to_num(of_months).any():
        return None
    if np.isfinite(of_months).all():
        rain_mm = np.zeros(len(weather))
    return whole_years(weather.date, days.et0_mm, rain_mm)


def years_of_climate(months: ReferenceMonths) -> Years:
    """Years of days of a climate: those of its file, else invented ones."""
    recorded = recorded_years(months)
    return invented(months) if recorded is None else recorded


def invented(months: ReferenceMonths) -> Years:
    """Years of days invented from twelve months, once for like ones."""
    rain, wet = np.nan_to_num(months.rain_mm), months.rain_days
    days = None if wet is None else tuple(wet.tolist())
    return _invented(tuple(months.et0_mm_day.tolist()), tuple(rain.tolist()), days)


@lru_cache(maxsize=16)
def _invented(
    et0_mm_day: tuple[float, ...],
    rain_mm: tuple[float, ...],
    rain_days: tuple[float, ...] | None,
) -> Years:
    days = None if rain_days is None else np.array(rain_days)
    return invented_years(np.array(et0_mm_day), np.array(rain_mm), days)


def _site_cautions(site: Site, months: ReferenceMonths) -> Iterator[Caution]:
    for month in np.flatnonzero(_off_for_frost(site, months)).tolist():
        cold = {"tmin_c": float(months.tmin_c[month])}
        yield Caution("frost-month", None, month + 1, cold)
    shut_off = site.controller.rain_shutoff_mm
    counted = site.rain_rule.method != "none" and site.plan_by == "months"
    if shut_off is not None and counted:
        values = {"method": site.rain_rule.method, "rain_shutoff_mm": shut_off}
        yield Caution("rain-counted-twice", None, None, values)
    for assumption in months.assumptions:
        yield Caution("value-assumed", None, None, {"climate": assumption})
    for assumed in site.assumed:
        yield Caution("value-assumed", None, None, {"assumed": assumed})
    yield from climate_doubts(months, site.latitude)
    yield from place_doubts(site.longitude, site.units, site.timezone)
    if site.for_months:
        yield Caution("not-used-by-days", None, None, {"names": site.for_months})
    for name, by in site.replaced:
        yield Caution("key-replaced", None, None, {"name": name, "by": by})
    if site.unread:
        values = {"workbook": site.names.workbook, "sheets": site.unread}
        yield Caution("sheets-not-read", None, None, values)
    for sheet, rows in site.hidden:
        hidden = {"workbook": site.names.workbook, "sheet": sheet, "rows": rows}
        yield Caution("rows-hidden", None, None, hidden)


def _frost_cautions(
    site: Site, months: ReferenceMonths, plan: table.Plan
) -> Iterator[Caution]:
    """Months that water although some of their nights freeze."""
    waters = np.any(plan.schedule.cycles > 0, axis=0)
    cold = months.frost_nights >= FEWEST_NIGHTS
    for month in np.flatnonzero(waters & cold).tolist():
        values = {
            "nights": float(months.frost_nights[month]),
            "season": _frost_season(site, months),
            "lines_can_freeze": {True: "yes", False: "no", None: "not said"}[
                site.lines_can_freeze
            ],
        }
        yield Caution("frost-nights", None, month + 1, values)


def _zone_cautions(site: Site, plan: table.Plan) -> Iterator[Caution]:
    waters = np.any(plan.schedule.cycles > 0, axis=1)
    # Plants that want no water for a season, and some in others.
    unwatered = (plan.plant_need_mm == 0) & waters[:, None]
    for row, zone in enumerate(site.zones.zone):
        if plan.cycle_too_short[row] and waters[row]:
            values = {
                "runoff_limit_min": float(plan.runoff_limit_min[row]),
                "longest_cycle_min": float(plan.longest_cycle_min[row]),
            }
            yield Caution("cycle-too-short", zone, None, values)
        for month in np.flatnonzero(unwatered[row]).tolist():
            yield Caution("summer-dry", zone, month + 1)


def _salt_cautions(
    site: Site, salt: Salt | None, stands_on: ZoneGround
) -> Iterator[Caution]:
    """What water against salt is laid down, and where it does not suffice.

    Of the parts of a zone the one whose plants stand least salt is told.
    """
    if salt is None:
        return
    threshold = site.plants.salt_threshold_ds_m[stands_on.rows.plant]
    for of, zone in enumerate(site.zones.zone):
        parts = np.flatnonzero(stands_on.ground.valve == of)
        known = np.where(np.isnan(threshold[parts]), np.inf, threshold[parts])
        row = int(parts[known.argmin()])
        if np.isnan(threshold[row]):
            values: dict[str, object] = {"salinity_ds_m": site.salinity_ds_m}
            yield Caution("salt-tolerance-unknown", zone, None, values)
        elif salt.too_much[row]:
            values = {"salinity_ds_m": site.salinity_ds_m,
                      "salt_threshold_ds_m": float(threshold[row]),
                      "soil_ds_m": float(salt.soil_ds_m[row])}  # fmt: skip
            yield Caution("salinity-high", zone, None, values)
        elif salt.asked[row] > 0:
            left = float(salt.beside_rain[row])
            by = "water" if salt.added[row] else "sprinklers" if left else "rain"
            yield Caution("salt-washed", zone, None, {"by": by, "share": left})


def _month_cautions(
    site: Site, plan: table.Plan, inputs: PlanInput, settings: Settings | None
) -> Iterator[Caution]:
    for row, month in np.argwhere(plan.flags & table.TOLD).tolist():
        zone, flags = site.zones.zone[row], int(plan.flags[row, month])
        if flags & table.NOT_PERMITTED:
            told: dict[str, Any] = {"unmet_mm": float(plan.unmet_mm[row, month])}
            if sheet := site.names.told_table("window", ""):
                told["windows"] = sheet
            yield Caution("not-permitted", zone, month + 1, told)
        if flags & table.DAYS_TOO_FEW:
            gap = inputs.ground.longest_gap_days[inputs.ground.valve == row].min()
            if not inputs.years:
                gap = plan.gap_limit_days[row, month]
            values: dict[str, Any] = {"gap_limit_days": int(gap)}
            yield Caution("days-too-few", zone, month + 1, values)
        ground, mine = inputs.ground, inputs.ground.valve == row
        if flags & table.TOO_CLOSE:
            found = _gaps_apart(site, ground, np.flatnonzero(mine))
            yield Caution("watered-too-often", zone, month + 1, found)
        if flags & table.NEED_UNMET:
            values = {"unmet_mm": float(plan.unmet_mm[row, month])}
            yield Caution("need-unmet", zone, month + 1, values)
        if flags & table.UNDER_STEP:
            step = float(inputs.valve.minute_step[row])
            yield Caution("under-a-step", zone, month + 1, {"minute_step": step})
        if flags & table.STAYS_DRY and not flags & table.NOT_PERMITTED:
            values = {"dry_share": float(plan.dry_share[row, month]),
                      "most_dry": float(inputs.valve.most_dry[row])}  # fmt: skip
            shortest = int(ground.shortest_gap_days[mine].max())
            kept_apart = plan.gap_limit_days[row, month] < 2 * shortest
            if shortest > 1 and kept_apart and not flags & table.TOO_CLOSE:
                values["shortest_gap_days"] = shortest
            elif settings is not None and np.isfinite(settings.night_min[row, month]):
                values["night_minutes"] = float(settings.night_min[row, month])
            yield Caution("stays-dry", zone, month + 1, values)
        if flags & table.STARTS_TOO_FEW:
            values = {"cycles": int(plan.schedule.cycles[row, month]),
                      "starts": int(inputs.valve.starts[row])}  # fmt: skip
            yield Caution("starts-too-few", zone, month + 1, values)


def _gaps_apart(site: Site, ground: Ground, parts: np.ndarray) -> dict[str, object]:
    """Shortest and longest gap of a zone's parts; whose, where no days suit both."""
    shortest, longest = ground.shortest_gap_days[parts], ground.longest_gap_days[parts]
    seldom, often = parts[shortest.argmax()], parts[longest.argmin()]
    values: dict[str, object] = {
        "shortest_gap_days": int(shortest.max()),
        "longest_gap_days": int(longest.min()),
    }
    if seldom != often and shortest.max() > longest.min():
        values |= {"seldom": site.parts.part[seldom], "often": site.parts.part[often]}
    return values


def _store_cautions(
    site: Site, plan: table.Plan, inputs: PlanInput, ground: Ground
) -> Iterator[Caution]:
    """Months by days whose mean need a day is over what plants may draw at all."""
    if not inputs.years:
        return
    need = plan.plant_need_mm / inputs.periods.days
    allowed = np.broadcast_to(ground.allowed_depletion_mm, need.shape)
    over = (plan.schedule.cycles > 0) & (need > dry_limit(allowed, 0.0))
    for row, month in np.argwhere(over).tolist():
        values = {"allowed_mm": float(allowed[row, month]),
                  "need_mm_day": float(need[row, month])}  # fmt: skip
        yield Caution("store-under-a-day", site.zones.zone[row], month + 1, values)


def with_settings(plan: SitePlan, settings: Settings) -> SitePlan:
    """The plan of a site with other settings by days in the place of its own."""
    inputs, roots = plan.inputs, plan.stands_on
    limits = table.cycle_limits(inputs.ground, inputs.valve)
    by_part = table_of(inputs, limits, settings)
    whole = table.along_valves(
        by_part, inputs.ground, inputs.valve, inputs.periods.days
    )
    decides = table.deciding_rows(by_part.decides, inputs.ground, inputs.valve)
    return replace(
        plan,
        by_part=by_part,
        plan=whole,
        decides=decides,
        ground=table.ground_along_valves(inputs.ground, inputs.valve, decides),
        plant_coefficient=roots.plant_coefficient[
            decides, np.arange(len(TWELVE_MONTHS))
        ],
        settings=settings,
    )
