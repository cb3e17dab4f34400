"""The one record of what runs when."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """What is to run, by (zone, month): table, card, night and replay all speak of it.

    `weekdays` holds bits, Monday 1; `parity` is a row of `days.PARITIES`, 0 for all
    dates; `every_days` is 0 unless a zone waters at an interval, on the first permitted
    weekday. A month that is off has no weekdays and no cycles. `soak_min` is the pause
    between two cycles.
    """

    weekdays: np.ndarray
    parity: np.ndarray
    every_days: np.ndarray
    days_per_week: np.ndarray
    cycles: np.ndarray
    cycle_min: np.ndarray
    soak_min: np.ndarray

    @property
    def minutes_per_day(self) -> np.ndarray:
        """Minutes of a watering day, all cycles together."""
        return self.cycles * self.cycle_min

    @property
    def minutes_per_week(self) -> np.ndarray:
        """Minutes of an average week."""
        return self.minutes_per_day * self.days_per_week
