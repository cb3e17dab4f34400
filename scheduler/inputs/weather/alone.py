"""A weather file read by itself, without a site around it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs.weather.climates import read_climate
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

WIND_HEIGHT_M = 2.0
"""Height of the gauge where nothing tells it; said as an assumption."""


@dataclass(frozen=True, slots=True, eq=False)
class WeatherFile:
    """What a weather file says, where it was measured, and codes of what was assumed.

    The latitude is NaN where no ET0 has to be computed and nothing tells it.
    """

    name: str
    climate: Climate | DailyWeather
    latitude_deg: float
    elevation_m: float
    wind_height_m: float
    assumed: tuple[str, ...]


def read_weather_file(
    path: Path,
    latitude_deg: float | None,
    elevation_m: float | None,
    wind_height_m: float | None,
    whole_year: bool = True,
) -> WeatherFile:
    """Weather of a file, and its place; raises InputError.

    What is not given is taken from the file, if it tells. Any stretch of days will do
    where no `whole_year` is asked for.
    """
    problems: list[Problem] = []
    climate = read_climate(path, path.name, problems, whole_year)
    if climate is None or problems:
        raise InputError(problems)
    latitude = _first(latitude_deg, climate, "latitude_deg")
    assumed = []
    if latitude is None and _has_all_et0(climate):
        latitude = math.nan
        if isinstance(climate, DailyWeather):
            assumed.append("north-taken")
    if latitude is None:
        raise InputError(
            [Problem(path.name, None, "--latitude", "is missing",
                     "degrees, north positive, as --latitude 38.5",
                     "the sun's strength follows from it; the file does not tell it")]
        )  # fmt: skip
    elevation = _first(elevation_m, climate, "elevation_m")
    if elevation is None:
        elevation = 0.0
        assumed.append("sea-level-taken")
    height = _first(wind_height_m, climate, "wind_height_m")
    if height is None:
        height = WIND_HEIGHT_M
        if climate.has("wind_m_s"):
            assumed.append("gauge-taken-at-2-m")
    if isinstance(climate, DailyWeather) and climate.no_rain_because:
        assumed.append("no-rain")
    return WeatherFile(path.name, climate, latitude, elevation, height, tuple(assumed))


def days_of(climate: Climate | DailyWeather, source: str) -> DailyWeather:
    """Weather that has days; raises InputError where it holds months."""
    if isinstance(climate, DailyWeather):
        return climate
    raise InputError(
        [Problem(source, None, "--daily", "holds months, not days",
                 "a daily climate file, or a typical year such as EPW or TMY3")]
    )  # fmt: skip


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
