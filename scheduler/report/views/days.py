"""Days of a site's or a file's weather: ET0 with its method, rain and what is given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from scheduler.demand.days import ReferenceDays, reference_days
from scheduler.inputs.weather.alone import WeatherFile, days_of
from scheduler.inputs.weather.daily import QUANTITIES
from scheduler.plan.site import SitePlan
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.views.climate import assumed
from scheduler.report.words import climate as words
from scheduler.report.words import sentences
from scheduler.report.words.climate import assumption_sentence, method_words

_DIMENSIONS = {
    "tmin_c": ("tmin", "temperature"), "tmax_c": ("tmax", "temperature"),
    "dew_point_c": ("dew_point", "temperature"),
    "humidity_percent": ("humidity_percent", ""), "wind_m_s": ("wind", "wind"),
    "solar_mj_m2_day": ("solar", "radiation"), "sunshine_h": ("sunshine_h", ""),
}  # fmt: skip
"""What a day may hold beside ET0 and rain: its column and dimension."""


@dataclass(frozen=True, slots=True, eq=False)
class DaysView:
    """Days of one place, of any number; `assumed` is told of them, in sentences."""

    name: str
    days: ReferenceDays
    assumed: tuple[str, ...]


def view_of_site(plan: SitePlan) -> DaysView:
    """Days of a site; raises InputError where its climate holds months."""
    site = plan.site
    weather = days_of(site.climate, plan.months.source)
    days = plan.months.days or reference_days(
        weather, site.latitude, site.elevation_m, site.wind_height_m
    )
    told = tuple(map(assumption_sentence, days.assumptions))
    return DaysView(site.name, days, told)


def view_of_file(read: WeatherFile) -> DaysView:
    """Days of a weather file without a site; raises InputError for months."""
    weather = days_of(read.climate, read.name)
    days = reference_days(
        weather, read.latitude_deg, read.elevation_m, read.wind_height_m
    )
    said = (*days.assumptions, *(assumed(code, read) for code in read.assumed))
    return DaysView(read.name, days, tuple(map(assumption_sentence, said)))


def blocks(view: DaysView, units: str) -> list[Block]:
    """Days with their ET0, rain and least temperature, and what they come to."""
    days, weather = view.days, view.days.weather
    methods = [method_words(code) for code in days.method_of_days()]
    column = words.DAYS.column
    columns = [
        column("date", [str(day) for day in weather.date]),
        column("et0", days.et0_mm.tolist(), "depth_day"),
        column("rain", weather.rain_mm.tolist(), "depth_day"),
        column("tmin", weather.tmin_c.tolist(), "temperature"),
        column("et0_method", methods),
    ]
    return [
        Heading(words.days_title(view.name, days.method), 1, runs_on=True),
        Table(tuple(columns)),
        Paragraph(words.days_totals(days, units)),
        *sections([(sentences.ASSUMED, view.assumed)]),
    ]


def to_table(view: DaysView) -> Table:
    """Every day with all that is known of it, for CSV."""
    days, weather = view.days, view.days.weather
    column = words.DAYS.column
    columns = [
        column("date", [str(day) for day in weather.date]),
        column("et0", days.et0_mm.tolist(), "depth"),
        column("rain", weather.rain_mm.tolist(), "depth"),
    ]
    for name, (plain, dimension) in _DIMENSIONS.items():
        if weather.has(name):
            columns.append(column(plain, getattr(weather, name).tolist(), dimension))
    methods = [method_words(code) for code in days.method_of_days()]
    return Table((*columns, column("et0_method", methods)))


def to_data(view: DaysView) -> dict[str, Any]:
    """The days for programs."""
    days, weather = view.days, view.days.weather
    inputs = [name for name in QUANTITIES[1:] if weather.has(name)]
    columns = {name: getattr(weather, name).tolist() for name in inputs}
    methods = [method_words(code) for code in days.method_of_days()]
    return {
        "source": weather.source,
        "place": view.name,
        "et0_method": method_words(days.method),
        "days": [
            {
                "date": str(weather.date[row]),
                "et0_mm": days.et0_mm[row],
                "et0_method": methods[row] or None,
                **{name: values[row] for name, values in columns.items()},
            }
            for row in range(len(weather))
        ],
        "totals": {"days": len(weather), "et0_mm": _sum(days.et0_mm),
                   "rain_mm": _sum(weather.rain_mm)},
        "assumptions": list(view.assumed),
    }  # fmt: skip


def _sum(values: np.ndarray) -> float | None:
    """Sum of what is known; None where nothing is."""
    return float(np.nansum(values)) if np.isfinite(values).any() else None
