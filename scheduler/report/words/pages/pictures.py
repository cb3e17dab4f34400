"""Titles, facts and notes of the pictures."""

from __future__ import annotations

from scheduler.report.shown import MONTH_LABELS, minutes, zone_label
from scheduler.report.words.pages.spoken import clock_of

ALL_ZONES = "All zones"
NOTHING_RUNS = "No zone runs in any month."
TABLE_SCALES = (
    "The bars of all zones have one scale, those at the bottom their own; the "
    "longest week of each zone is written out. Shares are of the year's minutes."
)

PLAN, OLD_SETTINGS = "plan", "old settings"

FROST = "frost"
ET0 = "ET0", ("what well-watered grass uses",)
RAIN = "Rain", ("filled: effective rain,", "what grass can use of it")
NET_NEED = "Net need", ("ET0 less effective rain",)
DRY_YEAR_LINES = "lines: in a dry year"

NORTH = "N"
UNKNOWN = "not known"
HOURS_A_WEEK, NEVER_RUNS = "hours a week", "never runs"
PAUSE = "nothing runs"
DRY_DAYS, DRY_LIMIT = "dry days of a hundred", "limit"
NO_LADDER = "the table is by months: there is no ladder to draw"

NO_KIND = "a file name that ends in .png or .svg"
SAME_FILE, ANOTHER_NAME = "is the file of --out too", "another name for the picture"


POINTS_KEY = (
    "A point is a zone, with its number: what its heads take, and the pressure they "
    "have. A cross: under the least working pressure. Hollow: the pressure is not "
    "known, drawn at the chart's."
)
DESIGN_FLOW, BUCKET = "design flow", "bucket"


def night_key(closed: bool) -> str:
    """How to read a night's picture; `closed` is whether some of it is grey."""
    key = (
        "Bars are runs, with their minutes; a line between them is soak; the last one "
        "says when it ends."
    )
    return f"{key} Grey: not permitted." if closed else key


def points(site: str, by_curve: bool) -> tuple[str, str]:
    """Title of the operating points' picture, and what its line is."""
    line = "The line: the pressure that the supply leaves at a flow; zones lie on it "
    line += "unless a gauge says otherwise."
    return f"Pressure and flow: {site}", line if by_curve else "One point a zone."


def flow_axis(unit: str) -> str:
    """What runs across the operating points' picture."""
    return f"flow, {unit}"


def pressure_axis(unit: str) -> str:
    """What runs up the operating points' picture."""
    return f"pressure at the heads, {unit}"


def table(site: str) -> str:
    """Title of the watering table's picture."""
    return f"Minutes a week: {site}"


def no_kind(suffix: str) -> str:
    """A picture's file of a kind that is not drawn."""
    return f'"{suffix}" is no kind of picture drawn here'


def ladder(zone: str, name: str, month: int) -> str:
    """Title of the ladder of a zone and month, 1 to 12."""
    return f"Zone {zone_label(zone, name)} in {MONTH_LABELS[month - 1]}"


def water_of_month(unit: str) -> str:
    """What a ladder's height is."""
    return f"water of the month, {unit}"


def kept(days: str, run_min: float) -> str:
    """Mark of the setting kept: its days, and minutes of each."""
    return f"{days}: {minutes(run_min)} min"


def a_year(amount: str) -> str:
    """A year's amount."""
    return f"{amount} a year"


def coverage(site: str, profile: str, air: str) -> tuple[str, str]:
    """Whose plan it is, how it is to be read, and what is not modelled."""
    return (
        f"{site}. Numbers on the ground are its water in percent of the zone's mean; "
        "hatched is under 70. Dots are heads, thin arcs their throw as charted; dashes "
        "hold the driest patch, a twentieth of the ground.",
        f"{profile.capitalize()} profile, {air}. Slope and wear are not modelled, and "
        "a test with catch cans mostly comes out lower.",
    )


def wind(speed: str) -> str:
    """How fast the wind is, beside its arrow."""
    return f"wind {speed}"


STILL_AIR = "still air"
OF_MEAN, OF_GROUND = "% of mean", "% of ground"


def band(low: float | None, high: float | None) -> str:
    """Water of a band in percent of the mean."""
    if low is None:
        return f"under {high:.0f}"
    return f"over {low:.0f}" if high is None else f"{low:.0f}\u2013{high:.0f}"


def climate_of(source: str, method: str) -> str:
    """Where the climate comes from, and its ET0."""
    return f"Climate {source}; ET0: {method}."


def reference_grass(source: str, method: str, store: str) -> str:
    """Where ET0 and effective rain come from; `source` may be ""."""
    begins = f"{source}; " if source else ""
    return (
        f"{begins}ET0: {method}. Effective rain is that of reference grass, by SCS "
        f"TR-21 with a store of {store}."
    )


def busiest(month: str, hours: str, water: str) -> str:
    """The month in which all zones run longest, and the water of a year."""
    return (
        f"Busiest month: {month}, with {hours} hours a week for all zones. "
        f"{water} a year."
    )


def climate(name: str, unit: str) -> tuple[str, str]:
    """Title of a climate's picture, and what its bars are."""
    return f"Climate of {name}", f"Depth of water in a month, in {unit}"


def means(first: int, last: int, percentile: float) -> str:
    """Years that bars are means of, and what the dry year is."""
    return (
        f"Bars are means of {first} to {last}. The dry year of a month is the one "
        f"whose ET0 - rain {percentile:g} % of the years do not pass."
    )


def evenness(
    mean_rate: str,
    uniformity: float,
    christiansen_percent: float,
    beyond_percent: float,
) -> str:
    """How much water a zone's ground gets, and how evenly."""
    facts = [
        f"mean {mean_rate}",
        f"DU {uniformity:.2f}",
        f"Christiansen {christiansen_percent:.0f} %",
    ]
    if beyond_percent >= 1.5:
        facts.append(f"{beyond_percent:.0f} % thrown beyond (gray)")
    return " · ".join(facts)


def driest(share: float) -> str:
    """Mark on the driest patch."""
    return f"driest patch: {100 * share:.0f} %"


def too_long(duration: str) -> str:
    """What orange bars are."""
    return f"Pale (orange): after closing, {duration} too long."


def times_of(timezone: str) -> str:
    """Whose clock a picture of the night shows."""
    return f"Times are those of {clock_of(timezone)}."
