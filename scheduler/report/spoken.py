"""Numbers, months and plants in words that can be read aloud."""

from __future__ import annotations

import calendar
import math
from collections.abc import Sequence

from scheduler.inputs.dimensions import DIMENSIONS
from scheduler.report.shown import listed
from scheduler.units import L_PER_M3

_NAMES = {
    "gal": "gallons",
    "L": "liters",
    "in": "inches",
    "mm": "millimeters",
    "ft²": "square feet",
    "m²": "square meters",
}
_SIGNIFICANT = 3
_MOST_LITERS = 10_000
"""Liters above which a reader is told cubic meters, as on a bill."""

_SHARES = (
    (0.92, "nearly all"),
    (0.70, "three quarters"),
    (0.58, "two thirds"),
    (0.42, "half"),
    (0.29, "a third"),
    (0.225, "a quarter"),
    (0.175, "a fifth"),
    (0.08, "a tenth"),
    (0.005, "hardly any"),
)
_WATER_USE = ("very low water", "low water", "moderate water", "high water")
_TURF = {
    "cool-season turf": "lawn of cool-season grass",
    "warm-season turf": "lawn of warm-season grass",
}


def quantity(value_si: float, dimension: str, units: str) -> str:
    """Value in the reader's unit to three digits, with the unit's name in full."""
    if dimension == "volume" and units == "metric" and value_si >= _MOST_LITERS:
        return f"{_rounded(value_si / L_PER_M3)} cubic meters"
    unit = DIMENSIONS[dimension].shown(units)
    digits = 1 if dimension == "depth" and units == "us" else 0
    return f"{_rounded(unit.from_si(value_si), digits)} {_NAMES[unit.symbol]}"


def _rounded(number: float, digits: int | None = None) -> str:
    """Number to three significant digits, and to no more decimals than given."""
    if not number:
        return "0"
    needed = _SIGNIFICANT - 1 - math.floor(math.log10(abs(number)))
    decimals = needed if digits is None else min(needed, digits)
    return f"{round(number, decimals):,.{max(decimals, 0)}f}"


def share(part: float) -> str:
    """Share in words, from `nearly all` to `none`."""
    return next((words for least, words in _SHARES if part >= least), "none")


def months(numbers: Sequence[int]) -> str:
    """Months 1 to 12 by name, in runs around the turn of the year."""
    wanted = set(numbers)
    if len(wanted) == 12:
        return "all year"
    runs = []
    for first in sorted(wanted):
        if (first - 2) % 12 + 1 in wanted:
            continue
        last = first
        while last % 12 + 1 in wanted:
            last = last % 12 + 1
        joined = " and " if last == first % 12 + 1 else " to "
        names = [calendar.month_name[month] for month in dict.fromkeys((first, last))]
        runs.append(joined.join(names))
    return listed(runs)


def plant(name: str) -> str:
    """Plant of the package's table in words; a site's own name as it is."""
    for ending in _WATER_USE:
        if name.endswith(f" {ending}"):
            return f"{name.removesuffix(f' {ending}')} of {ending} use"
    for turf, words in _TURF.items():
        if name == turf or name.startswith(f"{turf} "):
            return words
    return name
