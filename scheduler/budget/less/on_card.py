"""Less water on a card: asked for more of it, until the card keeps to it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from scheduler.budget.less.less import Less, less_water
from scheduler.plan.card.plan import Card, plan_card

MOST_TRIES = 3
"""Times that a card whose controller lays down too much is asked for less again."""
NEAR_SHARE = 0.005
"""Share of the table's water by which a card may miss, and has reached it."""


@dataclass(frozen=True, slots=True, eq=False)
class OnCard:
    """A card with less water; `found` is what it was made from.

    `asked` is the share of the table's water that was to be given up, None where only
    days were; `given_up` what the card's own table gives up for it.
    """

    found: Less
    card: Card
    asked: float | None

    @property
    def table_l(self) -> float:
        """What the table takes a year, days with a rain shut-off counted. [L]"""
        return float(self.found.before.plan.volume_l.sum())

    @property
    def water_l(self) -> float:
        """What the card takes a year. [L]"""
        return float(self.card.judged.water_l.sum())

    @property
    def less(self) -> float:
        """Share of the table's water that the card gives up."""
        return 1 - self.water_l / self.table_l if self.table_l else 0.0

    @property
    def given_up(self) -> float:
        """Share of a mean year's water that the settings beside the card give up."""
        before = float(self.found.before_l.sum())
        return 1 - float(self.found.after_l.sum()) / before if before else 0.0

    @property
    def reached(self) -> bool:
        """Whether the card gives up what was asked for."""
        return self.asked is None or self.less >= self.asked - NEAR_SHARE


def card_with_less(found: Less, start: datetime.date, visits: int) -> OnCard:
    """The card of settings with less water.

    A controller cannot hold every setting, so that its card may take more: then more is
    asked for, as long as no other zone has to be turned off for it.
    """
    before = float(found.before_l.sum())
    asked = None
    if found.target_l is not None and before:
        asked = 1 - found.target_l / before
    best = OnCard(found, plan_card(found.after, start, visits), asked)
    if asked is None or found.ways is None or not found.reached:
        return best
    raised = asked
    for _ in range(MOST_TRIES):
        if best.reached:
            break
        raised += asked - best.less
        limit = max(1 - raised, 0.0) * before
        start_of = found.base if found.days_taken else None
        again = less_water(
            found.before, limit, np.sum, found.target_l, start_of, found.ways
        )
        if not again.reached or again.turned_off != found.turned_off:
            break
        tried = OnCard(again, plan_card(again.after, start, visits), asked)
        if tried.water_l >= best.water_l:
            break
        best = tried
    return best
