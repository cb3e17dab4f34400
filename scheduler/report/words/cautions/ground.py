"""Cautions about soil, salt, frost and rain."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import counted
from scheduler.report.shown import MONTH_LABELS, quantity
from scheduler.report.words.frost import freezing, span


def _frost(values: Mapping[str, Any], units: str) -> str:
    return (
        f"mean minimum down to {quantity(values['tmin_c'], 'temperature', units)}: "
        "nothing runs; drain lines in time (water_in_frost = true overrules)"
    )


def _frost_nights(values: Mapping[str, Any], units: str) -> str:
    up_to = "up to " if values.get("worst_of_several") else ""
    return (
        f"{up_to}{counted(round(values['nights']), 'night')} of the month at "
        f"{freezing(units)} or below while it waters: have lines that can freeze "
        f"{span(values['season'])}, or skip a watering on such a night"
    )


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
    return (
        f"water of {values['salinity_ds_m']:g} dS/m is too salty for a plant that "
        f"stands {values['salt_threshold_ds_m']:g} dS/m; leaching is held to half"
    )


def _salt_unknown(values: Mapping[str, Any], units: str) -> str:
    return "no salt threshold for the plant, so nothing is added for leaching"


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


def _rate_over_intake(values: Mapping[str, Any], units: str) -> str:
    def up_to(value: float) -> str:
        if math.isinf(value):
            return "at any rate"
        return f"up to {quantity(value, 'rate', units)}"

    one, two = values["one_cycle_mm_h"], values["two_cycles_mm_h"]
    forced, cycles = values["forced_cycles"], values["cycles"]
    more = f" ({cycles} are set: they come nearest to its minutes)" * (cycles > forced)
    return (
        f"{quantity(values['peak_rate_mm_h'], 'rate', units)} forces "
        f"{forced} cycles in {MONTH_LABELS[values['month'] - 1]}{more}; two "
        f"suffice {up_to(two)}, one {up_to(one)}"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "frost-month": _frost,
    "frost-nights": _frost_nights,
    "no-rain-shutoff": _no_shutoff,
    "rain-counted-twice": _rain_twice,
    "salinity-high": _salinity_high,
    "salt-tolerance-unknown": _salt_unknown,
    "parts-share-valve": _parts_share_valve,
    "rate-over-intake": _rate_over_intake,
}
