"""How ET0 was found, and what that takes for granted, in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.series import LeftOut
from scheduler.inputs.weather.daily import LEAST_SHARE_OF_DAYS

_METHODS = {
    "": "",
    "given": "given",
    "hargreaves": "Hargreaves-Samani, from temperatures alone",
    "penman-monteith-daily": "FAO-56 Penman-Monteith, daily",
    "penman-monteith-monthly": "FAO-56 Penman-Monteith, monthly",
}
_INSTEAD = {
    "no-humidity": (
        "humidity",
        "the dew point is taken as the minimum temperature (FAO56, eq. 48, p. 58); in "
        "dry country that makes ET0 a little low",
    ),
    "no-wind": ("wind", "2 m/s all year (FAO56, p. 63)"),
    "wind-of-the-month": ("wind", "the mean of the month in this file"),
    "no-radiation": (
        "radiation or sunshine",
        "from the daily temperature range, 0.16 inland (FAO56, eq. 50, p. 60); on a "
        "coast that makes ET0 a little low",
    ),
}
"""What is wanting, and what is taken instead, by code of the assumption."""
_MOST_LISTED = 6


def method_words(code: str) -> str:
    """Method of ET0."""
    return _METHODS[code]


def assumption_sentence(assumption: Assumption) -> str:
    """What was taken for granted."""
    if assumption.code in _INSTEAD:
        what, instead = _INSTEAD[assumption.code]
        return f"no {what}{_on_days(assumption.values)}: {instead}"
    return _SENTENCES[assumption.code](assumption.values)


def left_out(month: LeftOut) -> str:
    """A month with too few days, as `2013-02 (9 of 28)`."""
    return f"{month.year}-{month.month:02d} ({month.days} of {month.length})"


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"


def _on_days(values: Any) -> str:
    return "" if values["days"] is None else f" on {_days(values['days'])}"


def _sunshine_held(values: Any) -> str:
    return f"sunshine above the day's length{_on_days(values)} is held to it"


def _solar_over_outer(values: Any) -> str:
    return (
        f"solar radiation is more than the sun sends{_on_days(values)}: check its "
        "unit, the latitude and the dates"
    )


def _partly_given(values: Any) -> str:
    return (
        f"ET0 is given on {_days(values['given_days'])} and computed on "
        f"{_days(values['computed_days'])} ({method_words(values['method'])})"
    )


def _latitude_apart(values: Any) -> str:
    return (
        f"the weather file is of latitude {values['file_deg']:.1f}, the place of "
        f"{values['place_deg']:.1f}"
    )


def _months_left_out(values: Any) -> str:
    months = values["months"]
    more = len(months) - _MOST_LISTED
    listed = ", ".join(map(left_out, months[:_MOST_LISTED]))
    tail = f" and {more} more" if more > 0 else ""
    least = f"{100 * LEAST_SHARE_OF_DAYS:g} %"
    return f"left out, because under {least} of the days are there: {listed}{tail}"


def _one_year(values: Any) -> str:
    what = "a typical year" if values["typical_year"] else "a monthly climate file"
    return (
        f"dry_year_percentile is for daily files of several years; {what} holds one "
        "year"
    )


def _dry_year(values: Any) -> str:
    return (
        "ET0 and rain of each month are those of the year at percentile "
        f"{values['percentile']:g} by ET0 - rain, of {values['years']} years or more"
    )


_SENTENCES: dict[str, Callable[[Any], str]] = {
    "noted": lambda values: str(values["text"]),
    "latitude-apart": _latitude_apart,
    "et0-partly-given": _partly_given,
    "solar-over-outer": _solar_over_outer,
    "sunshine-held": _sunshine_held,
    "no-minimum": lambda values: "no minimum temperatures: no month is taken as frosty",
    "months-left-out": _months_left_out,
    "one-year": _one_year,
    "dry-year": _dry_year,
    "north-taken": lambda values: "a place north of the equator (--latitude)",
    "sea-level-taken": lambda values: "elevation 0 m above the sea (--elevation)",
    "gauge-taken-at-2-m": lambda values: (
        "wind measured at 2 m above the ground (--wind-height)"
    ),
    "no-rain": lambda values: f"no rain: {values['because']}",
}
