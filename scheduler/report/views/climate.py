"""Climate of a site or a bare weather file: by month, by day, in text, CSV and JSON."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.assumptions import Assumption
from scheduler.demand.days import ReferenceDays, reference_days
from scheduler.demand.et0 import wind_at_2_m
from scheduler.demand.months import ReferenceMonths, reference_months
from scheduler.demand.rain import effective_rain_tr21
from scheduler.demand.series import Series
from scheduler.errors import InputError, Problem
from scheduler.inputs.weather.climates import read_climate
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather
from scheduler.inputs.weather.monthly import Climate
from scheduler.inputs.weather.services import Fetched
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.frames import REFERENCE_STORE_MM, Column, Table
from scheduler.report.text import grid, wrapped
from scheduler.report.words.climate import assumption_sentence, method_words

WIND_HEIGHT_M = 2.0
"""Height of the gauge where nothing tells it; said as an assumption."""


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


def view_of_file(
    path: Path,
    latitude_deg: float | None,
    elevation_m: float | None,
    wind_height_m: float | None,
) -> ClimateView:
    """Climate of a weather file without a site; raises InputError.

    What is not given is taken from the file, if it tells.
    """
    problems: list[Problem] = []
    climate = read_climate(path, path.name, problems)
    if climate is None or problems:
        raise InputError(problems)
    latitude = _first(latitude_deg, climate, "latitude_deg")
    assumed: list[Assumption] = []
    if latitude is None and _has_all_et0(climate):
        latitude = math.nan
        if isinstance(climate, DailyWeather):
            assumed.append(Assumption("north-taken"))
    if latitude is None:
        raise InputError(
            [Problem(path.name, None, "--latitude", "is missing",
                     "degrees, north positive, as --latitude 38.5",
                     "the sun's strength follows from it; the file does not tell it")]
        )  # fmt: skip
    elevation = _first(elevation_m, climate, "elevation_m")
    if elevation is None:
        elevation = 0.0
        assumed.append(Assumption("sea-level-taken"))
    height = _first(wind_height_m, climate, "wind_height_m")
    if height is None:
        height = WIND_HEIGHT_M
        if climate.has("wind_m_s"):
            assumed.append(Assumption("gauge-taken-at-2-m"))
    if isinstance(climate, DailyWeather) and climate.no_rain_because:
        assumed.append(Assumption("no-rain", {"because": climate.no_rain_because}))
    months = reference_months(climate, latitude, elevation, height)
    return ClimateView(
        path.name,
        climate,
        dataclasses.replace(months, assumptions=(*months.assumptions, *assumed)),
        latitude,
        elevation,
        height,
    )


def _has_all_et0(climate: Climate | DailyWeather) -> bool:
    """Whether no ET0 has to be computed, for which the sun would count."""
    if not isinstance(climate, DailyWeather):
        return climate.has("et0_mm_day")
    open_ = np.isnan(climate.et0_mm) & np.isfinite(climate.tmin_c + climate.tmax_c)
    return climate.has("et0_mm") and not open_.any()


def _first(
    given: float | None, climate: Climate | DailyWeather, name: str
) -> float | None:
    """What is given, else what the file tells of itself."""
    if given is not None or not isinstance(climate, DailyWeather):
        return given
    told = float(getattr(climate, name))
    return None if np.isnan(told) else told


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


def to_text(view: ClimateView, units: str, style: str = "simple") -> str:
    """Climate by month, and where it comes from."""
    months = view.months
    name = shown.for_markdown(view.name) if style == "pipe" else view.name
    source = "" if view.name == months.source else f": {months.source}"
    facts = (
        f"Climate of {name}{source}; ET0: {method_words(months.method)}. "
        "Effective rain is that of reference grass, by SCS TR-21 with a store of "
        f"{shown.quantity(REFERENCE_STORE_MM, 'depth', units)}."
    )
    table = months_table(months)
    parts = [wrapped(facts), grid(table, units, style), _year(table, units)]
    if months.series is not None:
        parts.append("\n".join(map(wrapped, _said_of_series(months))))
    if months.assumptions:
        lines = map(wrapped, map(assumption_sentence, months.assumptions))
        parts.append("\n".join(["Assumed", "-------", *lines]))
    return "\n\n".join(parts) + "\n"


def _year(table: Table, units: str) -> str:
    totals = {column.name: sum(column.values) for column in table.columns
              if column.name in ("et0_month", "rain", "effective_rain")}  # fmt: skip
    names = ("ET0", "rain", "effective rain")
    return "Year: " + "; ".join(
        f"{name} {shown.quantity(total, 'depth', units)}"
        for name, total in zip(names, totals.values(), strict=True)
        if np.isfinite(total)
    )


def _said_of_series(months: ReferenceMonths) -> list[str]:
    series = months.series
    assert series is not None
    lines = []
    if series.typical_year:
        lines.append("One year of hours: it tells of no dry years.")
    else:
        first, last = series.years[0], series.years[-1]
        years = f"{first}" if first == last else f"{first} to {last}"
        lines.append(f"Means over the days of {years}.")
    if len(series.years) > 1:
        used = "planned with" if _planned_dry(months) else "shown, not planned with"
        lines.append(
            "The dry year of a month is the one whose ET0 - rain "
            f"{series.dry_percentile:g} % of the years do not pass; {used}."
        )
    lines += _frost_lines(series)
    return lines


def _planned_dry(months: ReferenceMonths) -> bool:
    assert months.series is not None
    return months.et0_mm_day is months.series.dry_et0_mm_day


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
    if not isinstance(view.climate, DailyWeather):
        raise InputError(
            [Problem(view.months.source, None, "--daily", "holds months, not days",
                     "a daily climate file, or a typical year such as EPW or TMY3")]
        )  # fmt: skip
    return reference_days(
        view.climate, view.latitude_deg, view.elevation_m, view.wind_height_m
    )


def fetched_file(fetched: Fetched, today: str) -> str:
    """Daily CSV of weather from a service, its first lines saying whose it is.

    Wind is brought to 2 m, the height that a daily file is taken to be at.
    """
    weather = fetched.weather
    lines = [*fetched.heading, f"Fetched: {today}"]
    names = [name for name in QUANTITIES if weather.has(name)]
    columns = {name: getattr(weather, name) for name in names}
    if "wind_m_s" in columns and np.isfinite(weather.wind_height_m):
        columns["wind_m_s"] = wind_at_2_m(columns["wind_m_s"], weather.wind_height_m)
        lines.append(f"Wind brought from {weather.wind_height_m:g} m to 2 m (FAO56)")
    if "rain_mm" not in columns:
        lines.append("No rain: name a monthly CSV with it as rain_file, by [climate]")
    texts = [
        ["" if np.isnan(value) else f"{value:.2f}" for value in columns[name]]
        for name in names
    ]
    rows = zip((str(day) for day in weather.date), *texts, strict=True)
    text = [f"# {line}" for line in lines]
    text += [",".join(["date", *names]), *(",".join(row) for row in rows)]
    return "\n".join(text) + "\n"


def fetched_text(fetched: Fetched, path: str, name: str, settings: str) -> str:
    """What was written, and what to do with it; `settings` is where it is named."""
    weather = fetched.weather
    rain = "" if weather.has("rain_mm") else ', and rain_file = "…" for the rain'
    return (
        f"{path}: {len(weather):,} days written. {fetched.heading[-1]}\n"
        f'In {settings}, under [climate], write: file = "{name}"{rain}\n'
    )
