"""Climate of a site or a bare weather file by month: text, CSV and JSON."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np

from scheduler.balance.years import PlayedMonths, Years, played_months
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.frost import Date, FrostSeason
from scheduler.demand.months import ReferenceMonths, reference_months
from scheduler.demand.rain import effective_rain_tr21
from scheduler.demand.series import Series
from scheduler.inputs.weather.alone import WeatherFile
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate
from scheduler.plan.site import SitePlan, years_of_climate
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import REFERENCE_STORE_MM, Column, Table
from scheduler.report.words import climate as words
from scheduler.report.words import frost, sentences
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
    years: Years


def view_of_site(plan: SitePlan) -> ClimateView:
    """Climate of a site."""
    site = plan.site
    return ClimateView(
        site.name, site.climate, plan.months, site.latitude, site.elevation_m,
        site.wind_height_m, plan.years,
    )  # fmt: skip


def view_of_file(read: WeatherFile) -> ClimateView:
    """Climate of a weather file without a site."""
    months = reference_months(
        read.climate, read.latitude_deg, read.elevation_m, read.wind_height_m
    )
    assumptions = (
        *months.assumptions,
        *(assumed(code, read) for code in read.assumed),
    )
    return ClimateView(
        read.name, read.climate, dataclasses.replace(months, assumptions=assumptions),
        read.latitude_deg, read.elevation_m, read.wind_height_m,
        years_of_climate(months),
    )  # fmt: skip


def assumed(code: str, read: WeatherFile) -> Assumption:
    """What a file read without a site takes for granted, by its code."""
    if code == "no-rain" and isinstance(read.climate, DailyWeather):
        return Assumption(code, {"because": read.climate.no_rain_because})
    return Assumption(code)


def months_table(months: ReferenceMonths) -> Table:
    """Climate by month, with effective rain for reference grass.

    With years of days the means stand beside the dry year; else there is one year.
    """
    series = months.series
    headings = words.MONTHS if series is None else words.MONTHS_OF_YEARS
    column = headings.column
    several = series is not None and len(series.years) > 1
    et0, rain = shown_year(months)
    need = et0 * DAYS_IN_MONTH
    usable = effective_rain_of_grass(need, rain)
    columns = [column("month", range(1, 13), text=_label)]
    if series is not None:
        columns.append(column("days", series.days.tolist()))
    columns += [
        column("tmin", months.tmin_c.tolist(), "temperature"),
        column("tmax", months.tmax_c.tolist(), "temperature"),
        column("et0", et0.tolist(), "depth_day"),
        column("et0_month", need.tolist(), "depth"),
        column("rain", rain.tolist(), "depth"),
        column("effective_rain", usable.tolist(), "depth"),
    ]
    if series is not None and several:
        columns += [
            column("et0_dry_year", series.dry_et0_mm_day.tolist(), "depth_day"),
            column("rain_dry_year", series.dry_rain_mm.tolist(), "depth"),
        ]
    columns.append(column("frost", months.frost.tolist(), text=_frost_text))
    if series is not None and several:
        share = (100 * series.frost_share).tolist()
        columns.append(column("frost_years_percent", share, text=_percent))
    return Table(tuple(columns))


def _label(month: int) -> str:
    return shown.MONTH_LABELS[month - 1]


def _frost_text(frost: bool) -> str:
    return words.FROST if frost else ""


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
    """Climate by month, where it comes from, and the years that a plan plays."""
    months = view.months
    store = shown.quantity(REFERENCE_STORE_MM, "depth", units)
    table = months_table(months)
    year = {c.name: sum(c.values) for c in table.columns if c.dimension == "depth"}
    parts: list[Block] = [
        Heading(words.title(view.name, months.source, months.method), 1,
                [words.effective_rain(store)], runs_on=True),
        table,
        Paragraph([words.totals(year, units)]),
    ]  # fmt: skip
    told = []
    if months.series is not None:
        planned = months.et0_mm_day is months.series.dry_et0_mm_day
        told = words.years_told(months.series, planned)
    told += frost.climate_lines(months, units)
    if told:
        parts.append(Paragraph(told))
    played = played_months(view.years)
    assumptions = list(map(assumption_sentence, months.assumptions))
    return [
        *parts,
        Heading(words.PLAN_YEARS, 2, [words.plan_years(months, view.years, units)]),
        years_table(view.years, months, played),
        Paragraph([words.dry_spells(played)]),
        *sections([(sentences.ASSUMED, assumptions)]),
    ]


def years_table(years: Years, months: ReferenceMonths, played: PlayedMonths) -> Table:
    """Years of days by month, beside what they were invented from, if they were."""
    column, one_digit = words.PLAYED.column, "{:.1f}".format
    asked: list[tuple[Column, ...]] = [(), (), ()]
    if years.rain_days is not None:
        asked = [
            (column("rain_days_asked", years.rain_days.tolist(), text=one_digit),),
            (column("rain", months.rain_mm.tolist(), "depth"),),
            (column("et0", months.et0_mm_day.tolist(), "depth_day"),),
        ]
    spells = played.dry_spell_days.tolist()
    return Table(
        (
            column("month", range(1, 13), text=_label),
            *asked[0],
            column("rain_days", played.rain_days.tolist(), text=one_digit),
            *asked[1],
            column("rain_played", played.rain_mm.tolist(), "depth"),
            *asked[2],
            column("et0_played", played.et0_mm_day.tolist(), "depth_day"),
            column("dry_spell_days", spells, text="{:.0f}".format),
        )
    )


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
                "frost_nights": months.frost_nights[month],
                "frost_share": None if series is None else series.frost_share[month],
            }
            for month in range(12)
        ],
        "dry_year_percentile": None if series is None else series.dry_percentile,
        "frost_dates": _frost_data(series),
        "hard_freeze_dates": _season_data(months.frost_season),
        "plan_years": _years_data(view),
        "assumptions": list(map(assumption_sentence, months.assumptions)),
    }


def _season_data(season: FrostSeason | None) -> dict[str, Any]:
    """Dates of nights that freeze pipes, as those of frost."""
    begin, half = (season.may_begin, season.begins) if season else (None, None)
    half_past, past = (season.ends, season.past) if season else (None, None)
    return {
        "first_nine_of_ten": _month_and_day(begin),
        "first_half": _month_and_day(half),
        "last_half": _month_and_day(half_past),
        "last_nine_of_ten": _month_and_day(past),
        "reckoned": None if season is None else not season.by_days,
    }


def _frost_data(series: Series | None) -> dict[str, Any]:
    """Dates of frost; months and days of a year as 10-12."""
    data: dict[str, Any] = {}
    for side in ("last", "first"):
        dates = None if series is None else getattr(series, f"{side}_frosts")
        data |= {
            side: [] if dates is None else list(dates.dates),
            f"{side}_years": 0 if dates is None else dates.seasons,
            f"{side}_half": _month_and_day(dates.half if dates else None),
            f"{side}_nine_of_ten": _month_and_day(dates.most if dates else None),
        }
    return data


def _month_and_day(date: Date | None) -> str | None:
    return None if date is None else f"{date[0]:02d}-{date[1]:02d}"


def _years_data(view: ClimateView) -> dict[str, Any]:
    """Years of days that a plan by days stands on."""
    years, played = view.years, played_months(view.years)
    asked = years.rain_days
    return {
        "from": years.first,
        "to": years.last,
        "count": len(years),
        "invented": years.invented,
        "filled_days": None if years.invented else years.filled_days,
        "rain_days_given": years.rain_days_given if years.invented else None,
        "usual_dry_spell_days": played.usual_dry_spell_days,
        "longest_dry_spell_days": played.longest_dry_spell_days,
        "months": [
            {
                "month": month + 1,
                "rain_days_asked": None if asked is None else asked[month],
                "rain_days": played.rain_days[month],
                "rain_mm": played.rain_mm[month],
                "et0_mm_day": played.et0_mm_day[month],
                "dry_spell_days": played.dry_spell_days[month],
            }
            for month in range(12)
        ],
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
