"""What can hardly be meant, in words: a unit in the wrong column comes first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import named, verb
from scheduler.report.shown import quantity, symbol

_COLUMNS = {
    "catch-can": "catch_* and can_diameter_*",
    "measured": "rate_*",
    "emitters": "emitter_flow_*, emitter_spacing_* and emitter_row_spacing_*",
    "flow and area": "flow_*, area_* and spacing_*",
}
"""Columns that a rate comes from, by its source."""


def _rate(values: Mapping[str, Any], units: str) -> str:
    """A rate that the heads can hardly lay down, or that the other numbers belie."""
    found = quantity(values["rate_mm_h"], "rate", units)
    columns = _COLUMNS[values["rate_source"]]
    if "by_flow_mm_h" in values:
        by_flow = quantity(values["by_flow_mm_h"], "rate", units)
        who = "the cans say" if values["rate_source"] == "catch-can" else "rate_* says"
        return (
            f"{who} {found}, and the plan goes by it, but flow over area is {by_flow}: "
            f"look first at the units in the column names {columns}, then flow_*, "
            "area_* and spacing_*"
        )
    low, high = (
        quantity(values[end], "rate", units).removesuffix(f" {symbol('rate', units)}")
        for end in ("low_mm_h", "high_mm_h")
    )
    less = "less" if values["rate_mm_h"] < values["low_mm_h"] else "more"
    kind = "drip" if values["head_kind"] == "drip" else f"a {values['head_kind']} head"
    return (
        f"{found} is far {less} than {kind} lays down, {low} to {high} as a rule: look "
        f"first at the units in the column names {columns}, then at head_kind"
    )


def _rate_off(values: Mapping[str, Any], units: str) -> str:
    """A measured rate that flow over area does not give, and what that may mean."""
    rate, by_flow = values["rate_mm_h"], values["by_flow_mm_h"]
    off = abs(100 * (rate / by_flow - 1))
    who = "the cans caught" if values["rate_source"] == "catch-can" else "rate_* says"
    told = (
        f"{who} {quantity(rate, 'rate', units)}, {off:.0f} % "
        f"{'less' if rate < by_flow else 'more'} than flow over area, "
        f"{quantity(by_flow, 'rate', units)}; the plan goes by what was measured. "
    )
    if rate < by_flow:
        return (
            f"{told}Less pressure or clogged nozzles, a leak, wind, water thrown "
            "outside, or an area taken too small: read the meter while the zone runs"
        )
    return (
        f"{told}Larger nozzles or more pressure than the plan has, cans set near "
        "heads, or an area taken too large: read the meter while the zone runs"
    )


def _throw(values: Mapping[str, Any], units: str) -> str:
    """Heads that throw far past the next head."""
    heads = values["heads"]
    return (
        f"{named('head', heads)} {verb(len(heads), 'throw')} "
        f"{quantity(values['radius_m'], 'length', units)} but "
        f"{verb(len(heads), 'stand')} "
        f"{quantity(values['spacing_m'], 'length', units)} "
        "apart: look first at the units in the column names radius_* and spacing_*"
    )


def _area(values: Mapping[str, Any], units: str) -> str:
    """An area that is off as a square foot is off a square meter."""
    area, ground = values["area_m2"], values["head_area_m2"]
    times = max(area / ground, ground / area)
    more = "over" if area > ground else "under"
    return (
        f"area {quantity(area, 'area', units)} is {times:.0f} times {more} what the "
        f"heads' spacing covers, {quantity(ground, 'area', units)}: look first at the "
        "units in the column names area_* and spacing_*"
    )


def _place(values: Mapping[str, Any], units: str) -> str:
    """A longitude that hardly has the right sign."""
    return (
        f"longitude {values['longitude_deg']:g} lies in Asia, where US units are not "
        "used: west of Greenwich is negative; sunrise, and the hours that end with it, "
        "hang on it"
    )


def _climate(values: Mapping[str, Any], units: str) -> str:
    """A climate that is hardly one of this place."""
    if values["what"] == "rain":
        told = f"{quantity(values['rain_mm'], 'depth', units)} of rain a year"
    elif values["what"] == "rain-even":
        return (
            f"the climate file says {quantity(values['rain_mm'], 'depth', units)} of "
            "rain a year, a desert's, yet some in every month, as no desert has it: "
            "does its column hold a day's mean? It takes the month's total"
        )
    elif values["what"] == "rain-little":
        return (
            f"the climate file says {quantity(values['rain_mm'], 'depth', units)} of "
            "rain a year, as in the driest deserts: does its column hold a day's mean? "
            "It takes the month's total"
        )
    elif values["what"] == "et0":
        told = f"{quantity(values['et0_mm'], 'depth', units)} of ET0 a year"
    elif values["what"] == "cold":
        warmest = quantity(values["tmax_c"], "temperature", units)
        told = f"a warmest month of {warmest}"
    elif values["what"] == "leap":
        month, beside = (quantity(values[name], "depth_day", units)
                         for name in ("et0_mm_day", "beside_mm_day"))  # fmt: skip
        return (
            f"ET0 is {month}, while the months beside it have {beside}: look for a "
            "slip of the pen in the climate file"
        )
    else:
        return (
            f"at latitude {values['latitude_deg']:g} the warm months should be the "
            "other half of the year: check the sign of the latitude, and the file"
        )
    return f"the climate file says {told}: check the units in its column names"


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "climate-doubtful": _climate,
    "place-doubtful": _place,
    "rate-doubtful": _rate,
    "area-doubtful": _area,
    "throw-doubtful": _throw,
    "rate-off": _rate_off,
}
