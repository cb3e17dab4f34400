"""What a card gives on a controller that keeps the seconds of a run at a percent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.calendar import S_PER_MIN
from scheduler.plan.card.groups import Setting
from scheduler.plan.card.needs import CardNeeds


@dataclass(frozen=True, slots=True)
class KeptSeconds:
    """What is lost where scaled runs are not rounded: worst month and worst year.

    Both shortfalls are those of the worst zone; `longer_s` is how much longer than on
    the card one start can take.
    """

    month_shortfall_percent: float
    year_shortfall_percent: float
    longer_s: float


def kept_seconds(needs: CardNeeds, settings: Sequence[Setting]) -> KeptSeconds:
    """A year of settings with every run as long as its percent makes it."""
    applied = np.zeros_like(needs.need_steps)
    longer_steps = 0.0
    for setting in settings:
        for group in setting.groups:
            runs = group.base_steps[:, None] * group.percent / 100
            rows = np.ix_(group.zones, setting.months)
            applied[rows] += runs * group.starts_in_months(setting.months)
            longer = (runs.sum(axis=0) - group.runs().sum(axis=0)).max()
            longer_steps = max(longer_steps, float(longer))
    return KeptSeconds(
        _worst_percent(needs.need_steps, applied),
        _worst_percent(needs.need_steps.sum(axis=1), applied.sum(axis=1)),
        longer_steps * needs.minute_step * S_PER_MIN,
    )


def _worst_percent(need: np.ndarray, applied: np.ndarray) -> float:
    with np.errstate(divide="ignore", invalid="ignore"):
        short = np.where(need > 0, 1 - applied / need, 0.0)
    return 100 * max(float(short.max(initial=0.0)), 0.0)
