"""What the page for the water agency says: headings, rows and sentences."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.budget.water import (
    DRIP_EFFICIENCY,
    ORDINANCE_CONVERSION,
    OVERHEAD_EFFICIENCY,
    SPECIAL_FACTOR,
)
from scheduler.report import shown
from scheduler.report.frames import Headings
from scheduler.units import L_PER_GAL, M2_PER_FT2, MM_PER_IN

TITLE = "for the water agency"
PARAMETERS = "Parameters of each zone"
SCHEDULE = "Schedule by month"
BUDGET = "Water budget of a year"
NOT_MEASURED = "Assumed, not measured"
ASKED = ("Applicant", "applicant"), ("Site address", "address"), ("Meter", "meter")
"""What an agency asks for: label, and the word in a key of `[door]` that tells it."""
PLACE, CLIMATE, PLANNED = "Place", "Weather", "Plan"
WATER, PERMITTED = "Water", "Permitted"
ZONE_AND_MONTH = "Zone"
DAYS, MINUTES, SOAK, YEAR = "days", "min", "soak", "Year"
ET0 = "Reference evapotranspiration (ET0)"
OFF = "off"
SPECIAL_AREA = "Special area"
ALL_ZONES, ALLOWANCE, THIS_PLAN = "All zones", "Allowance", "This plan"
ESTIMATED_USE, KEYED_IN = "Estimated use", "Keyed in as on the door pages"
SIGNED_FOR = "Signed for"
BY_PLANNER = "The plan, by whoever prepared it", "Name and license", "Signature", "Date"
BY_AGENCY = "Seen by the agency", "Name", "Signature", "Date"
DEFERS = (
    "Whether this meets the local rule, and which factor, areas and efficiencies that "
    "rule takes, is for the agency to say: this page tells what was planned with, and "
    "claims no more. Allowance and estimated use are those of the model landscape "
    "ordinance; an agency may want a form of its own."
)
SCHEDULE_KEY = (
    "The plan of each month. The controller comes near it with few settings: days, "
    "starts, minutes and percents as keyed in stand on the pages for its door, their "
    "water under 3. Minutes of a watering day, or its cycles x minutes with so many "
    "minutes of soak between. Water is what the valves deliver, fillings included "
    "and before any rain shut-off."
)
NEW_PLANTINGS = (
    "New plantings have steps of their own until they have grown in: see the pages for "
    "the controller door. The schedule is for the time after."
)
OF_ZONES = Headings(
    {
        "zone": "zone",
        "plant": "plant",
        "soil": "soil",
        "slope": "slope\n%",
        "area": "area",
        "head_kind": "heads",
        "flow": "flow",
        "rate": "precipitation\nrate",
        "uniformity": "uniformity\n(from)",
        "coefficient": "landscape\ncoefficient",
        "root_depth": "root\ndepth",
    }
)
OF_USE = Headings(
    {
        "zone": "hydrozone",
        "plant": "plant",
        "method": "method",
        "plant_factor": "plant\nfactor",
        "efficiency": "efficiency",
        "et_factor": "factor /\nefficiency",
        "area": "area",
        "estimated_use": "estimated\nuse",
    }
)
OF_YEAR = Headings(
    {"what": "", "water": "water a year", "of_allowance": "of the\nallowance"}
)
UNROUNDED = (
    "Sums are by unrounded figures: reckoned from the digits that are printed they may "
    "differ in the last ones."
)
AREA_APART = (
    "Its area stands in a line of its own; the zone's line has what is left, 0 where "
    "all of it is special."
)
_SOURCES = {
    "drinking": "drinking water",
    "well": "a well",
    "pond": "a pond or the like",
    "recycled": "recycled water",
}
METHODS = {False: "overhead", True: "drip, bubbler"}


def place(latitude: float, longitude: float, elevation_m: float, units: str) -> str:
    """Where the site is."""
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    high = shown.quantity(elevation_m, "length", units, 0)
    return f"{abs(latitude):g}° {north}, {abs(longitude):g}° {east}, {high} high"


def weather(source: str, method: str, et0_mm: float, units: str) -> str:
    """What the plan's ET0 comes from, and what a year of it comes to."""
    return f"{source}; {method}; ET0 {_et0(et0_mm, units)} a year"


def span(least: float, most: float) -> str:
    """A coefficient that changes through the year."""
    low, high = f"{least:.2f}", f"{most:.2f}"
    return low if low == high else f"{low} to {high}"


def filling(zone: str, month: int, fill_min: float, days: int) -> str:
    """What fills the ground of a zone as a month 1 to 12 begins."""
    each = f" on each of {days} days" if days > 1 else ""
    return (
        f"{zone}, {shown.MONTH_LABELS[month - 1]} {shown.minutes(fill_min)} min{each}"
    )


def fillings(told: Sequence[str]) -> str:
    """All that is filled."""
    return f"Dry ground is filled first, as the month begins: {'; '.join(told)}."


def source(kind: str) -> str:
    """Where the water comes from."""
    return _SOURCES[kind]


def window(
    months: Sequence[int],
    kinds: Sequence[str],
    days: str,
    hours: tuple[str, str],
    most_days: int,
) -> str:
    """When watering is permitted; no `kinds`: any head; `most_days` 0: no limit."""
    whose = f", {', '.join(kinds)}" if kinds else ""
    when = "all year" if len(months) == 12 else shown.months_text(list(months))
    most = f", at most {most_days} days a week" if most_days else ""
    return f"{when}{whose}: {days}, {hours[0]} to {hours[1]}{most}"


def verdict(keyed_l: float, allowance_l: float, estimate_l: float, units: str) -> str:
    """How far what is keyed in is off the allowance, and why the estimate differs."""
    over_l = keyed_l - allowance_l
    keyed = shown.quantity(keyed_l, "volume", units)
    off = shown.quantity(abs(over_l), "volume", units)
    share = f" ({100 * abs(over_l) / allowance_l:.0f} %)" if allowance_l else ""
    side = "over" if over_l > 0 else "under"
    how = "more" if estimate_l > keyed_l else "less"
    return (
        f"The plan takes {keyed} a year as it is keyed in, {off}{share} {side} the "
        f"allowance: the last line below. The estimated use is {how}: it counts no "
        "rain, nothing of what the soil holds, and has the ordinance's efficiencies in "
        "place of each zone's own uniformity."
    )


def factor(number: float) -> str:
    """What the factor of the allowance is, and where it is from."""
    usual = {0.55: " for homes", 0.45: " for all but homes"}.get(number, "")
    whose = f"of the model landscape ordinance{usual}" if usual else "as given for here"
    return (
        f"{number:g} is the ET adjustment factor {whose}; special area counts with "
        f"{SPECIAL_FACTOR:g}, so {1 - number:.3g} more."
    )


def allowance(
    et0_mm: float,
    area_m2: float,
    special_m2: float,
    factor: float,
    volume_l: float,
    units: str,
) -> str:
    """The allowance worked out with its numbers, for a pocket calculator."""
    area, special = (
        f"{shown.amount(value, 'area', units)} {shown.symbol('area', units)}"
        for value in (area_m2, special_m2)
    )
    ground = f"({factor:g} × {area} + {1 - factor:.3g} × {special})"
    volume = shown.quantity(volume_l, "volume", units)
    if units != "us":
        return f"{ALLOWANCE} = {_et0(et0_mm, units)} × {ground} = {volume}."
    exact = MM_PER_IN * M2_PER_FT2 / L_PER_GAL
    rounded = shown.quantity(volume_l / exact * ORDINANCE_CONVERSION, "volume", units)
    return (
        f"{ALLOWANCE} = {_et0(et0_mm, units)} × {exact:.4f} × {ground} = {volume}, of "
        f"which {exact:.4f} are the gallons in an inch on a square foot; with the "
        f"{ORDINANCE_CONVERSION:g} that the ordinance rounds them to, {rounded}."
    )


def estimate(units: str) -> str:
    """How the estimated use of a line comes about."""
    exact = MM_PER_IN * M2_PER_FT2 / L_PER_GAL
    constant = f" × {exact:.4f}" if units == "us" else ""
    return (
        f"{ESTIMATED_USE} = ET0{constant} × plant factor / efficiency × area; "
        f"efficiency {OVERHEAD_EFFICIENCY:g} overhead, {DRIP_EFFICIENCY:g} drip and "
        f"bubblers; of special area the factor is {SPECIAL_FACTOR:g} in place of both."
    )


def _et0(et0_mm: float, units: str) -> str:
    return shown.quantity(et0_mm, "depth", units, 2 if units == "us" else 0)
