"""Climate of a site or a bare weather file: by month, by day, in text, CSV and JSON."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.days import ReferenceDays, reference_days
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.months import ReferenceMonths, reference_months
from scheduler.demand.rain import effective_rain_tr21
from scheduler.demand.series import Series
from scheduler.inputs.weather.alone import WeatherFile, days_of
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather
from scheduler.inputs.weather.monthly import Climate
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import REFERENCE_STORE_MM, Column, Table
from scheduler.report.words.climate import assumption_sentence, method_words


@dataclass(frozen=True, slots=True, eq=False)
class ClimateView:
    """Climate of one place, as the reports show it."""

    name: str
    climate: Climate | DailyWeather
    months: ReferenceMonths
    latitude_deg: float
    elevation_m: float
    wind_height_m: float


def view_of_site(plan: SitePlan) -> ClimateView:
    """Climate of a site."""
    site = plan.site
    return ClimateView(
        site.name, site.climate, plan.months, site.latitude, site.elevation_m,
        site.wind_height_m,
    )  # fmt: skip


def view_of_file(read: WeatherFile) -> ClimateView:
    """Climate of a weather file without a site."""
    months = reference_months(
        read.climate, read.latitude_deg, read.elevation_m, read.wind_height_m
    )
    assumptions = (
        *months.assumptions,
        *(_assumed(code, read) for code in read.assumed),
    )
    return ClimateView(
        read.name, read.climate, dataclasses.replace(months, assumptions=assumptions),
        read.latitude_deg, read.elevation_m, read.wind_height_m,
    )  # fmt: skip


def _assumed(code: str, read: WeatherFile) -> Assumption:
    if code == "no-rain" and isinstance(read.climate, DailyWeather):
        return Assumption(code, {"because": read.climate.no_rain_because})
    return Assumption(code)


def months_table(months: ReferenceMonths) -> Table:
    """Climate by month, with effective rain for reference grass.

    With years of days the means stand beside the dry year; else there is one year.
    """
    series = months.series
    et0, rain = shown_year(months)
    need = et0 * DAYS_IN_MONTH
    usable = effective_rain_of_grass(need, rain)
    columns = [
        Column("month", "month", range(1, 13),
               text=lambda month: shown.MONTH_LABELS[month - 1]),
        Column("tmin", "mean min", months.tmin_c.tolist(), "temperature"),
        Column("tmax", "mean max", months.tmax_c.tolist(), "temperature"),
        Column("et0", "ET0", et0.tolist(), "depth_day"),
        Column("et0_month", "ET0 month", need.tolist(), "depth"),
        Column("rain", "rain", rain.tolist(), "depth"),
        Column("effective_rain", "effective rain", usable.tolist(), "depth"),
        Column("frost", "frost", [bool(frost) for frost in months.frost],
               text=lambda frost: "frost" if frost else ""),
    ]  # fmt: skip
    if series is not None:
        columns = [_narrow(column) for column in columns]
        columns.insert(1, Column("days", "days", series.days.tolist(), text=str))
        columns[-1:] = [*_dry_year(series), columns[-1]]
    if series is not None and len(series.years) > 1:
        share = (100 * series.frost_share).tolist()
        columns.append(
            Column("frost_years_percent", "frost\nyears", share, text=_percent)
        )
    return Table(tuple(columns))


def _narrow(column: Column) -> Column:
    return dataclasses.replace(column, label=column.label.replace(" ", "\n"))


def _dry_year(series: Series) -> list[Column]:
    """Columns of the dry year; none where there is but one year."""
    if len(series.years) < 2:
        return []
    return [
        Column("et0_dry_year", "dry year\nET0", series.dry_et0_mm_day.tolist(),
               "depth_day"),
        Column("rain_dry_year", "dry year\nrain", series.dry_rain_mm.tolist(), "depth"),
    ]  # fmt: skip


def _percent(value: float) -> str:
    return f"{value:.0f} %" if np.isfinite(value) and value >= 0.5 else ""


def shown_year(months: ReferenceMonths) -> tuple[np.ndarray, np.ndarray]:
    """ET0 a day and rain of the months shown: the mean where there are years."""
    year = months if months.series is None else months.series
    return year.et0_mm_day, year.rain_mm


def effective_rain_of_grass(need_mm: np.ndarray, rain_mm: np.ndarray) -> np.ndarray:
    """Rain of each month that reference grass could use."""
    return np.asarray(effective_rain_tr21(rain_mm, need_mm, REFERENCE_STORE_MM))


def blocks(view: ClimateView, units: str) -> list[Block]:
    """Climate by month, and where it comes from."""
    months = view.months
    source = "" if view.name == months.source else f": {months.source}"
    title = f"Climate of {view.name}{source}; ET0: {method_words(months.method)}."
    rain = (
        "Effective rain is that of reference grass, by SCS TR-21 with a store of "
        f"{shown.quantity(REFERENCE_STORE_MM, 'depth', units)}."
    )
    table = months_table(months)
    parts: list[Block] = [
        Heading(title, 1, [rain], runs_on=True),
        table,
        Paragraph([_year(table, units)]),
    ]
    if months.series is not None:
        parts.append(Paragraph(_said_of_series(months, months.series)))
    return [
        *parts,
        *sections([("Assumed", [assumption_sentence(a) for a in months.assumptions])]),
    ]


def _year(table: Table, units: str) -> str:
    totals = {column.name: sum(column.values) for column in table.columns
              if column.name in ("et0_month", "rain", "effective_rain")}  # fmt: skip
    names = ("ET0", "rain", "effective rain")
    return "Year: " + "; ".join(
        f"{name} {shown.quantity(total, 'depth', units)}"
        for name, total in zip(names, totals.values(), strict=True)
        if np.isfinite(total)
    )


def _said_of_series(months: ReferenceMonths, series: Series) -> list[str]:
    lines = []
    if series.typical_year:
        lines.append("One year of hours: it tells of no dry years.")
    else:
        first, last = series.years[0], series.years[-1]
        years = f"{first}" if first == last else f"{first} to {last}"
        lines.append(f"Means over the days of {years}.")
    if len(series.years) > 1:
        planned = months.et0_mm_day is series.dry_et0_mm_day
        used = "planned with" if planned else "shown, not planned with"
        lines.append(
            "The dry year of a month is the one whose ET0 - rain "
            f"{series.dry_percentile:g} % of the years do not pass; {used}."
        )
    lines += _frost_lines(series)
    return lines


def _frost_lines(series: Series) -> list[str]:
    if not np.isfinite(series.tmin_c).any():
        return []
    lines = []
    for what, dates, seasons, late in (
        ("Last frost before summer", series.last_frost, series.spring_seasons, True),
        ("First frost after summer", series.first_frost, series.autumn_seasons, False),
    ):
        if not seasons:
            continue
        if not dates:
            lines.append(f"{what}: none{_in_seasons(series, seasons)}.")
            continue
        days = sorted(date[5:] for date in dates)
        middle = _day(days[len(days) // 2 if late else (len(days) - 1) // 2])
        edge = f"latest {_day(days[-1])}" if late else f"earliest {_day(days[0])}"
        if series.typical_year or seasons == 1:
            lines.append(f"{what}: {middle}.")
        else:
            lines.append(
                f"{what}: {middle} in the median year, {edge}; "
                f"in {len(dates)} of {_seasons(seasons)}."
            )
    return lines


def _in_seasons(series: Series, count: int) -> str:
    return "" if series.typical_year else f" in {_seasons(count)}"


def _seasons(count: int) -> str:
    return "1 year" if count == 1 else f"{count} years"


def _day(month_and_day: str) -> str:
    month, day = month_and_day.split("-")
    return f"{int(day)} {shown.MONTH_LABELS[int(month) - 1]}"


def to_data(view: ClimateView) -> dict[str, Any]:
    """Climate for programs."""
    months, series = view.months, view.months.series
    et0, rain = shown_year(months)
    effective = effective_rain_of_grass(et0 * DAYS_IN_MONTH, rain)
    return {
        "source": months.source,
        "place": view.name,
        "et0_method": method_words(months.method),
        "years": [] if series is None else list(series.years),
        "months": [
            {
                "month": month + 1,
                **_month(months, month),
                "effective_rain_mm": effective[month],
                "frost": months.frost[month],
                "frost_share": None if series is None else series.frost_share[month],
            }
            for month in range(12)
        ],
        "dry_year_percentile": None if series is None else series.dry_percentile,
        "frost_dates": {
            "last": [] if series is None else list(series.last_frost),
            "first": [] if series is None else list(series.first_frost),
        },
        "assumptions": list(map(assumption_sentence, months.assumptions)),
    }


def _month(months: ReferenceMonths, month: int) -> dict[str, Any]:
    series = months.series
    if series is None:
        return {
            "days": None,
            "tmin_c": months.tmin_c[month],
            "tmax_c": months.tmax_c[month],
            "et0_mm_day": months.et0_mm_day[month],
            "et0_dry_year_mm_day": None,
            "rain_mm": months.rain_mm[month],
            "rain_dry_year_mm": None,
            "dry_year": None,
        }
    several = len(series.years) > 1
    return {
        "days": int(series.days[month]),
        "tmin_c": series.tmin_c[month],
        "tmax_c": series.tmax_c[month],
        "et0_mm_day": series.et0_mm_day[month],
        "et0_dry_year_mm_day": series.dry_et0_mm_day[month] if several else None,
        "rain_mm": series.rain_mm[month],
        "rain_dry_year_mm": series.dry_rain_mm[month] if several else None,
        "dry_year": int(series.dry_year[month]) if several else None,
    }


_DIMENSIONS = {
    "et0_mm": ("et0", "depth"), "rain_mm": ("rain", "depth"),
    "tmin_c": ("tmin", "temperature"), "tmax_c": ("tmax", "temperature"),
    "dew_point_c": ("dew_point", "temperature"),
    "humidity_percent": ("humidity_percent", ""), "wind_m_s": ("wind", "wind"),
    "solar_mj_m2_day": ("solar", "radiation"), "sunshine_h": ("sunshine_h", ""),
}  # fmt: skip


def days_table(view: ClimateView) -> Table:
    """ET0 and rain of every day, and what the ET0 comes from; raises InputError."""
    days = _reference_days(view)
    weather = days.weather
    columns = [
        Column("date", "date", [str(day) for day in weather.date]),
        Column("et0", "ET0", days.et0_mm.tolist(), "depth"),
        Column("rain", "rain", weather.rain_mm.tolist(), "depth"),
    ]
    for name in QUANTITIES:
        if name not in ("et0_mm", "rain_mm") and weather.has(name):
            plain, dimension = _DIMENSIONS[name]
            values = getattr(weather, name).tolist()
            columns.append(Column(plain, plain, values, dimension))
    return Table(tuple(columns))


def days_data(view: ClimateView) -> dict[str, Any]:
    """The days for programs."""
    days = _reference_days(view)
    weather = days.weather
    inputs = [name for name in QUANTITIES[1:] if weather.has(name)]
    columns = {name: getattr(weather, name).tolist() for name in inputs}
    return {
        "source": view.months.source,
        "place": view.name,
        "et0_method": method_words(days.method),
        "days": [
            {
                "date": str(weather.date[row]),
                "et0_mm": days.et0_mm[row],
                **{name: values[row] for name, values in columns.items()},
            }
            for row in range(len(weather))
        ],
        "assumptions": list(map(assumption_sentence, days.assumptions)),
    }


def _reference_days(view: ClimateView) -> ReferenceDays:
    weather = days_of(view.climate, view.months.source)
    return reference_days(
        weather, view.latitude_deg, view.elevation_m, view.wind_height_m
    )
