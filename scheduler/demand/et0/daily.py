"""ET0 of many days at once: blocks that stay in cache, Ra once for a day of the year.

The equations are those of `equations.py`, `vapor.py`, `radiation.py` and `sun.py`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.demand.et0 import equations as et0
from scheduler.demand.et0 import radiation, sun
from scheduler.demand.et0.domain import numbers_between

LONGEST_YEAR = 366
# Most days worked at a time: the dozen arrays of a block then stay in a core's cache
# (30 years are 86 kB each).
BLOCK_DAYS = 11_000


def extraterrestrial_radiation_of_days(
    latitude_deg: ArrayLike, day_of_year: ArrayLike
) -> NDArray[np.float64]:
    """Extraterrestrial radiation of many days, worked once for each day of the year.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude, north positive; the axes before the days. [°]
    day_of_year : array_like
        Day of the year of each day, whole, 1 to 366. [-]

    Returns
    -------
    ndarray
        Ra, the axes of the latitude and then the days. [MJ/m²/day]

    Raises
    ------
    ValueError
        If a latitude is beyond 90° or a day is under 1 or over 366.

    Notes
    -----
    The same as `extraterrestrial_radiation`, looked up in a table of 366 days.

    References
    ----------
    FAO56, eq. 21, p. 46.

    Examples
    --------
    At 20° S on 3 September, day 246, of two years:

    >>> two = extraterrestrial_radiation_of_days(-20, [246, 246])
    >>> print(f"{two[1]:.1f} MJ/m²/day")
    32.2 MJ/m²/day
    """
    days = np.asarray(day_of_year)
    numbers_between("day_of_year", days, 1.0, LONGEST_YEAR)
    latitude = np.asarray(latitude_deg, dtype=np.float64)[..., np.newaxis]
    year = sun.extraterrestrial_radiation(latitude, np.arange(1, LONGEST_YEAR + 1))
    of_days: NDArray[np.float64] = np.take(year, days.astype(np.intp) - 1, axis=-1)
    return of_days


def et0_penman_monteith_of_days(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    vapor_pressure_kpa: ArrayLike,
    wind_2m_m_s: ArrayLike,
    solar_mj_m2_day: ArrayLike,
    extraterrestrial_mj_m2_day: ArrayLike,
    elevation_m: ArrayLike,
    soil_heat_flux_mj_m2_day: ArrayLike = 0.0,
) -> NDArray[np.float64]:
    """Reference evapotranspiration of grass of many days or months, from the sun on.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; the last axis is days or months, and all but the
        elevation broadcast. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]
    vapor_pressure_kpa : array_like
        Actual vapor pressure. [kPa]
    wind_2m_m_s : array_like
        Mean wind speed at 2 m. [m/s]
    solar_mj_m2_day : array_like
        Solar radiation at the ground. [MJ/m²/day]
    extraterrestrial_mj_m2_day : array_like
        Ra of the same days. [MJ/m²/day]
    elevation_m : array_like
        Elevation above the sea, with the axes before the days. [m]
    soil_heat_flux_mj_m2_day : array_like, optional
        Heat that goes into the soil; 0 is what FAO-56 takes for a day. [MJ/m²/day]

    Returns
    -------
    ndarray
        ET0; NaN where an argument is NaN. [mm/day]

    Raises
    ------
    ValueError
        If a maximum is under its minimum, a temperature is outside -90 to 60 °C,
        another argument but elevation and soil heat is negative, or an elevation is
        outside -500 to 9,000 m.

    Notes
    -----
    `et0_penman_monteith` with Rn from `net_shortwave_radiation` and
    `net_longwave_radiation`. Rs/Rso is held between 0.3 and 1.0,
    Rso = (0.75 + 2·10⁻⁵ z) Ra.

    References
    ----------
    FAO56, eqs. 6, 11-13, 37-40 and 42; ASCE05, eqs. 17 and 18.

    Examples
    --------
    Early July at 100 m and 50.8° N, day 187, 12.3 to 21.5 °C:

    >>> outer = extraterrestrial_radiation_of_days(50.8, [187])
    >>> et0 = et0_penman_monteith_of_days(12.3, 21.5, 1.409, 2.078, 22.07, outer, 100)
    >>> print(f"{et0[0]:.1f} mm/day")
    3.9 mm/day
    """
    elevation = np.asarray(elevation_m, dtype=np.float64)
    arguments: tuple[ArrayLike, ...] = (
        tmin_c, tmax_c, vapor_pressure_kpa, wind_2m_m_s, solar_mj_m2_day,
        extraterrestrial_mj_m2_day, soil_heat_flux_mj_m2_day,
        elevation[..., np.newaxis],
    )  # fmt: skip
    given = np.broadcast_arrays(*arguments)
    shape: tuple[int, ...] = given[0].shape
    found = np.empty(shape)
    for place in np.ndindex(shape[:-1]):
        for first in range(0, shape[-1], BLOCK_DAYS):
            days = slice(first, first + BLOCK_DAYS)
            found[place][days] = _block_et0(*(each[place][days] for each in given))
    return found


def _block_et0(
    tmin_c: NDArray[np.float64],
    tmax_c: NDArray[np.float64],
    vapor_kpa: NDArray[np.float64],
    wind_m_s: NDArray[np.float64],
    solar: NDArray[np.float64],
    outer: NDArray[np.float64],
    soil_heat: NDArray[np.float64],
    elevations_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    elevation_m = elevations_m[:1]  # One place, however many days.
    clear = radiation.clear_sky_radiation(outer, elevation_m)
    net = radiation.net_shortwave_radiation(solar) - radiation.net_longwave_radiation(
        tmin_c, tmax_c, vapor_kpa, solar, clear
    )
    return et0.et0_penman_monteith(
        tmin_c, tmax_c, vapor_kpa, wind_m_s, net, soil_heat, elevation_m
    )
