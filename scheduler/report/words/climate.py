"""What a climate says: how ET0 was found, whose years and days it is of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from scheduler.balance.years import (
    LEAST_YEARS,
    RAIN_A_WET_DAY_MM,
    PlayedMonths,
    Years,
)
from scheduler.demand.days import ReferenceDays
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.months import ReferenceMonths
from scheduler.demand.series import LeftOut, Series
from scheduler.inputs.weather.daily import LEAST_SHARE_OF_DAYS
from scheduler.report.counting import counted, plural, verb
from scheduler.report.frames import Headings
from scheduler.report.shown import quantity

_MONTHS = {
    "month": "month",
    "tmin": "mean min",
    "tmax": "mean max",
    "et0": "ET0",
    "et0_month": "ET0 month",
    "rain": "rain",
    "effective_rain": "effective rain",
    "frost": "frost",
}
MONTHS = Headings(_MONTHS)
MONTHS_OF_YEARS = Headings(
    {
        **{name: label.replace(" ", "\n") for name, label in _MONTHS.items()},
        "days": "days",
        "et0_dry_year": "dry year\nET0",
        "rain_dry_year": "dry year\nrain",
        "frost_years_percent": "frost\nyears",
    }
)
PLAYED = Headings(
    {
        "month": "month",
        "rain_days_asked": "days of rain\nasked",
        "rain_days": "days of rain\nplayed",
        "rain": "rain\nasked",
        "rain_played": "rain\nplayed",
        "et0": "ET0\nasked",
        "et0_played": "ET0\nplayed",
        "dry_spell_days": "usual dry\nspell, days",
    }
)
DAYS = Headings(
    {
        "date": "date",
        "et0": "ET0",
        "rain": "rain",
        "tmin": "min",
        "tmax": "max",
        "dew_point": "dew point",
        "humidity_percent": "humidity",
        "wind": "wind",
        "solar": "solar radiation",
        "sunshine_h": "sunshine",
        "et0_method": "ET0 is",
    }
)
PLAN_YEARS = "Years of days that a plan by days stands on"
FROST = "frost"
_OF_YEAR = {"et0_month": "ET0", "rain": "rain", "effective_rain": "effective rain"}
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
    return f"{number:,} {plural(number, 'day')}"


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


def title(name: str, source: str, method: str) -> str:
    """Heading of a climate: whose it is, and how its ET0 was found."""
    file = "" if name == source else f": {source}"
    return f"Climate of {name}{file}; ET0: {method_words(method)}."


def effective_rain(store: str) -> str:
    """Whose effective rain is shown."""
    return (
        "Effective rain is that of reference grass, by SCS TR-21 with a store of "
        f"{store}."
    )


def totals(months: Mapping[str, float], units: str) -> str:
    """Depths of a year that are known, by their columns of the months."""
    told = [
        f"{name} {quantity(months[column], 'depth', units)}"
        for column, name in _OF_YEAR.items()
        if np.isfinite(months[column])
    ]
    return "Year: " + "; ".join(told)


def years_told(series: Series, planned_for_dry_year: bool) -> list[str]:
    """What years the means are of, and what the dry year is."""
    if series.typical_year:
        return ["One year of hours: it tells of no dry years."]
    first, last = series.years[0], series.years[-1]
    lines = [f"Means over the days of {_span(first, last)}."]
    if len(series.years) > 1:
        used = "planned with" if planned_for_dry_year else "shown, not planned with"
        lines.append(
            "The dry year of a month is the one whose ET0 - rain "
            f"{series.dry_percentile:g} % of the years do not pass; {used}."
        )
    return lines


def plan_years(months: ReferenceMonths, years: Years, units: str) -> str:
    """Whose years of days a plan is played through, and what they lack."""
    if not years.invented:
        return _measured(years)
    wet = quantity(RAIN_A_WET_DAY_MM, "depth", units)
    rain = "Days of rain are those that the climate gives."
    if not years.rain_days_given:
        rain = f"Days of rain are not given: a wet day is taken to bring {wet}."
    return (
        f"{len(years)} years, invented from the twelve months, because "
        f"{_why_invented(months)}. {rain}"
    )


def _measured(years: Years) -> str:
    first, last = years.numbers[0], years.numbers[-1]
    whole = f"{counted(len(years), 'whole year')} of the record"
    if last - first + 1 > len(years):
        whole += f", of those from {_span(first, last)}"
    else:
        whole += f", {_span(first, last)}"
    if not years.filled_days:
        return f"{whole}; no day is missing."
    return (
        f"{whole}; {_days(years.filled_days)} that it lacks "
        f"{verb(years.filled_days, 'are')} given the mean ET0 of the month, "
        "and no rain where rain is not known."
    )


def _why_invented(months: ReferenceMonths) -> str:
    days = months.days
    if days is None:
        return "the climate file holds months"
    if days.weather.typical_year:
        return "the climate file holds one year of hours"
    if np.isfinite(days.weather.rain_of_months_mm).all():
        return "rain comes by months, from a file of its own"
    return f"the record has under {LEAST_YEARS} whole years"


def dry_spells(played: PlayedMonths) -> str:
    """How long a year stays dry."""
    usual = round(played.usual_dry_spell_days)
    return (
        f"The longest dry spell of a year lasts {_days(usual)} in the median year, "
        f"{_days(played.longest_dry_spell_days)} in the driest."
    )


def _span(first: int, last: int) -> str:
    return f"{first}" if first == last else f"{first} to {last}"


def days_title(name: str, method: str) -> str:
    """Heading of a table of days."""
    return f"Days of {name}; ET0: {method_words(method)}."


def days_totals(days: ReferenceDays, units: str) -> list[str]:
    """What a stretch of days comes to, and what it lacks."""
    weather, date = days.weather, days.weather.date
    told = [f"{_days(len(date))}, {date[0]} to {date[-1]}"]
    for name, values in (("ET0", days.et0_mm), ("rain", weather.rain_mm)):
        if np.isfinite(values).any():
            total = float(np.nansum(values))
            told.append(f"{name} {quantity(total, 'depth', units)}")
    lines = ["; ".join(told) + "."]
    between = int((date[-1] - date[0]).astype(int)) + 1 - len(date)
    if between:
        lines.append(
            f"{_days(between)} in between {verb(between, 'are')} not in the file."
        )
    for name, values in (("ET0", days.et0_mm), ("rain", weather.rain_mm)):
        unknown = int(np.count_nonzero(np.isnan(values)))
        if unknown:
            lines.append(
                f"Not known on {_days(unknown)}, and not in the total: {name}."
            )
    return lines
