"""Reference ET and rain of the twelve months, by the best method a climate allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.demand import et0, radiation, sun, vapor
from scheduler.demand.days import (
    HARGREAVES,
    PENMAN_MONTEITH,
    WIND_WHERE_UNKNOWN_M_S,
    reference_days,
)
from scheduler.demand.series import (
    MEAN_PERCENTILE,
    SHOWN_DRY_PERCENTILE,
    Series,
    series_of_days,
)
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

_NO_MINIMUM = "no minimum temperatures: no month is taken as frosty"
_ONE_YEAR = "dry_year_percentile is for daily files of several years; {} holds one year"
_MOST_LISTED = 6


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceMonths:
    """ET0, rain, mean minimum (NaN if unknown) and frost of the twelve months.

    ET0 and rain are those to plan for: the mean, or the dry year's. `assumptions` are
    sentences about what the method had to take for granted. `series` tells of the
    years behind the months, where the climate file holds days.
    """

    source: str
    et0_mm_day: np.ndarray
    rain_mm: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    frost: np.ndarray
    method: str
    assumptions: tuple[str, ...]
    series: Series | None = None


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
    assumptions: list[str] = []
    if dry_year_percentile != MEAN_PERCENTILE:
        assumptions.append(_ONE_YEAR.format("a monthly climate file"))
    if climate.has("et0_mm_day"):
        method, values = "given", climate.et0_mm_day
    elif _only_temperatures(climate):
        method = HARGREAVES
        values = et0.et0_hargreaves(
            climate.tmin_c,
            climate.tmax_c,
            sun.monthly_extraterrestrial_radiation(latitude_deg),
        )
    else:
        method = f"{PENMAN_MONTEITH}, monthly"
        values = _penman_monteith(
            climate, latitude_deg, elevation_m, wind_height_m, assumptions
        )
    if not climate.has("tmin_c"):
        assumptions.append(_NO_MINIMUM)
    return ReferenceMonths(
        climate.source,
        values,
        climate.rain_mm,
        climate.tmin_c,
        climate.tmax_c,
        climate.tmin_c < 0,
        method,
        tuple(assumptions),
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
    series = series_of_days(
        days, SHOWN_DRY_PERCENTILE if mean else percentile, latitude_deg < 0
    )
    assumptions = [*days.assumptions, *_said_of_years(series, percentile)]
    if not np.isfinite(series.tmin_c).any():
        assumptions.append(_NO_MINIMUM)
    return ReferenceMonths(
        weather.source,
        series.et0_mm_day if mean else series.dry_et0_mm_day,
        series.rain_mm if mean else series.dry_rain_mm,
        series.tmin_c,
        series.tmax_c,
        series.tmin_c < 0,
        days.method,
        tuple(assumptions),
        series,
    )


def _said_of_years(series: Series, percentile: float) -> list[str]:
    said = []
    left_out = series.left_out
    if left_out:
        more = len(left_out) - _MOST_LISTED
        listed = ", ".join(left_out[:_MOST_LISTED])
        tail = f" and {more} more" if more > 0 else ""
        said.append(
            "left out, because under 80 % of the days are there: " + listed + tail
        )
    if percentile == MEAN_PERCENTILE:
        return said
    if series.typical_year:
        said.append(_ONE_YEAR.format("a typical year"))
    else:
        fewest = int(series.years_that_count.min())
        said.append(
            f"ET0 and rain of each month are those of the year at percentile "
            f"{percentile:g} by ET0 - rain, of {fewest} years or more"
        )
    return said


def _only_temperatures(climate: Climate) -> bool:
    others = ("dew_point_c", "humidity_percent", "wind_m_s", "solar_mj_m2_day",
              "sunshine_h")  # fmt: skip
    return not any(climate.has(name) for name in others)


def _penman_monteith(
    climate: Climate,
    latitude_deg: float,
    elevation_m: float,
    wind_height_m: float,
    assumptions: list[str],
) -> np.ndarray:
    outer = sun.monthly_extraterrestrial_radiation(latitude_deg)
    clear = radiation.clear_sky_radiation(outer, elevation_m)
    vapor_pressure = _vapor_pressure(climate, assumptions)
    solar = _solar_radiation(climate, latitude_deg, outer, clear, assumptions)
    net = radiation.net_shortwave_radiation(solar) - radiation.net_longwave_radiation(
        climate.tmin_c, climate.tmax_c, vapor_pressure, solar, clear
    )
    if climate.has("wind_m_s"):
        wind = et0.wind_at_2_m(climate.wind_m_s, wind_height_m)
    else:
        wind = np.full(12, WIND_WHERE_UNKNOWN_M_S)
        assumptions.append("no wind: 2 m/s all year (FAO56, p. 63)")
    return et0.et0_penman_monteith(
        climate.tmin_c,
        climate.tmax_c,
        vapor_pressure,
        wind,
        net,
        radiation.monthly_soil_heat_flux((climate.tmin_c + climate.tmax_c) / 2),
        elevation_m,
    )


def _vapor_pressure(climate: Climate, assumptions: list[str]) -> np.ndarray:
    if climate.has("dew_point_c"):
        return vapor.vapor_pressure_from_dew_point(climate.dew_point_c)
    if climate.has("humidity_percent"):
        return vapor.vapor_pressure_from_mean_humidity(
            climate.tmin_c, climate.tmax_c, climate.humidity_percent
        )
    assumptions.append(
        "no humidity: the dew point is taken as the minimum temperature "
        "(FAO56, eq. 48, p. 58); in dry country that makes ET0 a little low"
    )
    return vapor.vapor_pressure_from_minimum_temperature(climate.tmin_c)


def _solar_radiation(
    climate: Climate,
    latitude_deg: float,
    outer_mj_m2_day: np.ndarray,
    clear_mj_m2_day: np.ndarray,
    assumptions: list[str],
) -> np.ndarray:
    if climate.has("solar_mj_m2_day"):
        return climate.solar_mj_m2_day
    if climate.has("sunshine_h"):
        daylight = sun.monthly_daylight_hours(latitude_deg)
        sunshine = climate.sunshine_h
        if np.any(sunshine > daylight):
            assumptions.append("sunshine above the day's length is held to it")
            sunshine = np.minimum(sunshine, daylight)
        return radiation.solar_radiation_from_sunshine(
            sunshine, daylight, outer_mj_m2_day
        )
    assumptions.append(
        "no radiation or sunshine: from the daily temperature range, "
        "0.16 inland (FAO56, eq. 50, p. 60); on a coast that makes ET0 a little low"
    )
    solar = radiation.solar_radiation_from_temperature(
        climate.tmin_c, climate.tmax_c, outer_mj_m2_day
    )
    return np.minimum(solar, clear_mj_m2_day)
