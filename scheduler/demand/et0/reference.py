"""ET0 of days or months, by the best method that what is known of them allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.demand.et0 import daily, radiation, vapor
from scheduler.demand.et0 import equations as et0
from scheduler.demand.et0.assumptions import Assumption
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

WIND_WHERE_UNKNOWN_M_S = 2.0
"""Mean of about 2,000 stations (FAO56, p. 63)."""

# A sum of what a gauge may err and the simple declination misses (our choice): more
# than this share of Ra at the ground is another unit or another place.
MOST_OF_OUTER = 1.05
SLACK_OF_OUTER_MJ_M2_DAY = 0.1
"""Beside it, for the polar night."""

GIVEN = "given"
HARGREAVES = "hargreaves"
PENMAN_MONTEITH = "penman-monteith"
_BESIDE_TEMPERATURES = ("dew_point_c", "humidity_percent", "wind_m_s",
                        "solar_mj_m2_day", "sunshine_h")  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """Days or months whose ET0 is to be computed, (step,); NaN for what is blank.

    `length` is "daily" or "monthly". `usual_wind_m_s` stands in for a blank wind, at
    the height of the gauge; NaN where nothing is known of the wind.
    """

    length: str
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    dew_point_c: np.ndarray
    humidity_percent: np.ndarray
    wind_m_s: np.ndarray
    usual_wind_m_s: np.ndarray
    solar_mj_m2_day: np.ndarray
    sunshine_h: np.ndarray
    extraterrestrial_mj_m2_day: np.ndarray
    daylight_h: np.ndarray
    soil_heat_flux_mj_m2_day: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class ComputedEt0:
    """ET0 of steps, (step,), the code of its method, and what that takes for granted.

    Codes: hargreaves, penman-monteith-daily, penman-monteith-monthly.
    """

    et0_mm_day: np.ndarray
    method: str
    assumptions: tuple[Assumption, ...]


def only_temperatures(weather: Climate | DailyWeather) -> bool:
    """Whether a file knows nothing of the air, the wind or the sun."""
    return not any(weather.has(name) for name in _BESIDE_TEMPERATURES)


def et0_by_hargreaves(steps: Steps) -> ComputedEt0:
    """ET0 from temperatures alone."""
    values = et0.et0_hargreaves(
        steps.tmin_c, steps.tmax_c, steps.extraterrestrial_mj_m2_day
    )
    return ComputedEt0(values, HARGREAVES, ())


def et0_by_penman_monteith(
    steps: Steps, elevation_m: float, wind_height_m: float
) -> ComputedEt0:
    """ET0 by FAO-56, with what it says to take where a quantity is not known."""
    said: list[Assumption] = []
    values = daily.et0_penman_monteith_of_days(
        steps.tmin_c,
        steps.tmax_c,
        _vapor_pressure(steps, said),
        _wind(steps, wind_height_m, said),
        _solar_radiation(steps, elevation_m, said),
        steps.extraterrestrial_mj_m2_day,
        elevation_m,
        steps.soil_heat_flux_mj_m2_day,
    )
    return ComputedEt0(values, f"{PENMAN_MONTEITH}-{steps.length}", tuple(said))


def _say(said: list[Assumption], code: str, wanting: np.ndarray) -> None:
    """Tell what had to be assumed, and on how many days; None: on all of them.

    A month is never wanting alone: its file holds a column whole or not at all.
    """
    if wanting.any():
        days = None if wanting.all() else _number(wanting)
        said.append(Assumption(code, {"days": days}))


def _number(marks: np.ndarray) -> int:
    return int(np.count_nonzero(marks))


def _vapor_pressure(steps: Steps, said: list[Assumption]) -> np.ndarray:
    values = vapor.vapor_pressure_from_dew_point(steps.dew_point_c)
    from_humidity = vapor.vapor_pressure_from_mean_humidity(
        steps.tmin_c, steps.tmax_c, steps.humidity_percent
    )
    values = np.where(np.isnan(values), from_humidity, values)
    wanting = np.isnan(values)
    _say(said, "no-humidity", wanting)
    at_tmin = vapor.vapor_pressure_from_minimum_temperature(steps.tmin_c)
    return np.where(wanting, at_tmin, values)


def _wind(steps: Steps, wind_height_m: float, said: list[Assumption]) -> np.ndarray:
    blank, known = np.isnan(steps.wind_m_s), np.isfinite(steps.usual_wind_m_s)
    _say(said, "no-wind", blank & ~known)
    _say(said, "wind-of-the-month", blank & known)
    at_gauge = np.where(blank, steps.usual_wind_m_s, steps.wind_m_s)
    at_2_m = et0.wind_at_2_m(at_gauge, wind_height_m)
    return np.where(np.isnan(at_2_m), WIND_WHERE_UNKNOWN_M_S, at_2_m)


def _solar_radiation(
    steps: Steps, elevation_m: float, said: list[Assumption]
) -> np.ndarray:
    solar, outer = steps.solar_mj_m2_day, steps.extraterrestrial_mj_m2_day
    over = solar > MOST_OF_OUTER * outer + SLACK_OF_OUTER_MJ_M2_DAY
    if over.any() and steps.length == "daily":
        said.append(Assumption("solar-over-outer", {"days": _number(over)}))
    daylight = steps.daylight_h
    long = steps.sunshine_h > daylight + radiation.SUNSHINE_OVER_DAYLIGHT_H
    if long.any():
        days = _number(long) if steps.length == "daily" else None
        said.append(Assumption("sunshine-held", {"days": days}))
    from_sunshine = radiation.solar_radiation_from_sunshine(
        np.minimum(steps.sunshine_h, daylight), daylight, outer
    )
    solar = np.where(np.isnan(solar), from_sunshine, solar)
    wanting = np.isnan(solar)
    _say(said, "no-radiation", wanting)
    from_range = np.minimum(
        radiation.solar_radiation_from_temperature(steps.tmin_c, steps.tmax_c, outer),
        radiation.clear_sky_radiation(outer, elevation_m),
    )
    return np.where(wanting, from_range, solar)
