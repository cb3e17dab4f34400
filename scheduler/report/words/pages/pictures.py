"""Titles, facts and notes of the pictures."""

from __future__ import annotations

import math

ALL_ZONES = "All zones"
NOTHING_RUNS = "No zone runs in any month."
TABLE_SCALES = (
    "The bars of all zones have one scale, those at the bottom their own; the "
    "longest week of each zone is written out. Shares are of the year's minutes."
)

FROST = "frost"
ET0 = "ET0", ("what well-watered grass uses",)
RAIN = "Rain", ("filled: effective rain,", "what grass can use of it")
NET_NEED = "Net need", ("ET0 less effective rain",)
DRY_YEAR_LINES = "lines: in a dry year"

NIGHT_KEY = (
    "Bars are runs, with their minutes; a line between them is soak; the last one "
    "says when it ends. Grey: not permitted."
)


POINTS_KEY = (
    "A point is a zone, with its number: what its heads take, and the pressure they "
    "have. A cross: under the least working pressure. Hollow: the pressure is not "
    "known, drawn at the chart's."
)
DESIGN_FLOW, BUCKET = "design flow", "bucket"


def points(site: str, by_curve: bool) -> tuple[str, str]:
    """Title of the operating points' picture, and what its line is."""
    line = "The line: the pressure that the supply leaves at a flow; zones lie on it "
    line += "unless a gauge says otherwise."
    return f"Pressure and flow: {site}", line if by_curve else "One point a zone."


def table(site: str) -> str:
    """Title of the watering table's picture."""
    return f"Minutes a week: {site}"


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
    scheduling_coefficient: float,
    beyond_percent: float,
) -> str:
    """How much water a zone's ground gets, and how evenly."""
    facts = [
        f"mean {mean_rate}",
        f"DU {uniformity:.2f}",
        f"CU {christiansen_percent:.0f} %",
    ]
    if math.isfinite(scheduling_coefficient):
        facts.append(f"SC {scheduling_coefficient:.2f}")
    if beyond_percent >= 1.5:
        facts.append(f"{beyond_percent:.0f} % thrown beyond (grey)")
    return " · ".join(facts)


def driest(rate: str) -> str:
    """Mark on the driest spot."""
    return f"driest {rate}"


def too_long(duration: str) -> str:
    """What orange bars are."""
    return f"Orange: after closing, {duration} too long."


def times_of(timezone: str) -> str:
    """Whose clock a picture of the night shows."""
    return f"Times are those of {timezone}."
