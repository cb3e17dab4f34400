"""Less water on a card: asked for more of it, until the card keeps to it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np

from scheduler.budget.less.less import Less, less_water
from scheduler.plan.card.plan import Card, plan_card

MOST_TRIES = 5
"""Times that a card which misses is made again, from more or less given up."""
RAISED = 0.8
"""Of what a card misses, how much more is asked for: the less water, the more of it
programs can hold. Half as much again each time that it was too little (rule of this
program)."""
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
        return self.found.table_l

    @property
    def settings_l(self) -> float:
        """What the settings that the card is made from take, counted so too. [L]"""
        return float(self.found.after.plan.volume_l.sum())

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
    """The card of settings with less water, the nearest that gives up what was asked.

    A controller cannot hold every setting, so that its card may take more: then more is
    asked for, as long as no other zone has to be turned off for it. Where it takes too
    little, what lies between is tried.
    """
    before = float(found.before_l.sum())
    asked = None
    if found.target_l is not None and before:
        asked = 1 - found.target_l / before
    best = OnCard(found, plan_card(found.after, start, visits), asked)
    if asked is None or found.ways is None or not found.reached:
        return best
    short, enough, raised = (asked, best.less), None, asked
    if best.reached:
        short, enough = (0.0, 0.0), (asked, best.less)
    for turn in range(MOST_TRIES):
        if best.reached and best.less <= asked + 2 * NEAR_SHARE:
            break
        if enough is None:
            missed = max(asked - short[1], NEAR_SHARE)
            raised += RAISED * (1 + turn / 2) * missed
        else:
            part = (asked - short[1]) / (enough[1] - short[1])
            raised = short[0] + np.clip(part, 0.2, 0.8) * (enough[0] - short[0])
        tried = _given_up(best, raised, start, visits)
        if tried is None:
            if enough is not None:
                break
            enough = raised, asked + (asked - short[1])
            continue
        best = min(best, tried, key=_misses)
        if tried.reached:
            enough = raised, tried.less
        else:
            short = raised, tried.less
    return best


def _given_up(
    card: OnCard, share: float, start: datetime.date, visits: int
) -> OnCard | None:
    """The card of settings that give up a share; None where other zones get none."""
    found = card.found
    again = less_water(
        found.before,
        max(1 - share, 0.0) * float(found.before_l.sum()),
        np.sum,
        found.target_l,
        found.base if found.days_taken else None,
        found.ways,
    )
    if not again.reached or again.turned_off != found.turned_off:
        return None
    return OnCard(again, plan_card(again.after, start, visits), card.asked)


def _misses(card: OnCard) -> tuple[bool, float]:
    """How far a card is from what was asked; too little given up is worse."""
    assert card.asked is not None
    return not card.reached, abs(card.less - card.asked)
