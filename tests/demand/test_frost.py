"""Nights of frost: counted where days are known, else by the normal law."""

import numpy as np
import pytest
from scipy import stats

from scheduler.demand.frost import freezing_nights


# Spread rule of a weather generator (second-hand); the normal law is scipy's.
def test_nights_of_months_follow_the_normal_law():
    tmin_c = np.array([-10.0, -4, 0, 2, 5, 8, 12, 14, 9, 5, 1, np.nan])
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    spread_c = np.maximum(5.2 - 0.13 * tmin_c, 0.5)

    nights = freezing_nights(tmin_c, None)

    assert nights == pytest.approx(
        stats.norm.cdf(0, tmin_c, spread_c) * days, rel=1e-9, nan_ok=True
    )


# Exact: two years, one with frost on every day of January, one on none; of the other
# months one night of 730 days, 1 March of one year: half a night a year.
def test_nights_of_days_are_counted():
    daily_c = np.full((2, 365), 5.0)
    daily_c[0, :31] = -1.0
    daily_c[1, 59] = -0.1
    daily_c[1, 200] = np.nan

    nights = freezing_nights(np.full(12, -20.0), daily_c)

    assert nights == pytest.approx([15.5, 0, 0.5, *[0] * 9])
