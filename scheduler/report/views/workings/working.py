"""The working of one zone and month, line by line, as a pocket calculator repeats it.

The formulas are the lines that stand beside the code they describe; this module puts
the numbers of one cell into them.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from scheduler.budget.parts import rate_of_part
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand import leaching, plants, rain
from scheduler.inputs import library
from scheduler.lines import COMMON_PRACTICE, HOUSE_RULE
from scheduler.plan import table
from scheduler.plan.inputs import RAIN_METHODS
from scheduler.plan.site import SitePlan
from scheduler.plan.times import cycles, days
from scheduler.report import shown
from scheduler.report.asked import zone_row
from scheduler.report.views.workings import by_days
from scheduler.report.views.workings.rates import rate_steps, usual_of_kind
from scheduler.report.views.workings.steps import Step, Working, why_not
from scheduler.report.views.workings.supply import supply_steps
from scheduler.report.words import workings as words
from scheduler.report.words.climate import method_words
from scheduler.soil import intake, storage, wetting


def explain(
    plan: SitePlan, zone: str, month: int, units: str, part: int | None = None
) -> list[Step]:
    """Steps of one zone and month; raises InputError for a zone that is none.

    Of a `part`, a row of ground, its need and its store; minutes are worked out of the
    part that the zone runs for, which is the one where none is asked for.
    """
    row, column = zone_row(plan.site, zone), month - 1
    runs_for = int(plan.decides[row, column])
    part = runs_for if part is None else part
    working = Working(units)
    supply_steps(working, plan, row)
    rate_steps(working, plan, row)
    if len(plan.parts(row)) > 1:
        _parts(working, plan, row, column, part)
    _need(working, plan, part, column)
    _root_zone(working, plan, part)
    if part != runs_for:
        working.section = words.SETTING_KEPT
        told = words.as_it_runs_for(plan.stands_on.name[runs_for])
        working.given_text(words.MINUTES.lower(), told, words.DECIDES)
    elif plan.settings is not None:
        _by_days(working, plan, row, column)
    else:
        _by_months(working, plan, row, column)
    of_source = plan.site.names.of_source
    return [replace(step, source=of_source(step.source)) for step in working.steps]


def _by_days(w: Working, plan: SitePlan, row: int, month: int) -> None:
    if plan.inputs.frost[row, month]:
        w.section = words.SETTING_KEPT
        w.given_text(words.MONTH, why_not(plan, row, month), HOUSE_RULE)
        return
    w.section = words.LONGEST_CYCLE
    _longest_cycle(w, plan, row)
    by_days.range_of_minutes(w, plan, row, month)
    if by_days.kept(w, plan, row, month):
        _soak(w, plan, row, month)
        _totals(w, plan, row, month)


def _by_months(working: Working, plan: SitePlan, row: int, column: int) -> None:
    _rain(working, plan, row, column)
    _gross(working, plan, row, column)
    if _watering_days(working, plan, row, column):
        _minutes(working, plan, row, column)
        _cycles(working, plan, row, column)
        _totals(working, plan, row, column)


def _parts(w: Working, plan: SitePlan, row: int, month: int, worked: int) -> None:
    """The parts of a zone, and the one that is worked out."""
    w.section = words.PARTS
    ground, table_ = plan.inputs.ground, plan.by_part
    for part in plan.parts(row).tolist():
        told = words.part_in_month(
            float(ground.share[part]),
            shown.quantity(float(table_.plant_need_mm[part, month]), "depth", w.units),
            100 * float(table_.dry_share[part, month]),
        )
        w.given_text(plan.stands_on.name[part], told, words.PARTS_FILE)
    why = words.DECIDES if worked == plan.decides[row, month] else words.ASKED_FOR
    w.given_text(words.WORKED_OUT, plan.stands_on.name[worked], why)
    if ground.rate_share[worked] != 1:
        w.given("rate", rate_of_part(plan, worked), words.PARTS_FILE)


def _from_files(plan: SitePlan, part: int, name: str) -> tuple[str, str] | None:
    """File that gives a part its value, where one does."""
    own = getattr(plan.site.parts, name, None)
    if own is not None and math.isfinite(own[part]):
        return words.PARTS_FILE, ""
    if math.isfinite(getattr(plan.stands_on.rows, name)[part]):
        return words.ZONES, ""
    return None


def _need(w: Working, plan: SitePlan, part: int, month: int) -> None:
    w.section = words.NEED
    zones = plan.stands_on.rows
    w.given(
        "et0",
        plan.months.et0_mm_day[month],
        f"{plan.months.source}: {method_words(plan.months.method)}",
    )
    w.given("days_in_month", DAYS_IN_MONTH[month], words.CALENDAR)
    coefficient = plan.stands_on.plant_coefficient[part, month]
    if math.isfinite(zones.plant_factor[part]):
        w.given("plant_coefficient", coefficient, words.PLANT_FACTOR)
    else:
        w.given("plant_coefficient", coefficient, *_usual_of_plant(plan, part))
    w.given(
        "microclimate_factor",
        zones.microclimate_factor[part],
        *(_from_files(plan, part, "microclimate_factor") or (words.ZONES, "")),
    )
    w.given("density_factor", zones.density_factor[part], words.ZONES)
    w.line(plants.LANDSCAPE, plan.inputs.ground.landscape_coefficient[part, month])
    w.line(plants.PLANT_NEED, plan.by_part.plant_need_mm[part, month])


def _root_zone(w: Working, plan: SitePlan, part: int) -> None:
    w.section = words.ROOT_ZONE
    roots, zones, soils = plan.stands_on.roots, plan.stands_on.rows, plan.site.soils
    soil, valve = int(zones.soil[part]), int(plan.inputs.ground.valve[part])
    w.given(
        "available_water",
        roots.available_water_mm_m[part],
        soils.names[soil],
        words.origin(soils.sources[soil], soils.statuses[soil]),
    )

    def origin(name: str, usual: tuple[str, str]) -> tuple[str, str]:
        return _from_files(plan, part, name) or usual

    of_plant, of_kind = _usual_of_plant(plan, part), usual_of_kind(plan, valve)
    depth, wetted = roots.root_depth_mm[part], roots.wetted_share[part]
    w.given("root_depth", depth, *origin("root_depth_mm", of_plant))
    emits = library.head_kinds().drips[zones.head_kind[part]]
    if emits and math.isnan(zones.wetted_share[part]):
        _wetted_share(w, plan, part, of_kind)
    else:
        w.given("wetted_share", wetted, *origin("wetted_share", of_kind))
    w.line(storage.TOTAL_AVAILABLE_WATER, roots.total_available_water_mm[part])
    w.given("depletion", roots.depletion[part], *origin("depletion", of_plant))
    w.line(storage.ALLOWED_DEPLETION, roots.allowed_depletion_mm[part])


def _wetted_share(
    w: Working, plan: SitePlan, part: int, usual: tuple[str, str]
) -> None:
    """Share of the roots that emitters wet: by their count, or by their grid."""
    zones = plan.stands_on.rows
    takes_in = plan.site.soils.intake_mm_h[zones.soil[part]]
    depth, share = (getattr(plan.stands_on.roots, name)[part]
                    for name in ("root_depth_mm", "wetted_share"))  # fmt: skip
    flow = zones.emitter_flow_l_min[part]
    width = wetting.bulb_width(takes_in, depth, flow)
    counted = np.isfinite(zones.emitters[part] * zones.area_m2[part])
    spacing, rows = zones.emitter_spacing_m[part], zones.emitter_row_spacing_m[part]
    if np.isnan(width) or not (counted or np.isfinite(spacing * rows)):
        w.given("wetted_share", share, *usual)
        return
    w.given("bulb_width", float(width), wetting.TABLE_OF_BULBS)
    if counted:
        w.given("emitters", zones.emitters[part], words.ZONES)
        w.given("area", zones.area_m2[part], words.ZONES)
        w.line(wetting.WETTED_BY_COUNT, share)
        return
    w.given("emitter_row_spacing", rows, words.ZONES)
    if spacing <= wetting.STRIP_FROM * width * (1 + 1e-9):
        w.line(wetting.WETTED_STRIP, share)
    else:
        w.given("emitter_spacing", spacing, words.ZONES)
        w.line(wetting.WETTED_CIRCLES, share)


def _usual_of_plant(plan: SitePlan, part: int) -> tuple[str, str]:
    """Source and origin of what the table of plants says."""
    plants_, plant = plan.site.plants, int(plan.stands_on.rows.plant[part])
    origin = words.origin(plants_.sources[plant], plants_.statuses[plant])
    return plants_.names[plant], origin


def _rain(w: Working, plan: SitePlan, row: int, month: int) -> None:
    w.section = words.RAIN
    effective = plan.plan.effective_rain_mm[row, month]
    method = RAIN_METHODS[int(plan.inputs.rain_method[row])]
    if method == "none":
        w.given("effective_rain", effective, words.RAIN_NOT_COUNTED)
    else:
        w.given("rain", plan.months.rain_mm[month], plan.months.source)
        if method == "tr21":
            w.line(rain.STORAGE_IN)
            w.line(rain.STORAGE_FACTOR)
            w.line(rain.RAIN_TR21)
        else:
            w.given("rain_share", plan.inputs.rain_share[row], words.CLIMATE_KEYS)
            w.line(rain.RAIN_SHARE)
        w.line(rain.RAIN_COUNTED, effective)
    w.line(rain.NET_NEED, plan.plan.net_need_mm[row, month])


def _gross(w: Working, plan: SitePlan, row: int, month: int) -> None:
    w.section = words.GROSS_NEED
    if plan.plan.flags[row, month] & table.CARRIED:
        w.given_text(*words.CARRIED, words.CARRIED_WHY)
        return
    w.given(
        "carried_in",
        plan.plan.carried_in_mm[row, month],
        words.CARRIED_BEFORE,
    )
    w.line(storage.CARRIED)
    gross = plan.plan.gross_need_mm[row, month]
    part = int(plan.decides[row, month])
    leached = plan.inputs.ground.leaching_requirement[part]
    if leached > 0:
        plant = plan.stands_on.rows.plant[part]
        w.given("salinity", plan.site.salinity_ds_m, words.WATER_KEYS)
        w.given(
            "salt_threshold",
            plan.site.plants.salt_threshold_ds_m[plant],
            *_usual_of_plant(plan, part),
        )
        leached = plan.ground.leaching_requirement[row]
        if leached < leaching.MOST_LEACHING:
            w.line(leaching.LEACHING, leached)
        else:
            w.given("leaching_requirement", leached, words.LEACHED_MOST)
        w.line(leaching.GROSS_NEED_LEACHED, gross)
    else:
        w.line(leaching.GROSS_NEED, gross)


def _watering_days(w: Working, plan: SitePlan, row: int, month: int) -> bool:
    """Steps to the watering days; False where the month is off."""
    w.section = words.WATERING_DAYS
    p, schedule = plan.plan, plan.plan.schedule
    why = why_not(plan, row, month)
    runs = bool(schedule.cycles[row, month])
    flags = int(p.flags[row, month])
    if flags & (table.FROST | table.CARRIED | table.NO_NEED):
        w.given_text(words.MONTH, why, HOUSE_RULE)
        return False
    w.line(plants.PLANT_NEED_DAY)
    w.line(storage.STORE_LASTS)
    part = int(plan.decides[row, month])
    gap_from = _from_files(plan, part, "longest_gap_days")
    gap_from = gap_from or _usual_of_plant(plan, part)
    w.given("longest_gap", plan.inputs.ground.longest_gap_days[part], *gap_from)
    shortest = float(plan.inputs.ground.shortest_gap_days[part])
    if shortest > 1:
        gap_from = _from_files(plan, part, "shortest_gap_days")
        gap_from = gap_from or _usual_of_plant(plan, part)
        w.given("shortest_gap", shortest, *gap_from)
        limit = w.line(days.GAP_LIMIT_SHORTEST)
    else:
        limit = w.line(days.GAP_LIMIT)
    if len(plan.parts(row)) > 1 and p.gap_limit_days[row, month] < limit:
        w.given("gap_limit", p.gap_limit_days[row, month], words.SHORTEST_OF_PARTS)
    if not plan.inputs.valve.drip[row]:
        _light_events(w, flags, float(p.gap_limit_days[row, month]))
    if not runs:
        w.given_text(words.MONTH, why, HOUSE_RULE)
        return False
    chosen = shown.days_text(
        int(schedule.weekdays[row, month]),
        int(schedule.parity[row, month]),
        int(schedule.every_days[row, month]),
    )
    w.given_text(words.DAYS, chosen, words.FEWEST_DAYS)
    if schedule.every_days[row, month]:
        w.given("every_days", schedule.every_days[row, month], words.WHOLE_WEEKS)
        w.line(days.DAYS_PER_WEEK)
    else:
        w.given("days_per_week", schedule.days_per_week[row, month], words.CALENDAR)
    return True


def _light_events(w: Working, flags: int, gap_limit: float) -> None:
    w.line(days.EVENT_NEED_DAY)
    w.given("light_event", days.LIGHT_EVENT_MM, COMMON_PRACTICE)
    light = w.line(days.LIGHT_GAP)
    if not flags & table.LIGHTER:
        return
    if flags & table.IN_WEEKS:
        w.line(days.LIGHT_GAP_WEEKS)
    else:
        w.values["whole_weeks"] = light
    w.line(days.DEPLETION_GAP)
    if flags & table.GAP_RAISED:
        w.line(days.RAISED_GAP, gap_limit)


def _minutes(w: Working, plan: SitePlan, row: int, month: int) -> None:
    w.section = words.MINUTES
    w.line(cycles.EVENT_NET)
    w.line(cycles.EVENT_CUT)
    w.line(cycles.EVENT_GROSS)
    w.line(cycles.MINUTES, plan.plan.event_minutes[row, month])


def _cycles(w: Working, plan: SitePlan, row: int, month: int) -> None:
    w.section = words.CYCLE_AND_SOAK
    schedule = plan.plan.schedule
    _longest_cycle(w, plan, row)
    w.line(cycles.LEAST_CYCLES)
    w.given(
        "cycles",
        schedule.cycles[row, month],
        words.CYCLES_CHOSEN,
    )
    w.given(
        "cycle_minutes",
        schedule.cycle_min[row, month],
        words.WHOLE_STEPS,
    )
    w.line(cycles.DAY_MINUTES, schedule.minutes_per_day[row, month])
    _soak(w, plan, row, month)


def _longest_cycle(w: Working, plan: SitePlan, row: int) -> None:
    p, inputs = plan.plan, plan.inputs
    part = _runs_off_first(plan, row)
    soil, soils = int(plan.stands_on.rows.soil[part]), plan.site.soils
    w.given("longest_run", inputs.valve.longest_run_min[row], words.CONTROLLER_KEYS)
    w.given("minute_step", inputs.valve.minute_step[row], words.CONTROLLER_KEYS)
    limit, own = p.runoff_limit_min[row], float(inputs.ground.rate_share[part])
    if own != 1 and math.isfinite(limit):
        peak = float(inputs.valve.peak_rate_mm_h[row]) * own
        w.given("peak_rate", peak, words.PARTS_FILE)
    if math.isfinite(limit) and inputs.valve.drip[row]:
        share = float(plan.stands_on.roots.wetted_share[part])
        told, ground = words.basins(100 * share), inputs.ground
        w.given("intake", ground.intake_mm_h[part], told)
        w.given("accumulation", ground.accumulation_mm[part], told)
        w.line(intake.RUNOFF_LIMIT, limit)
        _held_cycle(w, plan, row)
    elif math.isfinite(limit):
        slope = int(plan.stands_on.slope_class[part])
        w.given(
            "intake",
            inputs.ground.intake_mm_h[part],
            soils.names[soil],
            words.origin(soils.sources[soil], soils.statuses[soil]),
        )
        w.given(
            "accumulation",
            inputs.ground.accumulation_mm[part],
            words.on_slope(soils.names[soil], plan.stands_on.rows.slope_percent[part]),
            words.origin(
                soils.slope_sources[soil][slope], soils.slope_statuses[soil][slope]
            ),
        )
        w.line(intake.RUNOFF_LIMIT, limit)
        _held_cycle(w, plan, row)
    else:
        w.given(
            "longest_cycle",
            p.longest_cycle_min[row],
            words.ALL_TAKEN_IN,
        )


def _held_cycle(w: Working, plan: SitePlan, row: int) -> None:
    """Longest cycle by the runoff limit, or the shortest that can be set."""
    longest = plan.plan.longest_cycle_min[row]
    if plan.plan.cycle_too_short[row]:
        w.given("longest_cycle", longest, words.SHORTEST_CYCLE)
    else:
        w.line(cycles.LONGEST_CYCLE, longest)


def _runs_off_first(plan: SitePlan, row: int) -> int:
    """The part of a zone on which water runs off first."""
    inputs, parts = plan.inputs, plan.parts(row)
    limit = table.own_runoff_limit(inputs.ground, inputs.valve)[parts]
    return int(parts[np.argmin(limit)])


def _soak(w: Working, plan: SitePlan, row: int, month: int) -> None:
    p, schedule, inputs = plan.plan, plan.plan.schedule, plan.inputs
    if p.flags[row, month] & table.SOAKS:
        part = _runs_off_first(plan, row)
        if inputs.ground.intake_mm_h[part] > plan.ground.intake_mm_h[row]:
            w.given("intake", plan.ground.intake_mm_h[row], words.SLOWEST_OF_PARTS)
        w.line(intake.SOAK)
        w.given(
            "shortest_soak",
            inputs.valve.shortest_soak_min[row],
            words.CONTROLLER_KEYS,
        )
        w.line(cycles.SOAK_ROUNDED, schedule.soak_min[row, month])


def _totals(w: Working, plan: SitePlan, row: int, month: int) -> None:
    w.section = words.TOTALS
    w.line(cycles.WEEK_MINUTES, plan.plan.schedule.minutes_per_week[row, month])
    w.line(cycles.MONTH_MINUTES)
    w.line(cycles.APPLIED, plan.plan.applied_mm[row, month])
    if plan.settings is not None:
        part = int(plan.decides[row, month]), month
        need = plan.by_part.plant_need_mm[part]
        w.given("plants_take", min(plan.settings.taken_mm[part], need),
                words.YEARS_PLAYED)  # fmt: skip
        w.given("watering_gives", plan.settings.watering_gives_mm[part],
                words.WATERING_STAYS)  # fmt: skip
        w.line(cycles.RAIN_AND_SOIL, plan.plan.effective_rain_mm[row, month])
    filled = plan.settings is not None and plan.plan.fill_days[row, month]
    if filled:
        fill = plan.plan.fill_min[row, month] * plan.plan.fill_days[row, month]
        w.given("fill_minutes", fill, words.FILLED_FIRST)
    volume = cycles.VOLUME_FILLED if filled else cycles.VOLUME
    w.line(volume, plan.plan.volume_l[row, month])


def title(plan: SitePlan, zone: str, month: int) -> str:
    """Heading of an explanation."""
    zones = plan.site.zones
    row = zone_row(plan.site, zone)
    return words.title(zones.zone[row], zones.name[row], month)
