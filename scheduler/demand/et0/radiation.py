"""Radiation at the ground, kept and given back by grass, and heat into the soil.

What depends on the sun alone is in `sun.py`; its names can be used from here too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.demand.et0.domain import (
    COLDEST_C,
    HIGHEST_M,
    HOTTEST_C,
    LOWEST_M,
    numbers_between,
    temperature_range,
)
from scheduler.demand.et0.sun import (
    daylight_hours,
    extraterrestrial_radiation,
    inverse_relative_distance,
    monthly_daylight_hours,
    monthly_extraterrestrial_radiation,
    solar_declination_rad,
    sunset_hour_angle,
)

__all__ = [
    "clear_sky_radiation",
    "daylight_hours",
    "extraterrestrial_radiation",
    "inverse_relative_distance",
    "monthly_daylight_hours",
    "monthly_extraterrestrial_radiation",
    "monthly_soil_heat_flux",
    "net_longwave_radiation",
    "net_shortwave_radiation",
    "solar_declination_rad",
    "solar_radiation_from_sunshine",
    "solar_radiation_from_temperature",
    "sunset_hour_angle",
]

# Shares of Ra that reach the ground: overcast, and added by full sunshine
# (FAO-56, eq. 35, p. 50, where no local calibration is at hand).
OVERCAST_SHARE = 0.25
SUNSHINE_SHARE = 0.50
# Clear-sky share of Ra at sea level, and its rise with a meter of elevation
# (FAO-56, eq. 37, p. 51).
CLEAR_SKY_SHARE = 0.75
CLEAR_SKY_SHARE_PER_M = 2e-5
# Albedo of the grass reference crop (FAO-56, eq. 38, p. 51).
GRASS_ALBEDO = 0.23
# Stefan-Boltzmann constant over a day, MJ/K⁴/m²/day, and the offset to kelvin, as
# FAO-56 prints them (eq. 39, p. 52). ASCE-EWRI 2005 prints 4.901e-9.
STEFAN_BOLTZMANN_MJ_M2_DAY = 4.903e-9
KELVIN_AT_0_C = 273.16
# Least Rs/Rso, a full overcast (ASCE-EWRI 2005; FAO-56, pp. 74-75, for hours).
LEAST_CLEARNESS = 0.3
# Heat into the ground over a month per degree of change over two months,
# MJ/m²/day/°C (FAO-56, eq. 43, p. 54).
SOIL_HEAT_PER_C = 0.07
MONTHS = 12
# The sun is seen longer than eq. 34 says (refraction, the disc of the sun, the simple
# declination): by less than half an hour up to 55° of latitude.
SUNSHINE_OVER_DAYLIGHT_H = 0.5


def solar_radiation_from_sunshine(
    sunshine_h: ArrayLike,
    daylight_h: ArrayLike,
    extraterrestrial_mj_m2_day: ArrayLike,
) -> NDArray[np.float64]:
    """Solar radiation at the ground from the hours of bright sunshine.

    Parameters
    ----------
    sunshine_h : array_like
        Bright sunshine of a day; broadcast against the others. [h]
    daylight_h : array_like
        Hours from sunrise to sunset. [h]
    extraterrestrial_mj_m2_day : array_like
        Ra of the same day or month. [MJ/m²/day]

    Returns
    -------
    ndarray
        Rs; NaN where an argument is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If an argument is negative, daylight is over 24 h, or sunshine is over
        daylight by more than half an hour.

    Notes
    -----
    Rs = (0.25 + 0.50 n / N) Ra, the constants that FAO-56 gives where none were found
    on the spot. N leaves out refraction and the disc of the sun, so a cloudless
    day may be recorded up to half an hour longer: n / N is then held to 1. Where the
    sun does not rise, n / N is taken as 0.

    References
    ----------
    FAO56, eq. 35, p. 50.

    Examples
    --------
    7.1 h of sunshine in a day of 10.9 h:

    >>> print(f"{solar_radiation_from_sunshine(7.1, 10.9, 25.1):.1f} MJ/m²/day")
    14.4 MJ/m²/day
    """
    sunshine = numbers_between("sunshine_h", sunshine_h, 0.0, 24.0)
    daylight = numbers_between("daylight_h", daylight_h, 0.0, 24.0)
    outside = _extraterrestrial(extraterrestrial_mj_m2_day)
    excess = sunshine - daylight
    if np.any(excess > SUNSHINE_OVER_DAYLIGHT_H):
        raise ValueError(
            f"sunshine_h must be {SUNSHINE_OVER_DAYLIGHT_H:g} h over daylight_h at "
            f"most, got {np.nanmax(excess):g} h over"
        )
    # Never divides by 0, and keeps the NaN of either.
    share = np.minimum(sunshine, daylight) / np.where(daylight == 0, 1.0, daylight)
    return (OVERCAST_SHARE + SUNSHINE_SHARE * share) * outside


def solar_radiation_from_temperature(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    extraterrestrial_mj_m2_day: ArrayLike,
    coefficient: ArrayLike = 0.16,
) -> NDArray[np.float64]:
    """Solar radiation at the ground from the daily range of temperature.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; broadcast against the others. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]
    extraterrestrial_mj_m2_day : array_like
        Ra of the same day or month. [MJ/m²/day]
    coefficient : array_like, optional
        0.16 inland, 0.19 on or near a coast. [1/√°C]

    Returns
    -------
    ndarray
        Rs; NaN where an argument is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If a maximum is under its minimum, a temperature is outside -90 to 60 °C,
        Ra is negative, or the coefficient is not over 0.

    Notes
    -----
    Rs = k √(tmax - tmin) Ra. Not for islands. FAO-56 caps it at clear-sky radiation,
    which takes the elevation: the caller takes the lesser of the two.

    References
    ----------
    FAO56, eq. 50, pp. 60-61.

    Examples
    --------
    July at 46° N, inland, 14.8 to 26.6 °C:

    >>> print(f"{solar_radiation_from_temperature(14.8, 26.6, 40.6):.1f} MJ/m²/day")
    22.3 MJ/m²/day
    """
    tmin, tmax = temperature_range(tmin_c, tmax_c)
    outside = _extraterrestrial(extraterrestrial_mj_m2_day)
    factor = np.asarray(coefficient, dtype=np.float64)
    if np.any(factor <= 0):
        raise ValueError(f"coefficient must be over 0, got {np.nanmin(factor):g}")
    return factor * np.sqrt(tmax - tmin) * outside


def clear_sky_radiation(
    extraterrestrial_mj_m2_day: ArrayLike, elevation_m: ArrayLike
) -> NDArray[np.float64]:
    """Solar radiation at the ground under a cloudless sky.

    Parameters
    ----------
    extraterrestrial_mj_m2_day : array_like
        Ra; broadcast against `elevation_m`. [MJ/m²/day]
    elevation_m : array_like
        Elevation above the sea. [m]

    Returns
    -------
    ndarray
        Rso; NaN where either argument is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If Ra is negative or an elevation is outside -500 to 9,000 m.

    Notes
    -----
    Rso = (0.75 + 2·10⁻⁵ z) Ra: the simple form, without turbidity or water vapor.

    References
    ----------
    FAO56, eq. 37, p. 51.

    Examples
    --------
    At 200 m in July at 46° N:

    >>> print(f"{clear_sky_radiation(40.55, 200):.2f} MJ/m²/day")
    30.57 MJ/m²/day
    """
    outside = _extraterrestrial(extraterrestrial_mj_m2_day)
    elevation = numbers_between("elevation_m", elevation_m, LOWEST_M, HIGHEST_M)
    return (CLEAR_SKY_SHARE + CLEAR_SKY_SHARE_PER_M * elevation) * outside


def net_shortwave_radiation(solar_mj_m2_day: ArrayLike) -> NDArray[np.float64]:
    """Solar radiation that the grass reference crop keeps.

    Parameters
    ----------
    solar_mj_m2_day : array_like
        Solar radiation at the ground. [MJ/m²/day]

    Returns
    -------
    ndarray
        Rns; NaN where the argument is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If solar radiation is negative.

    Notes
    -----
    Rns = (1 - 0.23) Rs, 0.23 the albedo of the grass reference crop.

    References
    ----------
    FAO56, eq. 38, p. 51.

    Examples
    --------
    Of 14.46 MJ/m²/day at the ground:

    >>> print(f"{net_shortwave_radiation(14.46):.1f} MJ/m²/day")
    11.1 MJ/m²/day
    """
    return (1.0 - GRASS_ALBEDO) * numbers_between(
        "solar_mj_m2_day", solar_mj_m2_day, 0.0
    )


def net_longwave_radiation(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    vapor_pressure_kpa: ArrayLike,
    solar_mj_m2_day: ArrayLike,
    clear_sky_mj_m2_day: ArrayLike,
) -> NDArray[np.float64]:
    """Heat that the grass reference crop radiates, less what the sky returns.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; all arguments broadcast. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]
    vapor_pressure_kpa : array_like
        Actual vapor pressure of the air. [kPa]
    solar_mj_m2_day : array_like
        Solar radiation at the ground. [MJ/m²/day]
    clear_sky_mj_m2_day : array_like
        The same under a cloudless sky. [MJ/m²/day]

    Returns
    -------
    ndarray
        Rnl, outgoing; NaN where an argument is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If a maximum is under its minimum, a temperature is outside -90 to 60 °C, or
        another argument is negative.

    Notes
    -----
    Rnl = σ (Tmax⁴ + Tmin⁴) / 2 · (0.34 - 0.14 √ea) · (1.35 Rs/Rso - 0.35), in kelvin.
    Rs/Rso is held between 0.3 and 1.0, as ASCE-EWRI 2005 does; FAO-56 only says 1.0
    at most. Where Rso is 0 (polar night) nothing tells of clouds and Rs/Rso is taken
    as 1.0, a clear sky. Over 5.9 kPa, which open air does not reach, Rnl would turn
    negative.

    References
    ----------
    FAO56, eq. 39, p. 52; ASCE05, eqs. 17 and 18.

    Examples
    --------
    19.1 to 25.1 °C, 2.1 kPa, under a sky three quarters clear:

    >>> print(f"{net_longwave_radiation(19.1, 25.1, 2.1, 14.5, 18.8):.1f} MJ/m²/day")
    3.5 MJ/m²/day
    """
    tmin, tmax = temperature_range(tmin_c, tmax_c)
    vapor = numbers_between("vapor_pressure_kpa", vapor_pressure_kpa, 0.0)
    solar = numbers_between("solar_mj_m2_day", solar_mj_m2_day, 0.0)
    clear = numbers_between("clear_sky_mj_m2_day", clear_sky_mj_m2_day, 0.0)
    # Held before dividing, so that a sun barely risen cannot overflow.
    held = np.minimum(np.maximum(solar, LEAST_CLEARNESS * clear), clear)
    dark = clear == 0
    if np.any(dark):
        held = np.where(dark, 1.0 + 0.0 * solar, held)
        clear = np.where(dark, 1.0, clear)
    clearness = held / clear
    emitted = (
        STEFAN_BOLTZMANN_MJ_M2_DAY
        * ((tmax + KELVIN_AT_0_C) ** 4 + (tmin + KELVIN_AT_0_C) ** 4)
        / 2.0
    )
    return emitted * (0.34 - 0.14 * np.sqrt(vapor)) * (1.35 * clearness - 0.35)


def monthly_soil_heat_flux(tmean_c: ArrayLike) -> NDArray[np.float64]:
    """Heat that goes into the soil in each month of a mean year.

    Parameters
    ----------
    tmean_c : array_like
        Mean temperature; the last axis is the twelve months, January first. [°C]

    Returns
    -------
    ndarray
        G, axes as the argument, negative while the soil cools; NaN beside a month
        that is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If the last axis is not 12 long or a temperature is outside -90 to 60 °C.

    Notes
    -----
    G = 0.07 (T of the next month - T of the month before). The year runs round:
    December is followed by January. The month's own temperature plays no part.

    References
    ----------
    FAO56, eq. 43, p. 54.

    Examples
    --------
    April between a March of 14.1 °C and a May of 18.8 °C:

    >>> year = [12.0, 12.4, 14.1, 16.1, 18.8, 22.0, 25.0, 25.6, 23.2, 19.4, 15.6, 13.0]
    >>> print(f"{monthly_soil_heat_flux(year)[3]:.2f} MJ/m²/day")
    0.33 MJ/m²/day
    """
    tmean = numbers_between("tmean_c", tmean_c, COLDEST_C, HOTTEST_C)
    if tmean.ndim == 0 or tmean.shape[-1] != MONTHS:
        raise ValueError(
            f"tmean_c must have 12 months on its last axis, got shape {tmean.shape}"
        )
    return SOIL_HEAT_PER_C * (np.roll(tmean, -1, axis=-1) - np.roll(tmean, 1, axis=-1))


def _extraterrestrial(value: ArrayLike) -> NDArray[np.float64]:
    return numbers_between("extraterrestrial_mj_m2_day", value, 0.0)
