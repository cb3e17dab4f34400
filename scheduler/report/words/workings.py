"""Workings in words: their parts, where values come from, and what is no number."""

from __future__ import annotations

from scheduler.report import shown

SUPPLY = "Supply"
OPERATING_POINT = "Operating point"
PRECIPITATION_RATE = "Precipitation rate"
NEED = "Need"
PARTS = "Parts of the zone"
ROOT_ZONE = "Root zone"
RAIN = "Rain"
GROSS_NEED = "Gross need"
WATERING_DAYS = "Watering days"
MINUTES = "Minutes"
CYCLE_AND_SOAK = "Cycle and soak"
LONGEST_CYCLE = "Longest cycle"
RANGE_OF_MINUTES = "Least and most minutes"
SETTING_KEPT = "Setting kept"
TOTALS = "Totals"
UNWETTED = "Ground that no emitter wets"
WATER_ON_QUARTER = "Water on the quarter"
GROUND, WETTED_GROUND = "Ground", "Wetted ground"
ORIGINS = "Where the tables' values come from"

SUPPLY_KEYS = "site.toml, [supply]"
CLIMATE_KEYS = "site.toml, [climate]"
CONTROLLER_KEYS = "site.toml, [controller]"
WATER_KEYS = "site.toml, [water]"
ZONES, HEADS, PARTS_FILE = "zones.csv", "heads.csv", "parts.csv"
HEADS_PATTERN = "heads.csv, pattern"
PLANT_FACTOR = "zones.csv, plant_factor"

CALENDAR = "calendar"
AS_EXPLAINED = "as explain works it out"
AS_TOLD = "as explain tells"
NOT_KNOWN = "not known, not counted"
FOUND_BY_TRIAL = "found by trial: the heads take it at the pressure below"
METERED = "metered"
BUCKET_GAVE = "the bucket test gave no more"
TABLE_OF_METERS = "table of meters"
METER_TENTH = "flow that loses a tenth of the static pressure"
HIGHEST_HEAD = "the highest head rate"
ZONE_RATE = "the zone's rate"
SUM_OF_HEADS = "sum over the heads of count × each"
DRIEST_QUARTER = (
    "sum over the driest quarter of ground × rate / that ground / mean rate"
)
WEIGHTED_QUARTER = "IA-LQ (second-hand), weighted by area"
COVERAGE_MODEL = "coverage model: scheduler coverage shows it"
CANS = "cans.csv, the driest quarter over the mean"
WETTEST_CAN = "cans.csv, the wettest can"
RAIN_NOT_COUNTED = "rain is not counted"
CARRIED_BEFORE = "net need of a month before that the store carried"
FEWEST_DAYS = "fewest permitted days within the gap limit"
WHOLE_WEEKS = "whole weeks"
CYCLES_CHOSEN = "least, or one or two more where that comes nearer"
WHOLE_STEPS = "whole steps nearest to the minutes a watering day"
SHORTEST_CYCLE = "the shortest that can be set; water runs off"
ALL_TAKEN_IN = "the controller's longest run: the soil takes in all that falls"
FILLED_FIRST = "before the first waterings of a season"
YEARS_PLAYED = "the years that are played"
WATERING_STAYS = "the same; rain drains before watering does"
NIGHT_HOLDS = (
    "what the hours of a night hold, soak between cycles; longest_day_min at most"
)
SPARSEST_PATTERN = "the sparsest pattern that the plants stand"
PATTERN_KEPT, RUNG_KEPT, KEPT = "the pattern kept", "the rung kept", "the setting kept"
DAY_BEFORE = "how the day before ended"

WORKED_OUT = "worked out below"
DECIDES = "the zone runs for the part that goes driest"
ASKED_FOR = "asked for by --part"
SHORTEST_OF_PARTS = "another part of the zone dries out sooner"
SLOWEST_OF_PARTS = "the part that takes water in slowest"
LEAST_OF_PARTS = "the part that holds least"
MOST_OF_PARTS = "the part that holds most"

MONTH, DAYS = "month", "days"
CARRIED = "carried by the soil", "gross need 0"
LEACHED_MOST = "a third at most: more needs other water or plants"
CARRIED_WHY = "the store carries it from a month beside, where rain suffices"
WEEKDAY = "day of the week"
HELD_BACK = "rain shut-off", "holds the watering back"
HELD_BACK_WHY = "rain before"
QUARTER_IS, DRY, NOT_DRY = "the quarter is", "dry", "not dry"
BY_DAYS_KEY = '[plan] by = "days"'
NO_DAYS_PLAYED = "the table is by months: no days were played"

POINT_FROM = {
    "gauge": "zones.csv, a gauge at the farthest head",
    "given": SUPPLY_KEYS,
    "curve": "as worked out above",
    "bucket": "where the heads take what the bucket test gave",
}
"""Where the pressure of a zone is taken from."""


def title(zone: str, name: str, month: int) -> str:
    """Heading of the working of a zone and month, 1 to 12."""
    return f"Working of zone {zone}, {name}, in {shown.MONTH_LABELS[month - 1]}"


def day_title(zone: str, name: str, date: str, quarter: str) -> str:
    """Heading of the working of one day of a quarter of a zone's ground."""
    ranked = quarter if quarter in ("driest", "wettest") else f"{quarter} driest"
    named = shown.zone_label(zone, name)
    return f"One day of zone {named}: {date}, the {ranked} quarter of its ground"


def weather(source: str, invented: bool) -> str:
    """Where the weather of a day comes from."""
    return f"years invented from {source}" if invented else source


def of_head(head: str) -> str:
    """A head of heads.csv."""
    return f"heads.csv, head {head}"


def usual(kind: str) -> str:
    """What is usual for a kind of head."""
    return f"usual for {kind}"


def table_of_pipes(pipe: str) -> str:
    """A pipe of the package's table."""
    return f"table of pipes, {pipe}"


def table_of_devices(device: str) -> str:
    """A backflow device of the package's table."""
    return f"table of backflow devices, {device}"


def as_it_runs_for(part: str) -> str:
    """Where the minutes of a part come from that the zone does not run for."""
    return f"as the zone runs for {part}: explain without --part works them out"


def part_in_month(share: float, need: str, dry_percent: float) -> str:
    """A part of a zone in a month: its share of the ground, and what it needs."""
    ground = f"{100 * share:.0f} % of the ground, need {need}"
    if dry_percent != dry_percent:
        return ground
    return f"{ground}, dry {dry_percent:.0f} of 100 days"


def basins(percent: float) -> str:
    """What basins of bubblers take in and hold, over all of the ground."""
    return f"basins on {percent:.0f} % of the ground, over all of it"


def on_slope(soil: str, slope_percent: float) -> str:
    """A soil at a slope."""
    return f"{soil} at {slope_percent:g} % slope"


def origin(source: str, status: str) -> str:
    """Where a value of a table comes from, and how that was read."""
    return f"{source} ({status})"
