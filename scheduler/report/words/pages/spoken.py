"""Numbers, months and plants in words that can be read aloud."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from scheduler.calendar import FULL_MONTHS
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.report.counting import counted, listed
from scheduler.units import L_PER_M3

MONTH_NAMES = tuple(month.capitalize() for month in FULL_MONTHS)

_NAMES = {
    ("volume", "us"): "gallons",
    ("volume", "metric"): "cubic meters",
    ("depth", "us"): "inches",
    ("depth", "metric"): "millimeters",
    ("area", "us"): "square feet",
    ("area", "metric"): "square meters",
}
_SIGNIFICANT = 3

A_TENTH = 0.08
"""From here on a share is told as a tenth; less is hardly any."""
_SHARES = (
    (0.92, "nearly all"),
    (0.70, "three quarters"),
    (0.58, "two thirds"),
    (0.42, "half"),
    (0.29, "a third"),
    (0.225, "a quarter"),
    (0.18, "a fifth"),
    (0.145, "a sixth"),
    (A_TENTH, "a tenth"),
    (0.005, "hardly any"),
)
_WATER_USE = ("very low water", "low water", "moderate water", "high water")
_TURF = {
    "cool-season turf": "lawn of cool-season grass",
    "warm-season turf": "lawn of warm-season grass",
}


def quantity(value_si: float, dimension: str, units: str) -> str:
    """Value in the reader's unit to three digits, with the unit's name in full."""
    return with_unit(rounded(value_si, dimension, units), dimension, units)


_RAINS = ((6.35, "a quarter of an inch"), (12.7, "half an inch"), (25.4, "an inch"))
"""Rain in a day that people measure by the eye."""


def rain(depth_mm: float, units: str) -> str:
    """Rain of a day: in plain fractions of an inch, or in whole millimeters."""
    told = next((words for mm, words in _RAINS if abs(mm - depth_mm) < 0.01), "")
    if units == "us" and told:
        return told
    return quantity(depth_mm, "depth", units)


def whole(volume_l: float, units: str) -> str:
    """Volume to the gallon, or to a tenth of a cubic meter, as bills have it."""
    number = volume_l / _unit("volume", units)[0]
    return f"{number:,.{0 if units == 'us' else 1}f} {_NAMES['volume', units]}"


def rounded(value_si: float, dimension: str, units: str) -> float:
    """Value in the reader's unit to three digits; depths to 0.1 in or 1 mm at most."""
    factor, most = _unit(dimension, units)
    number = value_si / factor
    return round(number, _decimals(number, most))


def with_unit(number: float, dimension: str, units: str) -> str:
    """Number of the reader's unit, with the unit's name in full."""
    decimals = max(_decimals(number, _unit(dimension, units)[1]), 0)
    return f"{number:,.{decimals}f} {_NAMES[dimension, units]}"


def _unit(dimension: str, units: str) -> tuple[float, int]:
    """SI value of the unit that a reader is told, and the most decimals."""
    if dimension == "volume" and units == "metric":
        return L_PER_M3, _SIGNIFICANT
    decimals = 1 if (dimension, units) == ("depth", "us") else 0
    return DIMENSIONS[dimension].shown(units).factor, decimals


def _decimals(number: float, most: int) -> int:
    if not number:
        return 0
    return min(_SIGNIFICANT - 1 - math.floor(math.log10(abs(number))), most)


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
        ends = [MONTH_NAMES[month - 1] for month in dict.fromkeys((first, last))]
        runs += ends if last == first % 12 + 1 else [" to ".join(ends)]
    return listed(runs)


def each(numbers: Sequence[int]) -> str:
    """Months 1 to 12 by name, in their order, one by one."""
    return listed([MONTH_NAMES[month - 1] for month in numbers])


def clock_of(timezone: str) -> str:
    """A time zone by its name, and what the name says where it counts hours.

    Names of Etc count them the other way round: Etc/GMT+8 is behind UTC.
    """
    found = re.fullmatch(r"Etc/GMT([+-])0*(\d+)", timezone)
    if not found:
        return timezone
    hours = int(found[2])
    if not hours:
        return f"{timezone} (UTC)"
    side = "behind" if found[1] == "+" else "ahead of"
    return f"{timezone} ({counted(hours, 'hour')} {side} UTC)"


def plant(name: str) -> str:
    """Plant of the package's table in words; a site's own name as it is."""
    for ending in _WATER_USE:
        if name.endswith(f" {ending}"):
            return f"{name.removesuffix(f' {ending}')} of {ending} use"
    for turf, words in _TURF.items():
        if name == turf or name.startswith(f"{turf} "):
            return words
    return name


def days_after_rain(days: int) -> str:
    """How long a controller stays off after days of rain."""
    what = "day" if days == 1 else f"{days} days"
    return f"the {what} after the last such day"


def but_new(days_off: int, until: str) -> str:
    """What is left out after rain while plantings are new, up to a date."""
    return (
        f"stop all but the new plantings for {days_after_rain(days_off)}: until "
        f"{until} the controller stays on for them. Leave out theirs only while their "
        "ground is wet."
    )
