"""Reference evapotranspiration (ET0) of grass, after FAO-56.

The vapor in the air is in `vapor.py`; its names can be used from here too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.demand.et0.domain import (
    HIGHEST_M,
    LOWEST_M,
    numbers_between,
    temperature_range,
)
from scheduler.demand.et0.vapor import (
    mean_saturation_vapor_pressure,
    saturation_vapor_pressure,
    saturation_vapor_pressure_slope,
    vapor_pressure_from_dew_point,
    vapor_pressure_from_humidity_extremes,
    vapor_pressure_from_mean_humidity,
    vapor_pressure_from_minimum_temperature,
    vapor_pressure_from_wet_bulb,
)

__all__ = [
    "atmospheric_pressure",
    "et0_hargreaves",
    "et0_penman_monteith",
    "mean_saturation_vapor_pressure",
    "psychrometric_constant",
    "saturation_vapor_pressure",
    "saturation_vapor_pressure_slope",
    "vapor_pressure_from_dew_point",
    "vapor_pressure_from_humidity_extremes",
    "vapor_pressure_from_mean_humidity",
    "vapor_pressure_from_minimum_temperature",
    "vapor_pressure_from_wet_bulb",
    "wind_at_2_m",
]

# Standard air at sea level at 20 °C (FAO-56, eq. 7, p. 31).
SEA_LEVEL_KPA = 101.3
# cp / (ε λ) = 1.013e-3 / (0.622 · 2.45), 1/°C (FAO-56, eq. 8, p. 32).
PSYCHROMETRIC_PER_C = 0.665e-3
# Water that a MJ/m² evaporates, 1 / 2.45 MJ/kg at about 20 °C, in mm (FAO-56,
# eq. 20). The reference prints it rounded, in the equations too.
MM_PER_MJ_M2 = 0.408
# Least wind in the equation: still air still mixes (FAO-56, p. 63).
LEAST_WIND_M_S = 0.5
# A wind gauge lower than this stands in the grass, where the profile fails (our
# choice: four times the height of the reference grass, 0.12 m).
LOWEST_WIND_GAUGE_M = 0.5


def atmospheric_pressure(elevation_m: ArrayLike) -> NDArray[np.float64]:
    """Mean atmospheric pressure at an elevation.

    Parameters
    ----------
    elevation_m : array_like
        Elevation above the sea. [m]

    Returns
    -------
    ndarray
        Pressure; NaN where the argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If an elevation is outside -500 to 9,000 m.

    Notes
    -----
    P = 101.3 ((293 - 0.0065 z) / 293)^5.26, for an atmosphere at 20 °C.

    References
    ----------
    FAO56, eq. 7, p. 31.

    Examples
    --------
    At 1,800 m:

    >>> print(f"{atmospheric_pressure(1800):.1f} kPa")
    81.8 kPa
    """
    elevation = numbers_between("elevation_m", elevation_m, LOWEST_M, HIGHEST_M)
    return SEA_LEVEL_KPA * ((293.0 - 0.0065 * elevation) / 293.0) ** 5.26


def psychrometric_constant(pressure_kpa: ArrayLike) -> NDArray[np.float64]:
    """Psychrometric constant.

    Parameters
    ----------
    pressure_kpa : array_like
        Atmospheric pressure. [kPa]

    Returns
    -------
    ndarray
        γ; NaN where the argument is NaN. [kPa/°C]

    Raises
    ------
    ValueError
        If a pressure is negative.

    Notes
    -----
    γ = 0.000665 P, with the latent heat of 20 °C, 2.45 MJ/kg, at any temperature.

    References
    ----------
    FAO56, eq. 8, p. 32.

    Examples
    --------
    At 81.8 kPa:

    >>> print(f"{psychrometric_constant(81.8):.3f} kPa/°C")
    0.054 kPa/°C
    """
    return PSYCHROMETRIC_PER_C * numbers_between("pressure_kpa", pressure_kpa, 0.0)


def wind_at_2_m(wind_m_s: ArrayLike, height_m: ArrayLike) -> NDArray[np.float64]:
    """Wind speed at 2 m over short grass from the speed at another height.

    Parameters
    ----------
    wind_m_s : array_like
        Wind speed measured; broadcast against `height_m`. [m/s]
    height_m : array_like
        Height of the wind gauge over the ground. [m]

    Returns
    -------
    ndarray
        Wind speed at 2 m; NaN where either argument is NaN. [m/s]

    Raises
    ------
    ValueError
        If a speed is negative or a height is under 0.5 m.

    Notes
    -----
    u2 = 4.87 u / ln(67.8 z - 5.42): the logarithmic profile over grass 0.12 m high.
    At 2 m the factor is 1.0003.

    References
    ----------
    FAO56, eq. 47, p. 56.

    Examples
    --------
    3.2 m/s at 10 m:

    >>> print(f"{wind_at_2_m(3.2, 10):.1f} m/s")
    2.4 m/s
    """
    wind = numbers_between("wind_m_s", wind_m_s, 0.0)
    height = numbers_between("height_m", height_m, LOWEST_WIND_GAUGE_M)
    return wind * 4.87 / np.log(67.8 * height - 5.42)


def et0_penman_monteith(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    vapor_pressure_kpa: ArrayLike,
    wind_2m_m_s: ArrayLike,
    net_radiation_mj_m2_day: ArrayLike,
    soil_heat_flux_mj_m2_day: ArrayLike,
    elevation_m: ArrayLike,
) -> NDArray[np.float64]:
    """Reference evapotranspiration of grass, from temperature, vapor, wind and sun.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature at 2 m; all arguments broadcast. [°C]
    tmax_c : array_like
        Maximum temperature at 2 m. [°C]
    vapor_pressure_kpa : array_like
        Actual vapor pressure. [kPa]
    wind_2m_m_s : array_like
        Mean wind speed at 2 m. [m/s]
    net_radiation_mj_m2_day : array_like
        Net radiation at the grass, Rn = Rns - Rnl. [MJ/m²/day]
    soil_heat_flux_mj_m2_day : array_like
        Heat that goes into the soil; 0 for a day. [MJ/m²/day]
    elevation_m : array_like
        Elevation above the sea, for the pressure of the air. [m]

    Returns
    -------
    ndarray
        ET0; NaN where an argument is NaN. [mm/day]

    Raises
    ------
    ValueError
        If a maximum is under its minimum, a temperature is outside -90 to 60 °C, a
        vapor pressure or a wind speed is negative, or an elevation is outside -500
        to 9,000 m.

    Notes
    -----
    ET0 = (0.408 Δ (Rn - G) + γ 900 / (T + 273) u2 (es - ea)) / (Δ + γ (1 + 0.34 u2)),
    T = (tmin + tmax) / 2. Wind under 0.5 m/s counts as 0.5, as FAO-56 says. A result
    under 0 (dew, a cold night longer than the day) comes back as 0, which is no
    part of the equation: no water is lost. A vapor pressure over saturation
    counts against ET0, as the equation has it. For a day, ten days or a month.

    References
    ----------
    FAO56, eq. 6, p. 65; wind floor, p. 63.

    Examples
    --------
    April in a hot, humid plain, 25.6 to 34.8 °C, a breeze of 2 m/s:

    >>> et0 = et0_penman_monteith(25.6, 34.8, 2.85, 2.0, 14.33, 0.14, 2.0)
    >>> print(f"{et0:.1f} mm/day")
    5.7 mm/day
    """
    tmin, tmax = temperature_range(tmin_c, tmax_c)
    vapor = numbers_between("vapor_pressure_kpa", vapor_pressure_kpa, 0.0)
    given_wind = numbers_between("wind_2m_m_s", wind_2m_m_s, 0.0)
    wind = np.maximum(given_wind, LEAST_WIND_M_S)
    energy = np.asarray(net_radiation_mj_m2_day, dtype=np.float64) - np.asarray(
        soil_heat_flux_mj_m2_day, dtype=np.float64
    )
    tmean = (tmin + tmax) / 2.0
    deficit = mean_saturation_vapor_pressure(tmin, tmax) - vapor
    slope = saturation_vapor_pressure_slope(tmean)
    gamma = psychrometric_constant(atmospheric_pressure(elevation_m))
    from_sun = MM_PER_MJ_M2 * slope * energy
    from_air = gamma * 900.0 / (tmean + 273.0) * wind * deficit
    et0: NDArray[np.float64] = np.maximum(
        (from_sun + from_air) / (slope + gamma * (1.0 + 0.34 * wind)), 0.0
    )
    return et0


def et0_hargreaves(
    tmin_c: ArrayLike, tmax_c: ArrayLike, extraterrestrial_mj_m2_day: ArrayLike
) -> NDArray[np.float64]:
    """Reference evapotranspiration of grass, from temperature alone.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; all arguments broadcast. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]
    extraterrestrial_mj_m2_day : array_like
        Ra of the same day or month. [MJ/m²/day]

    Returns
    -------
    ndarray
        ET0; NaN where an argument is NaN. [mm/day]

    Raises
    ------
    ValueError
        If a maximum is under its minimum, a temperature is outside -90 to 60 °C, or
        Ra is negative.

    Notes
    -----
    ET0 = 0.0023 (T + 17.8) √(tmax - tmin) 0.408 Ra, T = (tmin + tmax) / 2. Too low
    where wind is over 3 m/s, too high where the air is humid. At a mean under
    -17.8 °C the equation turns negative, and 0 comes back instead.

    References
    ----------
    FAO56, eq. 52, p. 64.

    Examples
    --------
    July at 46° N, 14.8 to 26.6 °C:

    >>> print(f"{et0_hargreaves(14.8, 26.6, 40.55):.1f} mm/day")
    5.0 mm/day
    """
    tmin, tmax = temperature_range(tmin_c, tmax_c)
    outside = numbers_between(
        "extraterrestrial_mj_m2_day", extraterrestrial_mj_m2_day, 0.0
    )
    warmth = (tmin + tmax) / 2.0 + 17.8
    et0: NDArray[np.float64] = np.maximum(
        0.0023 * warmth * np.sqrt(tmax - tmin) * MM_PER_MJ_M2 * outside, 0.0
    )
    return et0
