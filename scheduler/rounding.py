"""Rounding up and down with the tolerance of the method."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

TOLERANCE = 1e-9
"""Added or taken off before rounding, so that 3.0000000001 rounded up is 3."""


def floor_(quotient: NDArray[np.float64]) -> NDArray[np.float64]:
    """Whole part of a quotient."""
    return np.asarray(np.floor(quotient + TOLERANCE))


def ceil_(quotient: NDArray[np.float64]) -> NDArray[np.float64]:
    """Next whole number from a quotient."""
    return np.asarray(np.ceil(quotient - TOLERANCE))
