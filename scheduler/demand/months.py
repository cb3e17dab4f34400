"""Reference ET and rain of the twelve months, by the best method a climate allows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.demand.days import ReferenceDays, reference_days
from scheduler.demand.et0 import radiation, sun
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.et0.reference import (
    GIVEN,
    ComputedEt0,
    Steps,
    et0_by_hargreaves,
    et0_by_penman_monteith,
    only_temperatures,
)
from scheduler.demand.frost import (
    FEWEST_SEASONS,
    FrostSeason,
    freezing_nights,
    season_of_days,
    season_of_means,
)
from scheduler.demand.series import (
    MEAN_PERCENTILE,
    SHOWN_DRY_PERCENTILE,
    Series,
    series_of_days,
)
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

NO_MINIMUM = Assumption("no-minimum")


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceMonths:
    """ET0, rain, mean minimum (NaN if unknown) and frost of the twelve months.

    `frost` marks months whose mean minimum is below freezing; `frost_nights` are nights
    at freezing or below, counted where days are known, else by the normal law, and
    `frost_season` is when hard freezes come, None where they hardly do.

    ET0 and rain are those to plan for: the mean, or the dry year's. `method` is a
    code: "given", or one of `ComputedEt0`; `assumptions` are what it had to take for
    granted. `series` tells of the years behind the months, where the climate file
    holds days, and `days` are those days. `rain_days` are days of 1 mm or more, None
    where the climate does not tell them.
    """

    source: str
    et0_mm_day: np.ndarray
    rain_mm: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    frost: np.ndarray
    frost_nights: np.ndarray
    frost_season: FrostSeason | None
    method: str
    assumptions: tuple[Assumption, ...]
    series: Series | None = None
    days: ReferenceDays | None = None
    rain_days: np.ndarray | None = None


def reference_months(
    climate: Climate | DailyWeather,
    latitude_deg: float,
    elevation_m: float,
    wind_height_m: float,
    dry_year_percentile: float = MEAN_PERCENTILE,
) -> ReferenceMonths:
    """Months of a climate, with ET0 given or computed."""
    if isinstance(climate, DailyWeather):
        return _months_of_days(
            climate, latitude_deg, elevation_m, wind_height_m, dry_year_percentile
        )
    said: list[Assumption] = []
    if dry_year_percentile != MEAN_PERCENTILE:
        said.append(Assumption("one-year", {"typical_year": False}))
    if climate.has("et0_mm_day"):
        found = ComputedEt0(climate.et0_mm_day, GIVEN, ())
    elif only_temperatures(climate):
        found = et0_by_hargreaves(_steps(climate, latitude_deg))
    else:
        found = et0_by_penman_monteith(
            _steps(climate, latitude_deg), elevation_m, wind_height_m
        )
    said += found.assumptions
    if not climate.has("tmin_c"):
        said.append(NO_MINIMUM)
    frost, nights = climate.tmin_c < 0, freezing_nights(climate.tmin_c)
    return ReferenceMonths(
        climate.source,
        found.et0_mm_day,
        climate.rain_mm,
        climate.tmin_c,
        climate.tmax_c,
        frost,
        nights,
        season_of_means(climate.tmin_c, latitude_deg < 0),
        found.method,
        tuple(said),
        rain_days=climate.rain_days if climate.has("rain_days") else None,
    )


def _steps(climate: Climate, latitude_deg: float) -> Steps:
    return Steps(
        length="monthly",
        tmin_c=climate.tmin_c,
        tmax_c=climate.tmax_c,
        dew_point_c=climate.dew_point_c,
        humidity_percent=climate.humidity_percent,
        wind_m_s=climate.wind_m_s,
        usual_wind_m_s=np.full(12, np.nan),
        solar_mj_m2_day=climate.solar_mj_m2_day,
        sunshine_h=climate.sunshine_h,
        extraterrestrial_mj_m2_day=sun.monthly_extraterrestrial_radiation(latitude_deg),
        daylight_h=sun.monthly_daylight_hours(latitude_deg),
        soil_heat_flux_mj_m2_day=radiation.monthly_soil_heat_flux(
            (climate.tmin_c + climate.tmax_c) / 2
        ),
    )


def _months_of_days(
    weather: DailyWeather,
    latitude_deg: float,
    elevation_m: float,
    wind_height_m: float,
    percentile: float,
) -> ReferenceMonths:
    """Months of daily years: their mean, or the dry year of each month."""
    days = reference_days(weather, latitude_deg, elevation_m, wind_height_m)
    mean = percentile == MEAN_PERCENTILE or weather.typical_year
    south = latitude_deg < 0
    series = series_of_days(days, SHOWN_DRY_PERCENTILE if mean else percentile, south)
    frost = series.tmin_c < 0
    season = season_of_means(series.tmin_c, south)
    seasons = series.last_frosts.seasons, series.first_frosts.seasons
    if min(seasons) >= FEWEST_SEASONS:
        season = season_of_days(weather.date, weather.tmin_c, south)
    said = [*days.assumptions, *_said_of_years(series, percentile)]
    if not np.isfinite(series.tmin_c).any():
        said.append(NO_MINIMUM)
    return ReferenceMonths(
        weather.source,
        series.et0_mm_day if mean else series.dry_et0_mm_day,
        series.rain_mm if mean else series.dry_rain_mm,
        series.tmin_c,
        series.tmax_c,
        frost,
        series.frost_nights,
        season,
        days.method,
        tuple(said),
        series,
        days,
        _rain_days(weather, series),
    )


def _rain_days(weather: DailyWeather, series: Series) -> np.ndarray | None:
    """Days of rain of months that stand beside the days, else those of the days."""
    if weather.has("rain_days_of_months"):
        return weather.rain_days_of_months
    by_months = np.isfinite(weather.rain_of_months_mm).all()
    known = not by_months and np.isfinite(series.rain_days).all()
    return series.rain_days if known else None


def _said_of_years(series: Series, percentile: float) -> Iterator[Assumption]:
    if series.left_out:
        yield Assumption("months-left-out", {"months": series.left_out})
    if percentile == MEAN_PERCENTILE:
        return
    if series.typical_year:
        yield Assumption("one-year", {"typical_year": True})
    else:
        fewest = int(series.years_that_count.min())
        yield Assumption("dry-year", {"percentile": percentile, "years": fewest})
