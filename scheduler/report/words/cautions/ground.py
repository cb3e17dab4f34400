"""Cautions about soil, salt, frost and rain."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import counted
from scheduler.report.shown import MONTH_LABELS, quantity
from scheduler.report.words.frost import freezing, span

OFF_THE_TRUNK_M = 3.0
"""Oregon State extension: 10 ft from the root crown of an oak; once a month at most is
the University of California's, Ventura County (both read)."""


def _summer_dry(values: Mapping[str, Any], units: str) -> str:
    return (
        "nothing runs, on purpose: warm wet soil rots the roots of such plants. Keep "
        f"all water {quantity(OFF_THE_TRUNK_M, 'length', units)} off the trunk; in a "
        "long drought water deeply, once a month at most, under the outer part of the "
        "crown"
    )


def _frost(values: Mapping[str, Any], units: str) -> str:
    return (
        f"mean minimum down to {quantity(values['tmin_c'], 'temperature', units)}: "
        "nothing runs; lines that can freeze are to be empty"
    )


def _frost_nights(values: Mapping[str, Any], units: str) -> str:
    up_to = "up to " if values.get("worst_of_several") else ""
    told = (
        f"{up_to}{counted(round(values['nights']), 'night')} of the month at "
        f"{freezing(units)} or below while it waters"
    )
    season, known = values["season"], values["lines_can_freeze"]
    if season is None or known == "no":
        return f"{told}: skip a watering before such a night"
    either = (
        ""
        if known == "yes"
        else "; where they cannot, skip a watering before such a night"
    )
    return f"{told}: have lines that can freeze {span(season, units)}{either}"


def _rain_twice(values: Mapping[str, Any], units: str) -> str:
    return (
        f'rain is counted by effective_rain = "{values["method"]}" and also stops the '
        'controller: set "none", or the plan may leave plants short'
    )


def _no_shutoff(values: Mapping[str, Any], units: str) -> str:
    setting = quantity(values["rain_shutoff_mm"], "depth", units)
    return (
        f"no rain shut-off is fitted; one set to {setting} would let no day water that "
        "begins wet (many local rules ask for one)"
    )


def _salinity_high(values: Mapping[str, Any], units: str) -> str:
    water, stands = values["salinity_ds_m"], values["salt_threshold_ds_m"]
    return (
        f"water of {water:g} dS/m is too salty for plants that stand {stands:g} dS/m "
        "in the soil: more than a third of it would have to pass below the roots. A "
        f"third is given, and the soil comes to {_soil(values['soil_ds_m'])} all the "
        "same: other water, or this mixed with better, or plants that stand it"
    )


def _soil(salinity_ds_m: float) -> str:
    return "more and more" if math.isinf(salinity_ds_m) else f"{salinity_ds_m:.1f} dS/m"


def _salt_unknown(values: Mapping[str, Any], units: str) -> str:
    return "no salt threshold for the plant, so nothing is added for leaching"


def _coefficient_high(values: Mapping[str, Any], units: str) -> str:
    return (
        f"a landscape coefficient of {values['landscape_coefficient']:.2f} (plant "
        f"{values['plant_coefficient']:.2f}, the rest microclimate_factor and "
        f"density_factor): hardly any planting drinks over {values['most']:.1f} of "
        "ET0; lower a factor"
    )


def _parts_share_valve(values: Mapping[str, Any], units: str) -> str:
    part, share = values["part"], 100 * values["too_much_share"]
    too_much, saves = (
        quantity(values[name], "volume", units)
        for name in ("too_much_l", "apart_saves_l")
    )
    told = (
        f"parts share the valve, which runs for {values['decides']}; {part}: "
        f"{too_much} a year ({share:.0f} %) more than on a valve of their own. A valve "
        f"for each part would save {saves}"
    )
    if values["heads_save_l"] is None:
        return told
    rate = quantity(values["heads_mm_h"], "rate", units)
    heads = quantity(values["heads_save_l"], "volume", units)
    return f"{told}, heads of about {rate} on {part} {heads}"


def _spray_on_food(values: Mapping[str, Any], units: str) -> str:
    return (
        f"is {values['source']} water sprayed on what is eaten? Give such plants drip "
        "under a mulch, or drinking water from a supply of its own: local rules say "
        "what is allowed"
    )


def _recycled_by_day(values: Mapping[str, Any], units: str) -> str:
    return (
        f"hours from {values['opens']} to {values['closes']} let heads spray recycled "
        "water while people are about: keep them to the night, and spray off paths, "
        "tables, fountains and windows"
    )


def _salinity_unknown(values: Mapping[str, Any], units: str) -> str:
    return (
        f"the salinity of {values['source']} water is not given, so nothing is planned "
        "against salt: ask the supplier, or have a sample measured, and write [water] "
        "salinity_ds_m"
    )


def _drinking_salty(values: Mapping[str, Any], units: str) -> str:
    return (
        f"water of {values['salinity_ds_m']:g} dS/m is too salty to drink; [supply] "
        "source is drinking: write well, pond or recycled, for hours, signs, filters "
        "and what may be sprayed hang on it, or mend salinity_ds_m"
    )


def _recycled_signs(values: Mapping[str, Any], units: str) -> str:
    return (
        "recycled water asks for signs, purple pipe and boxes, no connection to "
        "drinking water, and mostly for a permit: read the local rule first"
    )


def _filter_needed(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{values['source']} water clogs emitters: a filter of 120 mesh (130 microns) "
        "or finer before them, and lines that can be flushed at their ends"
    )


def _rate_over_intake(values: Mapping[str, Any], units: str) -> str:
    fewer = []
    for word, most in (("two suffice", values["two_cycles_mm_h"]),
                       ("one", values["one_cycle_mm_h"])):  # fmt: skip
        if most is not None:
            fewer.append(f"{word} up to {quantity(most, 'rate', units)}")
    less = f"; {', '.join(fewer)}"
    if not fewer:
        less = ", and no head of its kind lays so little that fewer would do"
    forced, cycles = values["forced_cycles"], values["cycles"]
    more = f" ({cycles} are set: they come nearest to its minutes)" * (cycles > forced)
    return (
        f"{quantity(values['peak_rate_mm_h'], 'rate', units)} forces "
        f"{forced} cycles in {MONTH_LABELS[values['month'] - 1]}{more}{less}"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "summer-dry": _summer_dry,
    "frost-month": _frost,
    "frost-nights": _frost_nights,
    "no-rain-shutoff": _no_shutoff,
    "rain-counted-twice": _rain_twice,
    "coefficient-high": _coefficient_high,
    "salinity-high": _salinity_high,
    "spray-on-food": _spray_on_food,
    "recycled-by-day": _recycled_by_day,
    "salinity-unknown": _salinity_unknown,
    "drinking-salty": _drinking_salty,
    "recycled-signs": _recycled_signs,
    "filter-needed": _filter_needed,
    "salt-tolerance-unknown": _salt_unknown,
    "parts-share-valve": _parts_share_valve,
    "rate-over-intake": _rate_over_intake,
}
