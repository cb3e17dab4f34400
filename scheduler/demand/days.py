"""Reference ET of every day of a weather file, by the best method the day allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.demand.et0 import daily, sun
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.et0.reference import (
    GIVEN,
    Steps,
    et0_by_hargreaves,
    et0_by_penman_monteith,
    only_temperatures,
)
from scheduler.inputs.weather.daily import DailyWeather

# A degree of latitude is 111 km: farther off, the weather is another (our choice).
FAR_DEG = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceDays:
    """ET0 of each day of a weather file, NaN where it cannot be known.

    `method` is a code: "given", or one of `ComputedEt0`; `computed` is that of the days
    whose ET0 is not given, "" where there is none. `assumptions` are what the method
    had to take for granted.
    """

    weather: DailyWeather
    et0_mm: np.ndarray
    method: str
    assumptions: tuple[Assumption, ...]
    computed: str = ""

    def method_of_days(self) -> list[str]:
        """Code of the method by day; "" where ET0 cannot be known."""
        given, known = np.isfinite(self.weather.et0_mm), np.isfinite(self.et0_mm)
        return np.where(given, GIVEN, np.where(known, self.computed, "")).tolist()


def reference_days(
    weather: DailyWeather, latitude_deg: float, elevation_m: float, wind_height_m: float
) -> ReferenceDays:
    """ET0 of every day: given, or by Penman-Monteith, or from temperatures alone."""
    said = [Assumption("noted", {"text": note}) for note in weather.notes]
    if abs(weather.latitude_deg - latitude_deg) > FAR_DEG:
        values = {"file_deg": weather.latitude_deg, "place_deg": latitude_deg}
        said.append(Assumption("latitude-apart", values))
    known = np.isfinite(weather.et0_mm)
    values_mm = weather.et0_mm.copy()
    open_ = ~known & np.isfinite(weather.tmin_c) & np.isfinite(weather.tmax_c)
    method, by = (GIVEN if known.any() else ""), ""
    if open_.any():
        steps = _steps(weather, open_, latitude_deg)
        if only_temperatures(weather):
            computed = et0_by_hargreaves(steps)
        else:
            computed = et0_by_penman_monteith(steps, elevation_m, wind_height_m)
        values_mm[open_] = computed.et0_mm_day
        said += computed.assumptions
        if known.any():
            counts = {
                "given_days": int(np.count_nonzero(known)),
                "computed_days": int(np.count_nonzero(open_)),
                "method": computed.method,
            }
            said.append(Assumption("et0-partly-given", counts))
        by = computed.method
        method = method or by
    return ReferenceDays(weather, values_mm, method, tuple(said), by)


def _steps(weather: DailyWeather, days: np.ndarray, latitude_deg: float) -> Steps:
    day_of_year = weather.day_of_year[days]
    return Steps(
        length="daily",
        tmin_c=weather.tmin_c[days],
        tmax_c=weather.tmax_c[days],
        dew_point_c=weather.dew_point_c[days],
        humidity_percent=weather.humidity_percent[days],
        wind_m_s=weather.wind_m_s[days],
        usual_wind_m_s=_wind_of_months(weather)[weather.month[days]],
        solar_mj_m2_day=weather.solar_mj_m2_day[days],
        sunshine_h=weather.sunshine_h[days],
        extraterrestrial_mj_m2_day=daily.extraterrestrial_radiation_of_days(
            latitude_deg, day_of_year
        ),
        daylight_h=sun.daylight_hours(latitude_deg, day_of_year),
        soil_heat_flux_mj_m2_day=np.zeros(len(day_of_year)),
    )


def _wind_of_months(weather: DailyWeather) -> np.ndarray:
    """Mean wind of each month of the file, of the file where the month has none."""
    wind, month = weather.wind_m_s, weather.month
    there = np.isfinite(wind)
    if not there.any():
        return np.full(12, np.nan)
    count = np.bincount(month[there], minlength=12)
    total = np.bincount(month[there], wind[there], 12)
    return np.where(count > 0, total / np.maximum(count, 1), wind[there].mean())
