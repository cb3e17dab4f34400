"""Names and drawing of the lines of working, and the method they make up."""

from __future__ import annotations

import math
import re

from scheduler.balance import day, unwetted
from scheduler.budget import water
from scheduler.demand import leaching, plants, rain
from scheduler.lines import Line
from scheduler.plan import candidates
from scheduler.plan.times import cycles, days
from scheduler.rates import curve, spacing, supply, uniformity
from scheduler.rates import precipitation as nozzles
from scheduler.rounding import TOLERANCE
from scheduler.soil import intake, storage, wetting

QUANTITIES: dict[str, tuple[str, str]] = {
    "accumulation": ("allowed surface accumulation", "depth"),
    "allowed_depletion": ("allowed depletion", "depth"),
    "allowance": ("allowance of the site", "volume"),
    "allowance_factor": ("allowance factor", ""),
    "applied": ("applied in the month", "depth"),
    "area": ("area", "area"),
    "arc": ("arc", "°"),
    "available_water": ("available water", "storage"),
    "bucket": ("bucket", "volume"),
    "bucket_flow": ("flow of the bucket test", "flow"),
    "bucket_seconds": ("time to fill the bucket", "s"),
    "carried_in": ("carried in from the month before", "depth"),
    "chart_flow": ("flow of the chart", "flow"),
    "chart_pressure": ("pressure of the chart", "pressure"),
    "cycle_minutes": ("minutes a cycle", "min"),
    "cycles": ("cycles", ""),
    "days_in_month": ("days in the month", ""),
    "days_per_week": ("watering days a week", ""),
    "density_factor": ("density factor", ""),
    "depletion": ("depletion share", ""),
    "depletion_gap": ("gap that the depletion lasts", "days"),
    "design_flow": ("design flow", "flow"),
    "effective_rain": ("effective rain", "depth"),
    "efficiency": ("irrigation efficiency", ""),
    "et0": ("ET0", "depth_day"),
    "bulb_width": ("width that an emitter wets", "length"),
    "canopy": ("canopy of a plant", "area"),
    "emitters": ("emitters", ""),
    "plants": ("plants", ""),
    "emitter_flow": ("flow of an emitter", "flow"),
    "emitter_pressure": ("pressure of that flow", "pressure"),
    "nominal_flow": ("flow that the emitter is sold by", "flow"),
    "emitter_row_spacing": ("spacing of the lines", "length"),
    "emitter_spacing": ("spacing of the emitters", "length"),
    "estimated_use": ("estimated use of the zone", "volume"),
    "et0_year": ("ET0 of the year", "depth"),
    "event_cut": ("watering held to the root zone", "depth"),
    "event_gross": ("gross watering", "depth"),
    "event_minutes": ("unrounded minutes a watering day", "min"),
    "event_need": ("need that waterings meet", "depth"),
    "event_need_day": ("daily need that waterings meet", "depth_day"),
    "event_net": ("net watering", "depth"),
    "every_days": ("days between waterings", ""),
    "fill_minutes": ("minutes that fill the ground first", "min"),
    "flow": ("flow", "flow"),
    "gross_need": ("gross need", "depth"),
    "head_area": ("ground of the head", "area"),
    "head_flow": ("flow of the head", "flow"),
    "head_rate": ("rate of the head", "rate"),
    "head_share": ("rate of the head over the mean", ""),
    "intake": ("intake rate", "rate"),
    "landscape_area": ("ground of all zones", "area"),
    "landscape_coefficient": ("landscape coefficient", ""),
    "leaching_requirement": ("leaching requirement", ""),
    "least_cycles": ("least cycles", ""),
    "light_event": ("lightest watering", "depth"),
    "light_gap": ("gap to the lightest watering", "days"),
    "longest_cycle": ("longest cycle", "min"),
    "longest_gap": ("longest gap of the plant", "days"),
    "longest_run": ("longest run of the controller", "min"),
    "longest_day": ("longest that the controller runs a station in a day", "min"),
    "longest_spacing": ("longest spacing", "length"),
    "mean_head_rate": ("mean rate of the heads", "rate"),
    "meter_flow": ("flow for the meter", "flow"),
    "meter_loss": ("loss in the meter", "pressure"),
    "meter_most_flow": ("most flow of the meter", "flow"),
    "microclimate_factor": ("microclimate factor", ""),
    "minute_step": ("step of the controller", "min"),
    "minutes_per_day": ("minutes a watering day", "min"),
    "minutes_per_month": ("minutes a month", "min"),
    "minutes_per_week": ("minutes a week", "min"),
    "net_need": ("net need", "depth"),
    "peak_rate": ("peak rate", "rate"),
    "pipe_coefficient": ("coefficient of the pipe", ""),
    "pipe_diameter": ("diameter inside the pipe", "depth"),
    "pipe_flow": ("flow for the pipe", "flow"),
    "pipe_length": ("length of the pipe", "length"),
    "pipe_loss": ("loss in the pipe", "pressure"),
    "plant_coefficient": ("plant coefficient", ""),
    "plant_factor": ("plant factor", ""),
    "plant_need": ("plant need", "depth"),
    "plant_need_day": ("plant need a day", "depth_day"),
    "plants_take": ("what plants take", "depth"),
    "pressure": ("pressure at the heads", "pressure"),
    "raised_gap": ("raised gap limit", "days"),
    "radius": ("throw radius", "length"),
    "rain": ("rain", "depth"),
    "rain_and_soil": ("what rain and soil give", "depth"),
    "rain_share": ("share of rain counted", ""),
    "rate": ("precipitation rate", "rate"),
    "rise": ("rise to the heads", "length"),
    "rise_loss": ("lost to the rise", "pressure"),
    "root_depth": ("root depth", "depth"),
    "row_spacing": ("row spacing", "length"),
    "run_time_multiplier": ("run-time multiplier", ""),
    "runoff_limit": ("longest run without runoff", "min"),
    "salinity": ("salinity of the water", "dS/m"),
    "salt_threshold": ("salt threshold of the plant", "dS/m"),
    "shortest_soak": ("shortest soak", "min"),
    "soak_minutes": ("soak", "min"),
    "soak_to_go_in": ("time for the water to go in", "min"),
    "spacing": ("spacing", "length"),
    "spacing_share": ("share of the diameter by wind", ""),
    "special_area": ("special area of the site", "area"),
    "static_pressure": ("static pressure", "pressure"),
    "storage_factor": ("storage factor", ""),
    "storage_in": ("usable storage (in)", "in"),
    "shortest_gap": ("shortest gap of the plant", "days"),
    "store_gap": ("gap limit of the store", "days"),
    "store_lasts": ("the store lasts", "days"),
    "total_available_water": ("total available water", "depth"),
    "uniformity": ("distribution uniformity", ""),
    "usable_rain": ("usable rain", "depth"),
    "volume": ("volume of the month", "volume"),
    "watering_gives": ("what of it watering gives", "depth"),
    "wetted_share": ("wetted share", ""),
    "unwetted_share": ("unwetted share", ""),
    "unwetted_total": ("available water of the unwetted ground", "depth"),
    "unwetted_allowed": ("allowed depletion of the unwetted ground", "depth"),
    "unwetted_start": ("depletion of the unwetted ground at the start", "depth"),
    "unwetted_refilled": ("depletion of the unwetted ground after the rain", "depth"),
    "unwetted_stress": ("stress coefficient of the unwetted ground", ""),
    "unwetted_taken": ("taken from the unwetted ground", "depth"),
    "need_wetted": ("need asked of the wetted ground", "depth"),
    "rain_wetted": ("rain on the wetted ground", "depth"),
    "whole_weeks": ("that gap in whole weeks", "days"),
    "zone_special_area": ("special area of the zone", "area"),
    "backflow_loss": ("loss in the backflow device", "pressure"),
    "device_loss_10": ("loss of the device at 10 gpm", "pressure"),
    "device_loss_20": ("loss of the device at 20 gpm", "pressure"),
    "flow_of_heads": ("flow of all heads", "flow"),
    "flow_over_area": ("flow over area", "rate"),
    "imbalance": ("uniformity between the heads", ""),
    "least_pressure": ("least working pressure", "pressure"),
    "other_loss": ("loss in valves and fittings", "pressure"),
    "own_flow": ("flow of the head by itself", "flow"),
    "reading_loss": ("loss by the running reading", "pressure"),
    "running_flow": ("flow of the running reading", "flow"),
    "running_pressure": ("running pressure", "pressure"),
    "usual_uniformity": ("usual uniformity", ""),
    "et0_today": ("ET0 of the day", "depth"),
    "need_today": ("need of the day", "depth"),
    "watered_mean": ("watered, mean of the ground", "depth"),
    "minutes_today": ("minutes of the day", "min"),
    "quarter_share": ("depth of the quarter over the mean", ""),
    "watered": ("watered on the quarter", "depth"),
    "rain_today": ("rain of the day", "depth"),
    "start_depletion": ("depletion at the start", "depth"),
    "refilled": ("depletion after the water", "depth"),
    "drained": ("drained", "depth"),
    "stress": ("stress coefficient", ""),
    "taken": ("taken by plants", "depth"),
    "end_depletion": ("depletion at the end", "depth"),
    "asked_depletion": ("depletion with the whole need drawn", "depth"),
    "dry_over": ("dry where that is over", "depth"),
    "widest_gap": ("longest gap of any pattern tried", "days"),
    "gap_need": ("watering that lays down the need of that gap", "depth"),
    "least_useful": ("lightest useful watering", "depth"),
    "least_minutes": ("least minutes a watering day", "min"),
    "need_of_years": ("mean need a day of the years", "depth_day"),
    "need_minutes": ("minutes that the mean need asks for", "min"),
    "full_minutes": ("minutes that fill the root zone", "min"),
    "night_minutes": ("most minutes that a night holds, with soak", "min"),
    "most_minutes": ("most minutes tried", "min"),
}
"""Label, and dimension or plain unit, of every name in the lines."""


METHOD: tuple[tuple[str, tuple[Line, ...]], ...] = (
    (
        "Supply",
        (
            supply.BUCKET_FLOW,
            supply.METER_FLOW,
            supply.PIPE_FLOW,
            supply.PIPE_LOSS,
            curve.READING_LOSS,
            curve.BACKFLOW_LOSS,
            curve.OTHER_LOSS,
            supply.RISE_LOSS,
            curve.CURVE_PRESSURE,
            curve.READING_PRESSURE,
        ),
    ),
    (
        "Precipitation rate",
        (
            nozzles.HEAD_FLOW,
            nozzles.HELD_FLOW,
            nozzles.SHARED_FLOW,
            nozzles.HEAD_AREA,
            nozzles.HEAD_RATE,
            nozzles.ZONE_RATE,
            nozzles.EMITTER_FLOW,
            nozzles.EMITTER_HELD,
            nozzles.EMITTER_RATE,
            nozzles.COUNTED_FLOW,
            nozzles.AREA_OF_CANOPIES,
            nozzles.FLOW_OF_RATE,
            nozzles.AREA_OF_RATE,
            nozzles.FLOW_OVER_AREA,
            nozzles.SCALED_PEAK,
            nozzles.MATCHED,
            uniformity.COMBINED,
            uniformity.MULTIPLIER,
        ),
    ),
    ("Spacing", (spacing.LONGEST_SPACING,)),
    ("Need", (plants.LANDSCAPE, plants.PLANT_NEED)),
    (
        "Root zone",
        (
            wetting.WETTED_BY_COUNT,
            wetting.WETTED_STRIP,
            wetting.WETTED_CIRCLES,
            storage.TOTAL_AVAILABLE_WATER,
            storage.ALLOWED_DEPLETION,
        ),
    ),
    (
        "Rain",
        (
            rain.STORAGE_IN,
            rain.STORAGE_FACTOR,
            rain.RAIN_TR21,
            rain.RAIN_SHARE,
            rain.RAIN_COUNTED,
            rain.NET_NEED,
        ),
    ),
    (
        "Gross need",
        (
            storage.CARRIED,
            leaching.LEACHING,
            leaching.GROSS_NEED,
            leaching.GROSS_NEED_LEACHED,
        ),
    ),
    (
        "Watering days",
        (
            plants.PLANT_NEED_DAY,
            storage.STORE_LASTS,
            days.GAP_LIMIT,
            days.GAP_LIMIT_SHORTEST,
            days.EVENT_NEED_DAY,
            days.LIGHT_GAP,
            days.LIGHT_GAP_WEEKS,
            days.DEPLETION_GAP,
            days.RAISED_GAP,
            days.DAYS_PER_WEEK,
        ),
    ),
    (
        "Minutes",
        (cycles.EVENT_NET, cycles.EVENT_CUT, cycles.EVENT_GROSS, cycles.MINUTES),
    ),
    (
        "Cycle and soak",
        (
            intake.RUNOFF_LIMIT,
            cycles.LONGEST_CYCLE,
            cycles.LEAST_CYCLES,
            cycles.DAY_MINUTES,
            intake.SOAK,
            cycles.SOAK_ROUNDED,
        ),
    ),
    (
        "Totals",
        (
            cycles.WEEK_MINUTES,
            cycles.MONTH_MINUTES,
            cycles.APPLIED,
            cycles.RAIN_AND_SOIL,
            cycles.VOLUME,
            cycles.VOLUME_FILLED,
        ),
    ),
    (
        "Minutes by days",
        (
            candidates.GAP_NEED,
            candidates.LEAST_USEFUL,
            candidates.LEAST_MINUTES,
            candidates.NEED_MINUTES,
            candidates.FULL_MINUTES,
            candidates.MOST_MINUTES,
            candidates.MOST_MINUTES_HELD,
        ),
    ),
    (
        "One day",
        (
            day.NEED_TODAY,
            day.NEED_DORMANT,
            day.WATERED_MEAN,
            *day.DEPTH_OF_QUARTER,
            day.WATERED,
            day.REFILLED,
            day.DRAINED,
            day.STRESS,
            day.TAKEN,
            day.END,
            day.ASKED,
            day.DRY_OVER,
        ),
    ),
    (
        "One day where emitters wet a share of the ground",
        (
            unwetted.UNWETTED_SHARE,
            unwetted.TOTAL,
            unwetted.ALLOWED,
            unwetted.REFILLED,
            unwetted.STRESS,
            unwetted.TAKEN,
            unwetted.NEED_WETTED,
            unwetted.RAIN_ON_WETTED,
        ),
    ),
    ("Water budget", (water.ALLOWANCE, water.ESTIMATED_USE)),
)
"""All lines in the order of the method, as the README shows them."""


def label(name: str) -> str:
    """Quantity in words."""
    return QUANTITIES[name][0]


def in_words(line: Line, units: str) -> str:
    """Formula of a line with the names of its quantities."""
    return drawn(re.sub(r"[a-z_0-9]*[a-z][a-z_0-9]*", _label_of, line.formula(units)))


def _label_of(match: re.Match[str]) -> str:
    return match[0] if match[0] in FUNCTIONS else label(match[0])


def drawn(formula: str) -> str:
    """Formula with the signs of arithmetic as people write them."""
    for plain, drawn in (
        (" ** ", "^"),
        (" * ", " × "),
        (" / ", " / "),
        (" - ", " − "),
        ("sqrt(", "√("),
        ("ceil(", "round up("),
        ("floor(", "round down("),
    ):
        formula = formula.replace(plain, drawn)
    return formula


FUNCTIONS = {
    "min": min,
    "max": max,
    "sqrt": math.sqrt,
    "ceil": lambda x: math.ceil(x - TOLERANCE),
    "floor": lambda x: math.floor(x + TOLERANCE),
}


def digits(value: float) -> str:
    """Number to five figures, without an exponent or a thousands comma."""
    if not math.isfinite(value):
        return "none"
    if value == 0 or abs(value) >= 10000:
        return f"{value:.0f}"
    places = max(0, 4 - math.floor(math.log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
