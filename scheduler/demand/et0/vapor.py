"""Water vapor in the air: what it could hold and what it holds, after FAO-56."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.demand.et0.domain import (
    COLDEST_C,
    HOTTEST_C,
    numbers_between,
    temperature_range,
)

# Tetens' form as FAO-56 prints it (eq. 11, p. 36): kPa at 0 °C, factor, °C.
VAPOR_PRESSURE_AT_0_C_KPA = 0.6108
VAPOR_PRESSURE_FACTOR = 17.27
VAPOR_PRESSURE_OFFSET_C = 237.3
# Factor times offset, 17.27 · 237.3, rounded as FAO-56 does (eq. 13, p. 37).
SLOPE_FACTOR_C = 4098.0
# Asmann type psychrometer, aspirated at about 5 m/s, 1/°C (FAO-56, eq. 16, p. 38).
ASPIRATED_PSYCHROMETER_PER_C = 0.000662


def saturation_vapor_pressure(temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Vapor pressure of air that holds all the water it can.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature. [°C]

    Returns
    -------
    ndarray
        e°; NaN where the argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a temperature is outside -90 to 60 °C.

    Notes
    -----
    e° = 0.6108 exp(17.27 T / (T + 237.3)), over water, in frost too.

    References
    ----------
    FAO56, eq. 11, p. 36.

    Examples
    --------
    At 24.5 °C:

    >>> print(f"{saturation_vapor_pressure(24.5):.3f} kPa")
    3.075 kPa
    """
    return _saturation("temperature_c", temperature_c)


def saturation_vapor_pressure_slope(temperature_c: ArrayLike) -> NDArray[np.float64]:
    """Rise of the saturation vapor pressure with a degree.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature, the mean of maximum and minimum for ET0. [°C]

    Returns
    -------
    ndarray
        Δ; NaN where the argument is NaN. [kPa/°C]

    Raises
    ------
    ValueError
        If a temperature is outside -90 to 60 °C.

    Notes
    -----
    Δ = 4098 e° / (T + 237.3)².

    References
    ----------
    FAO56, eq. 13, p. 37.

    Examples
    --------
    At 30.2 °C:

    >>> print(f"{saturation_vapor_pressure_slope(30.2):.3f} kPa/°C")
    0.246 kPa/°C
    """
    saturation = saturation_vapor_pressure(temperature_c)
    kelvin_like = np.asarray(temperature_c, dtype=np.float64) + VAPOR_PRESSURE_OFFSET_C
    return SLOPE_FACTOR_C * saturation / kelvin_like**2


def mean_saturation_vapor_pressure(
    tmin_c: ArrayLike, tmax_c: ArrayLike
) -> NDArray[np.float64]:
    """Saturation vapor pressure of a day or month.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; broadcast against `tmax_c`. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]

    Returns
    -------
    ndarray
        es; NaN where either argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a maximum is under its minimum or a temperature is outside -90 to 60 °C.

    Notes
    -----
    es = (e°(tmax) + e°(tmin)) / 2. More than e° of the mean temperature, because e°
    rises ever faster.

    References
    ----------
    FAO56, eq. 12, p. 36.

    Examples
    --------
    15 to 24.5 °C:

    >>> print(f"{mean_saturation_vapor_pressure(15, 24.5):.2f} kPa")
    2.39 kPa
    """
    tmin, tmax = temperature_range(tmin_c, tmax_c)
    return (_saturated(tmax) + _saturated(tmin)) / 2.0


def vapor_pressure_from_dew_point(dew_point_c: ArrayLike) -> NDArray[np.float64]:
    """Actual vapor pressure from the dew point.

    Parameters
    ----------
    dew_point_c : array_like
        Dew point temperature. [°C]

    Returns
    -------
    ndarray
        ea; NaN where the argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a dew point is outside -90 to 60 °C.

    Notes
    -----
    ea = e°(dew point). The best of the ways to ea.

    References
    ----------
    FAO56, eq. 14, p. 37.

    Examples
    --------
    A dew point of 10 °C:

    >>> print(f"{vapor_pressure_from_dew_point(10):.3f} kPa")
    1.228 kPa
    """
    return _saturation("dew_point_c", dew_point_c)


def vapor_pressure_from_wet_bulb(
    dry_bulb_c: ArrayLike,
    wet_bulb_c: ArrayLike,
    pressure_kpa: ArrayLike,
    psychrometer_coefficient: ArrayLike = ASPIRATED_PSYCHROMETER_PER_C,
) -> NDArray[np.float64]:
    """Actual vapor pressure from a psychrometer.

    Parameters
    ----------
    dry_bulb_c : array_like
        Temperature of the dry bulb; all arguments broadcast. [°C]
    wet_bulb_c : array_like
        Temperature of the wet bulb. [°C]
    pressure_kpa : array_like
        Atmospheric pressure. [kPa]
    psychrometer_coefficient : array_like, optional
        0.000662 aspirated at about 5 m/s, 0.0008 in natural ventilation of about
        1 m/s, 0.0012 indoors without ventilation. [1/°C]

    Returns
    -------
    ndarray
        ea; NaN where an argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a wet bulb is over its dry bulb or so far under it that ea would be
        negative, a temperature is outside -90 to 60 °C, or a pressure or
        coefficient is negative.

    Notes
    -----
    ea = e°(wet) - a P (dry - wet).

    References
    ----------
    FAO56, eqs. 15 and 16, pp. 37-38.

    Examples
    --------
    25.6 °C dry and 19.5 °C wet, at 87.9 kPa:

    >>> print(f"{vapor_pressure_from_wet_bulb(25.6, 19.5, 87.9):.2f} kPa")
    1.91 kPa
    """
    dry = numbers_between("dry_bulb_c", dry_bulb_c, COLDEST_C, HOTTEST_C)
    wet = numbers_between("wet_bulb_c", wet_bulb_c, COLDEST_C, HOTTEST_C)
    pressure = numbers_between("pressure_kpa", pressure_kpa, 0.0)
    coefficient = numbers_between(
        "psychrometer_coefficient", psychrometer_coefficient, 0.0
    )
    if np.any(wet > dry):
        raise ValueError(
            f"wet_bulb_c must be dry_bulb_c or less, got {np.nanmax(wet - dry):g} °C "
            "more"
        )
    vapor = saturation_vapor_pressure(wet) - coefficient * pressure * (dry - wet)
    if np.any(vapor < 0):
        raise ValueError(
            "wet_bulb_c must be near enough to dry_bulb_c for a vapor pressure of 0 or "
            f"more, got {np.nanmin(vapor):g} kPa"
        )
    return vapor


def vapor_pressure_from_mean_humidity(
    tmin_c: ArrayLike, tmax_c: ArrayLike, humidity_percent: ArrayLike
) -> NDArray[np.float64]:
    """Actual vapor pressure from the mean relative humidity.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; all arguments broadcast. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]
    humidity_percent : array_like
        Mean relative humidity. [%]

    Returns
    -------
    ndarray
        ea; NaN where an argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a humidity is outside 0 to 100 %, a maximum is under its minimum, or a
        temperature is outside -90 to 60 °C.

    Notes
    -----
    ea = es RH / 100. FAO-56 recommends it less than the other ways.

    References
    ----------
    FAO56, eq. 19 as in box 11, p. 67.

    Examples
    --------
    15 to 24.5 °C at 60 %:

    >>> print(f"{vapor_pressure_from_mean_humidity(15, 24.5, 60):.2f} kPa")
    1.43 kPa
    """
    humidity = numbers_between("humidity_percent", humidity_percent, 0.0, 100.0)
    return mean_saturation_vapor_pressure(tmin_c, tmax_c) * humidity / 100.0


def vapor_pressure_from_humidity_extremes(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    humidity_min_percent: ArrayLike,
    humidity_max_percent: ArrayLike,
) -> NDArray[np.float64]:
    """Actual vapor pressure from the extremes of relative humidity.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature; all arguments broadcast. [°C]
    tmax_c : array_like
        Maximum temperature. [°C]
    humidity_min_percent : array_like
        Minimum relative humidity, met with the maximum temperature. [%]
    humidity_max_percent : array_like
        Maximum relative humidity, met with the minimum temperature. [%]

    Returns
    -------
    ndarray
        ea; NaN where an argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a humidity is outside 0 to 100 %, a maximum is under its minimum, or a
        temperature is outside -90 to 60 °C.

    Notes
    -----
    ea = (e°(tmin) RHmax / 100 + e°(tmax) RHmin / 100) / 2.

    References
    ----------
    FAO56, eq. 17, p. 38.

    Examples
    --------
    12.3 to 21.5 °C, 63 to 84 %:

    >>> print(f"{vapor_pressure_from_humidity_extremes(12.3, 21.5, 63, 84):.2f} kPa")
    1.41 kPa
    """
    tmin, tmax = temperature_range(tmin_c, tmax_c)
    least = numbers_between("humidity_min_percent", humidity_min_percent, 0.0, 100.0)
    most = numbers_between("humidity_max_percent", humidity_max_percent, 0.0, 100.0)
    if np.any(most < least):
        raise ValueError(
            "humidity_max_percent must be humidity_min_percent or more, got "
            f"{np.nanmax(least - most):g} less"
        )
    at_tmin = saturation_vapor_pressure(tmin) * most / 100.0
    at_tmax = saturation_vapor_pressure(tmax) * least / 100.0
    return (at_tmin + at_tmax) / 2.0


def vapor_pressure_from_minimum_temperature(tmin_c: ArrayLike) -> NDArray[np.float64]:
    """Actual vapor pressure where humidity was not measured.

    Parameters
    ----------
    tmin_c : array_like
        Minimum temperature. [°C]

    Returns
    -------
    ndarray
        ea; NaN where the argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a temperature is outside -90 to 60 °C.

    Notes
    -----
    ea = e°(tmin): dew falls in the night. Over well-watered ground in an arid climate
    the dew point is 2 to 3 °C under the minimum, which the caller takes off. The
    equation prints 0.611 where e° has 0.6108; e° is used here.

    References
    ----------
    FAO56, eq. 48, pp. 58-59.

    Examples
    --------
    A minimum of 14.8 °C:

    >>> print(f"{vapor_pressure_from_minimum_temperature(14.8):.2f} kPa")
    1.68 kPa
    """
    return _saturation("tmin_c", tmin_c)


def _saturation(name: str, value: ArrayLike) -> NDArray[np.float64]:
    return _saturated(numbers_between(name, value, COLDEST_C, HOTTEST_C))


def _saturated(temperature: NDArray[np.float64]) -> NDArray[np.float64]:
    exponent = VAPOR_PRESSURE_FACTOR * temperature
    pressure: NDArray[np.float64] = VAPOR_PRESSURE_AT_0_C_KPA * np.exp(
        exponent / (temperature + VAPOR_PRESSURE_OFFSET_C)
    )
    return pressure
