"""Limits of the arguments of the demand formulas, and the checks that hold them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Beyond these an argument is a slip, such as a wrong unit: air temperature and
# elevation of land on Earth, with some room.
COLDEST_C = -90.0
HOTTEST_C = 60.0
LOWEST_M = -500.0
HIGHEST_M = 9000.0


def numbers_between(
    name: str, value: ArrayLike, least: float, most: float = np.inf
) -> NDArray[np.float64]:
    """Return the argument as an array; an error if any of it is out of range."""
    numbers = np.asarray(value, dtype=np.float64)
    # The extremes alone tell when all is well; a NaN among them tells nothing.
    if numbers.size and numbers.min() >= least and numbers.max() <= most:
        return numbers
    outside = (numbers < least) | (numbers > most)
    if np.any(outside):
        accepted = f"{least:g} or more" if most == np.inf else f"{least:g} to {most:g}"
        raise ValueError(f"{name} must be {accepted}, got {numbers[outside][0]:g}")
    return numbers


def temperature_range(
    tmin_c: ArrayLike, tmax_c: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return both as arrays; an error if a maximum is under its minimum."""
    tmin = numbers_between("tmin_c", tmin_c, COLDEST_C, HOTTEST_C)
    tmax = numbers_between("tmax_c", tmax_c, COLDEST_C, HOTTEST_C)
    if np.any(tmin > tmax):
        raise ValueError(
            f"tmax_c must be tmin_c or more, got {np.nanmax(tmin - tmax):g} °C less"
        )
    return tmin, tmax
