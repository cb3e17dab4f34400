"""Cautions in the reader's words and units."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence
from typing import Any

from scheduler.errors import Caution
from scheduler.inputs.site import Assumed
from scheduler.report.shown import (
    MONTH_LABELS,
    listed,
    minutes,
    months_text,
    quantity,
    value_text,
)
from scheduler.report.views import supply
from scheduler.report.words import unlikely as doubts
from scheduler.report.words.climate import assumption_sentence
from scheduler.units import MIN_PER_H

WATCH = (
    "A plan is a starting point: watch the zone run, and mend minutes by what you see.",
    "Local watering rules come first, whatever the table says.",
)

WORK_SAFELY = (
    "Before you touch pipes or wires: keep the backflow preventer working and to the",
    "local plumbing code; leave to licensed people what the law leaves to them, and",
    "mains wiring to an electrician; have utilities marked before you dig; drain or",
    "blow out lines before frost at low pressure; with recycled water keep its signs.",
)


ONLY_TOLD = ("value-assumed", "not-used-yet", "sheets-not-read")
"""Codes that say what was taken for granted; nothing is to be mended."""


def sentence(caution: Caution, units: str) -> str:
    """One caution as a sentence, without its zone and month."""
    return _SENTENCES[caution.code](caution.values, units)


def _unmatched(values: Any, units: str) -> str:
    low, high = 100 * values["lowest_share"], 100 * values["highest_share"]
    return (
        f"heads lay {low:.0f} to {high:.0f} % of the zone's mean rate: choose nozzles "
        "whose flow goes with the arc (full 4 : half 2 : quarter 1)"
    )


def _pressure_assumed(values: Any, units: str) -> str:
    at = quantity(values["pressure_kpa"], "pressure", units)
    whose = "the chart's" if values["printed"] else "usual for such heads"
    return (
        f"flow is taken as printed, at {at} ({whose}), because [supply] pressure is "
        "not given: measure it at a running head"
    )


def _pressure_too_high(values: Any, units: str) -> str:
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} at the heads, but the "
        f"chart says {quantity(values['chart_kpa'], 'pressure', units)}: spray turns "
        "to mist; regulate the pressure"
    )


def _pressure_too_low(values: Any, units: str) -> str:
    return (
        f"{quantity(values['pressure_kpa'], 'pressure', units)} at the heads, but the "
        f"chart says {quantity(values['chart_kpa'], 'pressure', units)}: streams fall "
        "short and leave a dry ring; smaller nozzles or fewer heads raise the pressure"
    )


def _flow_over_supply(values: Any, units: str) -> str:
    over = values["flow_l_min"] - values["design_flow_l_min"]
    return (
        f"needs {quantity(values['flow_l_min'], 'flow', units)}, "
        f"{quantity(over, 'flow', units)} more than the design flow of "
        f"{quantity(values['design_flow_l_min'], 'flow', units)}: smaller nozzles, "
        "or split the zone"
    )


def _area_mismatch(values: Any, units: str) -> str:
    return (
        f"area is given as {quantity(values['area_m2'], 'area', units)}, but the "
        f"heads' spacing covers {quantity(values['head_area_m2'], 'area', units)}: "
        "check both with the tape"
    )


def _days_too_few(values: Any, units: str) -> str:
    days = values["gap_limit_days"]
    few = "as few as " if values.get("worst_of_several") else ""
    return (
        f"roots stand {few}{days} day{'s' if days != 1 else ''} without water, longer "
        "gaps are left between permitted days: ask for more days, or deepen the roots"
    )


def _need_unmet(values: Any, units: str) -> str:
    return (
        f"{_up_to(values)}{quantity(values['unmet_mm'], 'depth', units)} a month more "
        "is needed than "
        "the root zone can store from one watering day to the next"
    )


def _not_permitted(values: Any, units: str) -> str:
    return (
        "no [[window]] permits watering, "
        f"{_up_to(values)}{quantity(values['unmet_mm'], 'depth', units)} a month of "
        "need goes unmet"
    )


def _up_to(values: Any) -> str:
    return "up to " if values.get("worst_of_several") else ""


def _cycle_too_short(values: Any, units: str) -> str:
    longest = minutes(values["longest_cycle_min"])
    return (
        f"water runs off after {values['runoff_limit_min']:.1f} min, too soon to "
        f"split a run; cycles of up to {longest} min are set all the same, and some "
        "of it runs off: lower the precipitation rate"
    )


def _starts_too_few(values: Any, units: str) -> str:
    return (
        f"{_up_to(values)}{values['cycles']} cycles a day, a program has "
        f"{values['starts']} starts: use a second program, or a controller with soak "
        "built in"
    )


def _frost(values: Any, units: str) -> str:
    return (
        f"mean minimum down to {quantity(values['tmin_c'], 'temperature', units)}: "
        "nothing runs; drain lines in time (water_in_frost = true overrules)"
    )


def _rain_twice(values: Any, units: str) -> str:
    return (
        f'rain is counted by effective_rain = "{values["method"]}" and also stops the '
        'controller: set "none", or the plan may leave plants short'
    )


def _salinity_high(values: Any, units: str) -> str:
    return (
        f"water of {values['salinity_ds_m']:g} dS/m is too salty for a plant that "
        f"stands {values['salt_threshold_ds_m']:g} dS/m; leaching is held to half"
    )


def _salt_unknown(values: Any, units: str) -> str:
    return "no salt threshold for the plant, so nothing is added for leaching"


def _assumed(values: Any, units: str) -> str:
    if "climate" in values:
        return assumption_sentence(values["climate"])
    return assumed_text(values["assumed"], units)


def _not_used(values: Any, units: str) -> str:
    places: dict[str, list[str]] = {}
    for name in values["names"]:
        file, _, dotted = name.partition(": ")
        table, _, key = dotted.rpartition(".")
        table = table.partition("[")[0]
        place = f"{file} [{table}]" if table else file
        if key and key not in places.setdefault(place, []):
            places[place].append(key)
        places.setdefault(place, [])
    texts = [f"{place} {', '.join(keys)}".rstrip() for place, keys in places.items()]
    return "read and checked, but not used yet: " + "; ".join(texts)


def _not_read(values: Any, units: str) -> str:
    names = listed([f'"{name}"' for name in values["sheets"]])
    which = "sheets" if len(values["sheets"]) > 1 else "sheet"
    return f"{which} {names} of {values['workbook']}: not read"


def _spacing(values: Any, units: str) -> str:
    wind = values["wind_m_s"]
    where = (
        "head to head"
        if wind is None
        else (f"in wind of {quantity(wind, 'wind', units)}")
    )
    return (
        f"head{'s' if len(values['heads']) > 1 else ''} {listed(values['heads'])} "
        f"throw{'' if len(values['heads']) > 1 else 's'} "
        f"{quantity(values['radius_m'], 'length', units)} but stand "
        f"{quantity(values['spacing_m'], 'length', units)} apart; {where} "
        f"{quantity(values['longest_spacing_m'], 'length', units)} is the most: "
        "longer throw, or heads between"
    )


def _standard_angle(values: Any, units: str) -> str:
    return (
        f"standard-angle nozzles drift in wind of "
        f"{quantity(values['wind_m_s'], 'wind', units)}: low-angle nozzles hold "
        "better, or water when it is calm"
    )


def _mixed(values: Any, units: str) -> str:
    return (
        f"heads throw from {quantity(values['least_m'], 'length', units)} to "
        f"{quantity(values['most_m'], 'length', units)}: kinds of head that differ so "
        "seldom match on one valve; give each kind its own"
    )


def _rate_over_intake(values: Any, units: str) -> str:
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


def _under_step(values: Any, units: str) -> str:
    return (
        "a watering would run under half a step of "
        f"{minutes(values['minute_step'])} min, so nothing runs"
    )


def _coverage_unknown(values: Any, units: str) -> str:
    missing = values["missing"]
    if missing == "spray":
        return "drip and bubblers throw no water that could be laid on a plan"
    if missing == "ground":
        return "its heads stand in a line: an outline has to say what ground they water"
    what = {"place": "x_* and y_* are", "facing": "facing_deg is",
            "radius": "radius_* is", "flow": "flow_* is"}[missing]  # fmt: skip
    return (
        f"head{_plural(values)} {listed(values['heads'])}: {what} blank, so "
        "nothing of the zone is laid on the plan"
    )


def _head_outside(values: Any, units: str) -> str:
    stand = "stand" if len(values["heads"]) > 1 else "stands"
    return (
        f"head{_plural(values)} {listed(values['heads'])} {stand} up to "
        f"{quantity(values['distance_m'], 'length', units)} outside the outline: "
        "measure both from the same corner"
    )


def _plural(values: Any) -> str:
    return "s" if len(values["heads"]) > 1 else ""


def _ground_dry(values: Any, units: str) -> str:
    return (
        f"no head reaches {100 * values['share']:.0f} % of the ground: move or add "
        "heads, or mend the outline"
    )


def _cans_too_few(values: Any, units: str) -> str:
    return (
        f"tested with {values['cans']} cans; an audit asks for {values['enough']} or "
        "more: take the result as a first look"
    )


def _driest_dry(values: Any, units: str) -> str:
    return (
        f"the driest {values['cans']} cans caught nothing or next to it: no run time "
        "mends that; raise, straighten or move heads, and test anew"
    )


def _cans_over_given(values: Any, units: str) -> str:
    pairs = []
    rate, uniformity = values["rate_mm_h"], values["uniformity"]
    if rate is not None:
        tested = quantity(values["tested_rate_mm_h"], "rate", units)
        pairs.append(f"{tested}, not {quantity(rate, 'rate', units)}")
    if uniformity is not None:
        tested = f"{values['tested_uniformity']:.2f}"
        pairs.append(f"uniformity {tested}, not {uniformity:.2f}")
    return f"the catch-can test goes before what the zone says: {'; '.join(pairs)}"


def _design_flow_high(values: Any, units: str) -> str:
    return (
        f"the design flow is given as "
        f"{quantity(values['design_flow_l_min'], 'flow', units)}, but "
        f"{supply.RULES[values['rule']]} allows "
        f"{quantity(values['flow_l_min'], 'flow', units)}: pressure will sink"
    )


def _no_pressure_left(values: Any, units: str) -> str:
    return (
        f"of {quantity(values['static_pressure_kpa'], 'pressure', units)} static "
        "pressure nothing is left at the heads: meter, pipe and rise take "
        f"{quantity(values['lost_kpa'], 'pressure', units)} at the design flow; check "
        "the numbers, or draw less"
    )


def _controller_small(values: Any, units: str) -> str:
    count = values["visits"]
    visits = "one visit" if count == 1 else f"{count} visits"
    return f"the controller cannot be set for {visits} a year"


def _window_short(values: Any, units: str) -> str:
    if "open_min" in values:
        return _week_short(values)
    date, nights = values["date"], values["nights"]
    which = f"the night of {date.day} {MONTH_LABELS[date.month - 1]}"
    if nights > 1:
        which += f", the worst of {nights} in the month,"
    zones = values["zones"]
    whose = f"its {len(zones)} zones have"
    if len(zones) == 1:
        whose = f"zone {zones[0]} has"
    proof = "no order fits" if values["proven"] else "no order was found that fits"
    return (
        f"{which} is {minutes(math.ceil(values['minutes_over'] * 10) / 10)} min short "
        f"of what {whose} to run: {proof}"
    )


def _week_short(values: Any) -> str:
    zones, hours = values["zones"], values["open_min"] / MIN_PER_H
    over = values["minutes_over"] / MIN_PER_H
    whose = f"zone{'s' if len(zones) > 1 else ''} {listed(list(zones))}"
    return (
        f"{whose} want {_up_to(values)}{over:.1f} h of water a week more than the "
        f"{hours:.1f} h that the windows give: no order fits; longer hours, more days "
        "or less time a zone would help"
    )


def _flow_under_pump(values: Any, units: str) -> str:
    least = quantity(values["least_flow_l_min"], "flow", units)
    if "minutes" in values:
        return (
            f"for {minutes(values['minutes'])} min of the night less flows than the "
            f"{least} that the pump must run at: no other zone can run then"
        )
    return (
        f"draws {quantity(values['flow_l_min'], 'flow', units)}, the pump must run at "
        f"{least} or more: give it a pressure tank, or run another zone with it"
    )


_SENTENCES = {
    "unmatched-heads": _unmatched,
    "pressure-assumed": _pressure_assumed,
    "pressure-too-high": _pressure_too_high,
    "pressure-too-low": _pressure_too_low,
    "flow-over-supply": _flow_over_supply,
    "area-mismatch": _area_mismatch,
    "days-too-few": _days_too_few,
    "need-unmet": _need_unmet,
    "not-permitted": _not_permitted,
    "controller-too-small": _controller_small,
    "cycle-too-short": _cycle_too_short,
    "starts-too-few": _starts_too_few,
    "frost-month": _frost,
    "rain-counted-twice": _rain_twice,
    "salinity-high": _salinity_high,
    "salt-tolerance-unknown": _salt_unknown,
    "spacing-too-wide": _spacing,
    "wind-standard-angle": _standard_angle,
    "mixed-heads": _mixed,
    "rate-over-intake": _rate_over_intake,
    "under-a-step": _under_step,
    "climate-doubtful": doubts.climate,
    "rate-doubtful": doubts.rate,
    "throw-doubtful": doubts.throw,
    "coverage-unknown": _coverage_unknown,
    "head-outside": _head_outside,
    "ground-dry": _ground_dry,
    "cans-too-few": _cans_too_few,
    "driest-quarter-dry": _driest_dry,
    "cans-over-given": _cans_over_given,
    "design-flow-high": _design_flow_high,
    "no-pressure-left": _no_pressure_left,
    "window-too-short": _window_short,
    "flow-under-pump": _flow_under_pump,
    "value-assumed": _assumed,
    "not-used-yet": _not_used,
    "sheets-not-read": _not_read,
}


def assumed_text(assumed: Assumed, units: str) -> str:
    """What was assumed, and for which zones."""
    text = _assumed_value(assumed, units)
    return f"{text} ({_zones(assumed.zones)})" if assumed.zones else text


def _assumed_value(assumed: Assumed, units: str) -> str:
    field = assumed.field
    name = field.name
    for ending, unit in (("_percent", " %"), ("_min", " min")):
        if name.endswith(ending) and assumed.value is not None:
            words = name.removesuffix(ending).replace("_", " ")
            return f"{words} {value_text(assumed.value)}{unit}"
    name = name.removesuffix("_days").replace("_", " ")
    if assumed.value is None:
        return f"{name} {field.otherwise}"
    if field.dimension:
        return f"{name} {quantity(assumed.value, field.dimension, units)}"
    return f"{name} {value_text(assumed.value)}"


def _zones(zones: Sequence[str]) -> str:
    return f"zone{'s' if len(zones) > 1 else ''} {listed(list(zones))}"


def assumptions(cautions: Sequence[Caution], zones: int, units: str) -> list[str]:
    """What was assumed, a line for each set of zones; `zones` is how many there are."""
    told: list[str] = []
    unused: list[str] = []
    by_zones: dict[tuple[str, ...], list[str]] = {}
    for caution in cautions:
        if caution.code == "value-assumed" and "assumed" in caution.values:
            assumed = caution.values["assumed"]
            text = _assumed_value(assumed, units)
            by_zones.setdefault(assumed.zones, []).append(text)
        elif caution.code == "value-assumed":
            told.append(sentence(caution, units))
        elif caution.code in ("not-used-yet", "sheets-not-read"):
            unused.append(sentence(caution, units))
    lines = []
    for which, texts in by_zones.items():
        place = "site" if not which else _zones(which)
        place = "all zones" if len(which) == zones else place
        lines.append(f"{place}: {', '.join(texts)}")
    return told + lines + unused


def grouped(cautions: Iterable[Caution], units: str) -> list[str]:
    """Cautions for people: alike ones in one line, with their zones and months."""
    groups: dict[tuple[str, str], list[Caution]] = {}
    for caution in cautions:
        key = caution.code, caution.zone or ""
        groups.setdefault(key, []).append(caution)
    merged: dict[tuple[str, str, str], list[str]] = {}
    for (code, zone), members in groups.items():
        months = [caution.month for caution in members if caution.month]
        worst = max(members, key=_weight)
        if len(members) > 1:
            values = {**worst.values, "worst_of_several": True}
            worst = dataclasses.replace(worst, values=values)
        when = months_text(months) if months else ""
        merged.setdefault((code, sentence(worst, units), when), []).append(zone)
    lines = []
    for (code, text, when), zones in merged.items():
        named = [zone for zone in zones if zone]
        where = ""
        if named:
            where = f"zone{'s' if len(named) > 1 else ''} {listed(named)}"
        place = ", ".join(part for part in (where, when) if part)
        lines.append(f"{code}: {place}: {text}" if place else f"{code}: {text}")
    return lines


def _weight(caution: Caution) -> float:
    """How bad a caution is among its likes: most unmet, shortest gap, most cycles."""
    values = caution.values
    if "unmet_mm" in values:
        return float(values["unmet_mm"])
    if "minutes_over" in values:
        return float(values["minutes_over"])
    if "gap_limit_days" in values:
        return -float(values["gap_limit_days"])
    if "tmin_c" in values:
        return -float(values["tmin_c"])
    return float(values.get("cycles", 0))
