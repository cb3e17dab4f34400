"""Reference ET and rain of the twelve months, by the best method a climate allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.demand import et0, radiation, sun, vapor
from scheduler.inputs.weather import Climate

DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
"""Days of the months, January first; a year of 365 days."""

WIND_WHERE_UNKNOWN_M_S = 2.0
"""Mean of about 2,000 stations (FAO56, p. 63)."""


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceMonths:
    """ET0, rain, mean minimum (NaN if unknown) and frost of the twelve months.

    `assumptions` are sentences about what the method had to take for granted.
    """

    source: str
    et0_mm_day: np.ndarray
    rain_mm: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    frost: np.ndarray
    method: str
    assumptions: tuple[str, ...]


def reference_months(
    climate: Climate, latitude_deg: float, elevation_m: float, wind_height_m: float
) -> ReferenceMonths:
    """Months of a climate, with ET0 given or computed."""
    assumptions: list[str] = []
    if climate.has("et0_mm_day"):
        method, values = "given", climate.et0_mm_day
    elif _only_temperatures(climate):
        method = "Hargreaves-Samani, from temperatures alone"
        values = et0.et0_hargreaves(
            climate.tmin_c,
            climate.tmax_c,
            sun.monthly_extraterrestrial_radiation(latitude_deg),
        )
    else:
        method = "FAO-56 Penman-Monteith, monthly"
        values = _penman_monteith(
            climate, latitude_deg, elevation_m, wind_height_m, assumptions
        )
    if not climate.has("tmin_c"):
        assumptions.append("no minimum temperatures: no month is taken as frosty")
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
