"""Arguments as float arrays, refused outside the domain of a formula."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def numbers_from(name: str, value: ArrayLike, least: float) -> NDArray[np.float64]:
    """Float array of an argument; ValueError where a number is below `least`."""
    numbers = np.asarray(value, dtype=np.float64)
    if np.any(numbers < least):
        raise ValueError(
            f"{name} must be {least:g} or more, got {np.nanmin(numbers):g}"
        )
    return numbers


def numbers_over(name: str, value: ArrayLike, least: float) -> NDArray[np.float64]:
    """Float array of an argument; ValueError where a number is not over `least`."""
    numbers = np.asarray(value, dtype=np.float64)
    if np.any(numbers <= least):
        raise ValueError(f"{name} must be over {least:g}, got {np.nanmin(numbers):g}")
    return numbers


def shares(name: str, value: ArrayLike) -> NDArray[np.float64]:
    """Float array of an argument; ValueError where a number is not over 0 up to 1."""
    numbers = np.asarray(value, dtype=np.float64)
    outside = (numbers <= 0) | (numbers > 1)
    if np.any(outside):
        got = numbers[outside].flat[0]
        raise ValueError(f"{name} must be over 0 and up to 1, got {got:g}")
    return numbers
