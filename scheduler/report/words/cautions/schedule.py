"""Cautions about the plan and the clock: what cannot be given, kept or keyed in."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import counted, named, of_hundred
from scheduler.report.shown import MONTH_LABELS, minutes, quantity
from scheduler.units import MIN_PER_H


def _card_dry(values: Mapping[str, Any], units: str) -> str:
    return (
        f"by the card plants go short on {_up_to(values)}"
        f"{of_hundred(values['dry_share'])}, where "
        f"{100 * values['most_dry']:.0f} are let pass"
    )


def _card_shallow(values: Mapping[str, Any], units: str) -> str:
    little = "as little as " if values.get("worst_of_several") else ""
    return (
        f"a watering by the card lays down {little}{values['share_of_table']:.2f} of "
        "the table's, less than half"
    )


def _card_deep(values: Mapping[str, Any], units: str) -> str:
    return (
        f"a watering by the card lays down {_up_to(values)}"
        f"{values['share_of_table']:.2f} times the table's, more than twice"
    )


def _cycle_too_short(values: Mapping[str, Any], units: str) -> str:
    longest = minutes(values["longest_cycle_min"])
    return (
        f"water runs off after {values['runoff_limit_min']:.1f} min, too soon to "
        f"split a run; cycles of up to {longest} min are set all the same, and some "
        "of it runs off: lower the precipitation rate"
    )


def _days_too_few(values: Mapping[str, Any], units: str) -> str:
    few = "as few as " if values.get("worst_of_several") else ""
    return (
        f"roots stand {few}{counted(values['gap_limit_days'], 'day')} without water, "
        "longer gaps are left between permitted days: ask for more days, or deepen "
        "the roots"
    )


def _too_often(values: Mapping[str, Any], units: str) -> str:
    shortest, longest = values["shortest_gap_days"], values["longest_gap_days"]
    if "seldom" in values:
        return (
            f"no days suit both of its parts: {values['seldom']} wants "
            f"{counted(shortest, 'day')} at least between waterings, {values['often']} "
            f"stands no more than {counted(longest, 'day')} without water, and that "
            "comes first: give them a valve each"
        )
    told = f"plants want {counted(shortest, 'day')} at least between waterings"
    if shortest > longest:
        return (
            f"{told}, but no more than {counted(longest, 'day')} without water, and "
            "that comes first: see shortest_gap_days and longest_gap_days"
        )
    return (
        f"{told}, and neither the permitted days nor the controller's intervals leave "
        "it: they get the days that lie farthest apart"
    )


def _need_unmet(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{_up_to(values)}{quantity(values['unmet_mm'], 'depth', units)} a month more "
        "is needed than the root zone can store from one watering day to the next"
    )


def _not_permitted(values: Mapping[str, Any], units: str) -> str:
    sheet = values.get("windows")
    window = f"row of {sheet}" if sheet else "[[window]]"
    return (
        f"no {window} permits watering, "
        f"{_up_to(values)}{quantity(values['unmet_mm'], 'depth', units)} a month of "
        "need goes unmet"
    )


def _stays_dry(values: Mapping[str, Any], units: str) -> str:
    apart = values.get("shortest_gap_days")
    if apart:
        return (
            f"kept {apart} days apart or more, as they ask, plants use up what their "
            f"roots hold and go short on {_up_to(values)}"
            f"{of_hundred(values['dry_share'])}, where "
            f"{100 * values['most_dry']:.0f} are let pass: cacti and the like stand "
            "it; for others wet more of the ground or deeper, or write a smaller "
            "shortest_gap_days"
        )
    if "night_minutes" in values:
        return (
            f"plants go short on {_up_to(values)}{of_hundred(values['dry_share'])}, "
            f"where {100 * values['most_dry']:.0f} are let pass; hours "
            "and controller give a zone "
            f"{minutes(values['night_minutes'])} min a night, soak between its cycles, "
            "and no more: ask for more watering days or longer hours, loosen the "
            "soil, or fit heads that apply water more slowly"
        )
    return (
        f"plants go short on {_up_to(values)}{of_hundred(values['dry_share'])}, where "
        f"{100 * values['most_dry']:.0f} are let pass, and more minutes "
        "would hardly help: ask for more watering days, or better uniformity, deeper "
        "roots, a richer soil"
    )


def _store_under_a_day(values: Mapping[str, Any], units: str) -> str:
    allowed = quantity(values["allowed_mm"], "depth", units)
    need = quantity(values["need_mm_day"], "depth", units)
    return (
        f"between waterings plants may draw {allowed}, less than the {_up_to(values)}"
        f"{need} that they need a day: a day that begins with the ground nearly full "
        "is not counted as dry, though by evening it is drier than that; a second "
        "watering a day, deeper roots, a richer soil or more wetted ground would help"
    )


def _starts_too_few(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{_up_to(values)}{values['cycles']} cycles a day, a program has "
        f"{values['starts']} starts: use a second program, or a controller with soak "
        "built in"
    )


def _under_step(values: Mapping[str, Any], units: str) -> str:
    return (
        "a watering would run under half a step of "
        f"{minutes(values['minute_step'])} min, so nothing runs"
    )


def _window_short(values: Mapping[str, Any], units: str) -> str:
    if "open_min" in values:
        return _week_short(values)
    if "day_min" in values:
        return _day_short(values)
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


def _week_short(values: Mapping[str, Any]) -> str:
    hours = values["open_min"] / MIN_PER_H
    over = values["minutes_over"] / MIN_PER_H
    return (
        f"{named('zone', values['zones'])} want {_up_to(values)}{over:.1f} h of water "
        f"a week more than the {hours:.1f} h that the windows give: no order fits; "
        "longer hours, more days or less time a zone would help"
    )


def _day_short(values: Mapping[str, Any]) -> str:
    hours = values["day_min"] / MIN_PER_H
    return (
        f"{_up_to(values)}{values['cycles']} cycles with their soak are more than the "
        f"{hours:.1f} h of a watering day hold, {minutes(values['minutes_over'])} min "
        "of water do not fit: a lower rate, longer hours or more days would help"
    )


def _up_to(values: Mapping[str, Any]) -> str:
    return "up to " if values.get("worst_of_several") else ""


def _window_by_day(values: Mapping[str, Any], units: str) -> str:
    return (
        f"the window from {values['opens']} to {values['closes']} lets heads throw in "
        "the middle of the day, when sun and wind take most and many local rules "
        "forbid it: open it from evening to morning"
    )


def _too_windy(values: Mapping[str, Any], units: str) -> str:
    return (
        f"wind of {quantity(values['wind_m_s'], 'wind', units)} while watering blows "
        "what heads throw off the ground: take the stillest hours, mostly those "
        "before sunrise, or have a wind sensor hold the controller"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "card-deep": _card_deep,
    "card-dry": _card_dry,
    "card-shallow": _card_shallow,
    "cycle-too-short": _cycle_too_short,
    "days-too-few": _days_too_few,
    "watered-too-often": _too_often,
    "need-unmet": _need_unmet,
    "not-permitted": _not_permitted,
    "stays-dry": _stays_dry,
    "store-under-a-day": _store_under_a_day,
    "starts-too-few": _starts_too_few,
    "under-a-step": _under_step,
    "window-too-short": _window_short,
    "window-by-day": _window_by_day,
    "too-windy": _too_windy,
}
