"""Cautions about the plan and the clock: what cannot be given, kept or keyed in."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.counting import counted, named
from scheduler.report.shown import MONTH_LABELS, minutes, quantity
from scheduler.units import MIN_PER_H


def _card_dry(values: Mapping[str, Any], units: str) -> str:
    return (
        f"by the card plants go short on {_up_to(values)}"
        f"{100 * values['dry_share']:.0f} days of a hundred, where "
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


def _need_unmet(values: Mapping[str, Any], units: str) -> str:
    return (
        f"{_up_to(values)}{quantity(values['unmet_mm'], 'depth', units)} a month more "
        "is needed than the root zone can store from one watering day to the next"
    )


def _not_permitted(values: Mapping[str, Any], units: str) -> str:
    return (
        "no [[window]] permits watering, "
        f"{_up_to(values)}{quantity(values['unmet_mm'], 'depth', units)} a month of "
        "need goes unmet"
    )


def _stays_dry(values: Mapping[str, Any], units: str) -> str:
    return (
        f"plants go short on {_up_to(values)}{100 * values['dry_share']:.0f} days of a "
        f"hundred, where {100 * values['most_dry']:.0f} are let pass, whatever is set: "
        "ask for more watering days, or better uniformity, deeper roots, a richer soil"
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


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "card-deep": _card_deep,
    "card-dry": _card_dry,
    "card-shallow": _card_shallow,
    "cycle-too-short": _cycle_too_short,
    "days-too-few": _days_too_few,
    "need-unmet": _need_unmet,
    "not-permitted": _not_permitted,
    "stays-dry": _stays_dry,
    "starts-too-few": _starts_too_few,
    "under-a-step": _under_step,
    "window-too-short": _window_short,
}
