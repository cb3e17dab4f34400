"""Where the sun stands, and what it sends to the top of the atmosphere, after FAO-56.

The declination and the distance of the sun are the simple FAO-56 forms, so that
results agree with the published tables; they are up to 1.2° off the true sun.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.calendar import DAY_MIN, DAYS_IN_MONTH, DAYS_IN_YEAR
from scheduler.demand.et0.domain import numbers_between

# Solar constant, MJ/m²/min (FAO-56, eq. 21, p. 46; about 1,367 W/m²).
SOLAR_CONSTANT_MJ_M2_MIN = 0.0820


def inverse_relative_distance(day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Inverse relative distance from the Earth to the sun, squared.

    Parameters
    ----------
    day_of_year : array_like
        Day of the year, 1 for 1 January. [-]

    Returns
    -------
    ndarray
        Factor on the solar constant; NaN where the day is NaN. [-]

    Raises
    ------
    ValueError
        If a day is under 1 or over 366.

    Notes
    -----
    dr = 1 + 0.033 cos(2π J / 365). FAO-56 names it as here; it is the factor by
    which sunshine exceeds the solar constant, so the distance is squared already.

    References
    ----------
    FAO56, eq. 23, p. 46.

    Examples
    --------
    On 3 September, day 246:

    >>> print(f"{inverse_relative_distance(246):.3f}")
    0.985
    """
    return 1.0 + 0.033 * np.cos(_year_angle(day_of_year))


def solar_declination_rad(day_of_year: ArrayLike) -> NDArray[np.float64]:
    """Solar declination.

    Parameters
    ----------
    day_of_year : array_like
        Day of the year, 1 for 1 January. [-]

    Returns
    -------
    ndarray
        Declination, positive in the northern summer; NaN where the day is NaN. [rad]

    Raises
    ------
    ValueError
        If a day is under 1 or over 366.

    Notes
    -----
    δ = 0.409 sin(2π J / 365 - 1.39). Up to 1.2° off the true sun, in October.

    References
    ----------
    FAO56, eq. 24, p. 46.

    Examples
    --------
    On 3 September, day 246:

    >>> print(f"{solar_declination_rad(246):.3f} rad")
    0.120 rad
    """
    return 0.409 * np.sin(_year_angle(day_of_year) - 1.39)


def sunset_hour_angle(
    latitude_deg: ArrayLike, day_of_year: ArrayLike
) -> NDArray[np.float64]:
    """Angle through which the Earth turns from noon to sunset.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude, north positive; broadcast against `day_of_year`. [°]
    day_of_year : array_like
        Day of the year, 1 for 1 January. [-]

    Returns
    -------
    ndarray
        Sunset hour angle, 0 to π; NaN where either argument is NaN. [rad]

    Raises
    ------
    ValueError
        If a latitude is beyond 90° or a day is under 1 or over 366.

    Notes
    -----
    ω = arccos(-tan φ tan δ). Where the sun does not set the cosine would pass -1 and
    the angle is π; where it does not rise it would pass 1 and the angle is 0.

    References
    ----------
    FAO56, eq. 25, p. 46.

    Examples
    --------
    At 20° S on 3 September:

    >>> print(f"{sunset_hour_angle(-20, 246):.3f} rad")
    1.527 rad
    """
    latitude = _latitude_rad(latitude_deg)
    cosine = -np.tan(latitude) * np.tan(solar_declination_rad(day_of_year))
    angle: NDArray[np.float64] = np.arccos(np.clip(cosine, -1.0, 1.0))
    return angle


def extraterrestrial_radiation(
    latitude_deg: ArrayLike, day_of_year: ArrayLike
) -> NDArray[np.float64]:
    """Solar radiation on a level surface at the top of the atmosphere.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude, north positive; broadcast against `day_of_year`. [°]
    day_of_year : array_like
        Day of the year, 1 for 1 January. [-]

    Returns
    -------
    ndarray
        Ra, 0 in the polar night; NaN where either argument is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If a latitude is beyond 90° or a day is under 1 or over 366.

    Notes
    -----
    Ra = (24 · 60 / π) Gsc dr (ω sin φ sin δ + cos φ cos δ sin ω), Gsc 0.0820
    MJ/m²/min. Never negative. FAO-56 gives it limited validity in winter months
    beyond 55° of latitude.

    References
    ----------
    FAO56, eq. 21, p. 46.

    Examples
    --------
    At 20° S on 3 September:

    >>> print(f"{extraterrestrial_radiation(-20, 246):.1f} MJ/m²/day")
    32.2 MJ/m²/day
    """
    latitude = _latitude_rad(latitude_deg)
    declination = solar_declination_rad(day_of_year)
    sunset = sunset_hour_angle(latitude_deg, day_of_year)
    height = sunset * np.sin(latitude) * np.sin(declination) + np.cos(
        latitude
    ) * np.cos(declination) * np.sin(sunset)
    scale = DAY_MIN / np.pi * SOLAR_CONSTANT_MJ_M2_MIN
    # Within a hair of the polar night the difference rounds to -1e-18.
    radiation: NDArray[np.float64] = np.maximum(
        scale * inverse_relative_distance(day_of_year) * height, 0.0
    )
    return radiation


def daylight_hours(
    latitude_deg: ArrayLike, day_of_year: ArrayLike
) -> NDArray[np.float64]:
    """Hours from sunrise to sunset.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude, north positive; broadcast against `day_of_year`. [°]
    day_of_year : array_like
        Day of the year, 1 for 1 January. [-]

    Returns
    -------
    ndarray
        Daylight, 0 to 24; NaN where either argument is NaN. [h]

    Raises
    ------
    ValueError
        If a latitude is beyond 90° or a day is under 1 or over 366.

    Notes
    -----
    N = 24 ω / π. For the center of the sun without refraction: at 37° of latitude
    0.15 to 0.27 h less than from first to last sight of the disc.

    References
    ----------
    FAO56, eq. 34, p. 48.

    Examples
    --------
    At 20° S on 3 September:

    >>> print(f"{daylight_hours(-20, 246):.1f} h")
    11.7 h
    """
    return 24.0 / np.pi * sunset_hour_angle(latitude_deg, day_of_year)


def monthly_extraterrestrial_radiation(latitude_deg: ArrayLike) -> NDArray[np.float64]:
    """Mean extraterrestrial radiation over the days of each month.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude, north positive. [°]

    Returns
    -------
    ndarray
        Ra, the axes of the argument and then month; NaN where it is NaN. [MJ/m²/day]

    Raises
    ------
    ValueError
        If a latitude is beyond 90°.

    Notes
    -----
    Mean of the days of a year of 365. The value of the 15th, which the FAO-56 tables
    print, is up to 2 % off this mean at 40° of latitude and 8 % at 60°.

    References
    ----------
    FAO56, eq. 21, p. 46.

    Examples
    --------
    July at 40° N:

    >>> print(f"{monthly_extraterrestrial_radiation(40)[6]:.1f} MJ/m²/day")
    40.6 MJ/m²/day
    """
    return _monthly_mean(extraterrestrial_radiation(*_year_of_days(latitude_deg)))


def monthly_daylight_hours(latitude_deg: ArrayLike) -> NDArray[np.float64]:
    """Mean hours from sunrise to sunset over the days of each month.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude, north positive. [°]

    Returns
    -------
    ndarray
        Daylight, the axes of the argument and then month; NaN where it is NaN. [h]

    Raises
    ------
    ValueError
        If a latitude is beyond 90°.

    Notes
    -----
    Mean of the days of a year of 365.

    References
    ----------
    FAO56, eq. 34, p. 48.

    Examples
    --------
    December at 40° N:

    >>> print(f"{monthly_daylight_hours(40)[11]:.1f} h")
    9.2 h
    """
    return _monthly_mean(daylight_hours(*_year_of_days(latitude_deg)))


def _latitude_rad(latitude_deg: ArrayLike) -> NDArray[np.float64]:
    latitude = numbers_between("latitude_deg", latitude_deg, -90.0, 90.0)
    return latitude * (np.pi / 180.0)


def _year_angle(day_of_year: ArrayLike) -> NDArray[np.float64]:
    return 2.0 * np.pi / 365.0 * numbers_between("day_of_year", day_of_year, 1.0, 366.0)


def _year_of_days(
    latitude_deg: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.int_]]:
    latitude = np.asarray(latitude_deg, dtype=np.float64)
    return latitude[..., np.newaxis], np.arange(1, DAYS_IN_YEAR + 1)


def _monthly_mean(daily: NDArray[np.float64]) -> NDArray[np.float64]:
    first_days = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH
    means: NDArray[np.float64] = np.add.reduceat(daily, first_days, axis=-1)
    means /= DAYS_IN_MONTH
    return means
