"""Nights below freezing in the twelve months."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH, Days

_MONTH = Days.of_common_years(1).month


def freezing_nights(tmin_c: np.ndarray, daily_tmin_c: np.ndarray | None) -> np.ndarray:
    """Nights below freezing in each month of a mean year.

    Parameters
    ----------
    tmin_c : ndarray
        Mean daily minimum of the months, (12,). [°C]
    daily_tmin_c : ndarray or None
        Minima of days, (year, 365); None where they are not known. [°C]

    Returns
    -------
    ndarray
        Nights of the months, (12,); NaN where minima are not known. [nights]

    Raises
    ------
    ValueError
        Never: any temperature is taken.

    Notes
    -----
    Days are counted where they are given. From means alone nights are spread about the
    month's by a normal law of deviation max(5.2 - 0.13 T, 0.5).

    References
    ----------
    None: the spread is a weather generator's rule (second-hand).

    Examples
    --------
    A month whose mean minimum is at freezing has frost every second night:

    >>> print(f"{freezing_nights(np.zeros(12), None)[0]:.1f} nights in January")
    15.5 nights in January
    """
    if daily_tmin_c is None:
        share = np.array([_share(mean) for mean in tmin_c.tolist()])
        return np.asarray(share * DAYS_IN_MONTH)
    there = np.isfinite(daily_tmin_c)
    cold = there & (daily_tmin_c < 0)
    days, nights = (
        np.bincount(_MONTH, marks.sum(axis=0), 12) for marks in (there, cold)
    )
    share = np.where(days > 0, nights / np.maximum(days, 1), np.nan)
    return np.asarray(share * DAYS_IN_MONTH)


def _share(mean_c: float) -> float:
    if np.isnan(mean_c):
        return mean_c
    return NormalDist(mean_c, max(5.2 - 0.13 * mean_c, 0.5)).cdf(0.0)
