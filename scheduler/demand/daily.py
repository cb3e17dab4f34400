"""ET0 of many days at once: blocks that stay in cache, Ra once for a day of the year.

The equations are those of `et0.py`, `vapor.py`, `radiation.py` and `sun.py`, to the
last digits; what is written out here again is written for speed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.demand import et0, radiation, sun, vapor
from scheduler.demand.domain import (
    COLDEST_C,
    HOTTEST_C,
    numbers_between,
    temperature_range,
)

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
) -> NDArray[np.float64]:
    """Reference evapotranspiration of grass of many days, soil heat taken as none.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; the last axis is days, and all but the elevation
        broadcast. [°C]
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

    Returns
    -------
    ndarray
        ET0; NaN where an argument is NaN. [mm/day]

    Raises
    ------
    ValueError
        If a maximum is under its minimum, a temperature is outside -90 to 60 °C,
        another argument but the elevation is negative, or an elevation is outside
        -500 to 9,000 m.

    Notes
    -----
    `et0_penman_monteith` with Rn from `net_shortwave_radiation` and
    `net_longwave_radiation` and G = 0, which is what FAO-56 takes for a day. Rs/Rso is
    held between 0.3 and 1.0, Rso = (0.75 + 2·10⁻⁵ z) Ra.

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
    given = [np.asarray(argument, dtype=np.float64) for argument in (
        tmin_c, tmax_c, vapor_pressure_kpa, wind_2m_m_s, solar_mj_m2_day,
        extraterrestrial_mj_m2_day)]  # fmt: skip
    elevation = np.asarray(elevation_m, dtype=np.float64)
    gamma = et0.psychrometric_constant(et0.atmospheric_pressure(elevation))
    clear_share = radiation.clear_sky_radiation(1.0, elevation)
    shape = np.broadcast_shapes(*(a.shape for a in given), (*elevation.shape, 1))
    given = [np.broadcast_to(argument, shape) for argument in given]
    gamma = np.broadcast_to(gamma[..., np.newaxis], shape)[..., 0]
    clear_share = np.broadcast_to(clear_share[..., np.newaxis], shape)[..., 0]
    found = np.empty(shape)
    for place in np.ndindex(shape[:-1]):
        share, psychrometric = float(clear_share[place]), float(gamma[place])
        for days in _blocks(shape[-1]):
            block = [argument[place][days] for argument in given]
            _check_block(*block)
            found[place][days] = _block_et0(share, psychrometric, *block)
    return found


def _blocks(days: int) -> Iterator[slice]:
    for first in range(0, days, BLOCK_DAYS):
        yield slice(first, min(first + BLOCK_DAYS, days))


def _check_block(
    tmin: NDArray[np.float64], tmax: NDArray[np.float64], *others: NDArray[np.float64]
) -> None:
    """ValueError outside the domain; the extremes alone tell when all is well."""
    inside = (
        tmin.min() >= COLDEST_C
        and tmax.max() <= HOTTEST_C
        and bool(np.all(tmin <= tmax))
        and all(other.min() >= 0.0 for other in others)
    )
    if not inside:
        temperature_range(tmin, tmax)
        names = ("vapor_pressure_kpa", "wind_2m_m_s", "solar_mj_m2_day",
                 "extraterrestrial_mj_m2_day")  # fmt: skip
        for name, other in zip(names, others, strict=True):
            numbers_between(name, other, 0.0)


def _block_et0(
    clear_share: float,
    gamma: float,
    tmin: NDArray[np.float64],
    tmax: NDArray[np.float64],
    vapor_kpa: NDArray[np.float64],
    given_wind: NDArray[np.float64],
    solar: NDArray[np.float64],
    outer: NDArray[np.float64],
) -> NDArray[np.float64]:
    # Each line writes over an array that is done with: fresh ones cost more than sums.
    tmean = tmin + tmax
    tmean *= 0.5
    net = (1.0 - radiation.GRASS_ALBEDO) * solar
    net -= _longwave(tmin, tmax, vapor_kpa, _clearness(solar, clear_share * outer))
    inverse = tmean + vapor.VAPOR_PRESSURE_OFFSET_C
    np.divide(1.0, inverse, out=inverse)
    slope = _growth(tmean, inverse)
    slope *= inverse
    slope *= inverse
    slope *= vapor.SLOPE_FACTOR_C * vapor.VAPOR_PRESSURE_AT_0_C_KPA
    deficit = _growth(tmin, 1.0 / (tmin + vapor.VAPOR_PRESSURE_OFFSET_C))
    deficit += _growth(tmax, 1.0 / (tmax + vapor.VAPOR_PRESSURE_OFFSET_C))
    deficit *= vapor.VAPOR_PRESSURE_AT_0_C_KPA * 0.5
    deficit -= vapor_kpa
    wind = np.maximum(given_wind, et0.LEAST_WIND_M_S)
    deficit *= wind
    deficit *= gamma * 900.0
    tmean += 273.0
    deficit /= tmean
    net *= slope
    net *= et0.MM_PER_MJ_M2
    net += deficit
    wind *= gamma * 0.34
    wind += slope
    wind += gamma
    net /= wind
    floored: NDArray[np.float64] = np.maximum(net, 0.0, out=net)
    return floored


def _growth(
    temperature_c: NDArray[np.float64], inverse: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Saturation vapor pressure over that at 0 °C; `inverse` is 1 / (T + 237.3)."""
    exponent = vapor.VAPOR_PRESSURE_FACTOR * temperature_c
    exponent *= inverse
    grown: NDArray[np.float64] = np.exp(exponent, out=exponent)
    return grown


def _clearness(
    solar: NDArray[np.float64], clear: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Rs/Rso between 0.3 and 1; a dark day tells nothing of clouds and is 1."""
    held = radiation.LEAST_CLEARNESS * clear
    np.maximum(held, solar, out=held)
    np.minimum(held, clear, out=held)
    if clear.min() > 0:
        held /= clear
        return held
    dark = clear == 0
    return np.where(dark, 1.0 + 0.0 * solar, held / np.where(dark, 1.0, clear))


def _longwave(
    tmin: NDArray[np.float64],
    tmax: NDArray[np.float64],
    vapor_kpa: NDArray[np.float64],
    clearness: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Rnl; writes over the clearness."""
    emitted = tmax + radiation.KELVIN_AT_0_C
    emitted *= emitted
    emitted *= emitted
    cold = tmin + radiation.KELVIN_AT_0_C
    cold *= cold
    cold *= cold
    emitted += cold
    emitted *= radiation.STEFAN_BOLTZMANN_MJ_M2_DAY / 2.0
    sky: NDArray[np.float64] = np.sqrt(vapor_kpa, out=cold)
    sky *= -0.14
    sky += 0.34
    emitted *= sky
    clearness *= 1.35
    clearness -= 0.35
    emitted *= clearness
    return emitted
