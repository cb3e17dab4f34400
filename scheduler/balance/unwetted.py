"""Ground between emitters, which they leave dry: rain fills it, and plants drink there.

Each share of the ground gives its share of the need as far as its own water lets it
(FAO-56, eq. 84); what the unwetted ground does not give is asked of the wetted. So
without rain the wetted ground carries the whole need, in wet seasons only its share.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.day import Day, played_day
from scheduler.balance.play import MOST_ROUNDS, SETTLED_MM
from scheduler.calendar import DAYS_IN_YEAR
from scheduler.lines import HOUSE_RULE, Line

UNWETTED_SHARE = Line("unwetted_share", "1 - wetted_share", "definition of the share")
RAIN_ON_WETTED = Line("rain_wetted", "rain_today * wetted_share", "geometry")
TOTAL = Line(
    "unwetted_total",
    "total_available_water * unwetted_share / wetted_share",
    "FAO56, eq. 82, p. 162",
)
ALLOWED = Line(
    "unwetted_allowed",
    "allowed_depletion * unwetted_share / wetted_share",
    "FAO56, eq. 83, p. 162",
)
REFILLED = Line(
    "unwetted_refilled",
    "max(0, unwetted_start - rain_today * unwetted_share)",
    "FAO56, eq. 85, p. 170",
)
STRESS = Line(
    "unwetted_stress",
    "min(1, (unwetted_total - unwetted_refilled)"
    " / (unwetted_total - unwetted_allowed))",
    "FAO56, eq. 84, p. 169",
)
TAKEN = Line(
    "unwetted_taken",
    "min(need_today * unwetted_share * unwetted_stress,"
    " unwetted_total - unwetted_refilled)",
    f"FAO56, eq. 81, p. 161; by share: {HOUSE_RULE}",
)
NEED_WETTED = Line("need_wetted", "need_today - unwetted_taken", HOUSE_RULE)


def of_wetted(line: Line) -> Line:
    """A line of a day, with the rain on the wetted ground and the need asked of it."""
    formula = line.si.replace("rain_today", "rain_wetted")
    return replace(line, si=formula.replace("need_today", "need_wetted"))


@dataclass(frozen=True, slots=True, eq=False)
class Unwetted:
    """The ground of plants that no emitter wets, a row a part; depths over all of it.

    `share` (part,) is 0 where all ground is wetted: that has no store and gives
    nothing. The store is (part, day), or (part, 1) where it stays.
    """

    share: np.ndarray
    total_mm: np.ndarray
    allowed_mm: np.ndarray

    @classmethod
    def beside(
        cls, wetted_share: np.ndarray, total_mm: np.ndarray, allowed_mm: np.ndarray
    ) -> Unwetted:
        """The rest of ground whose wetted share (part,) has a given store."""
        share = 1 - wetted_share
        of_wetted = (share / wetted_share)[:, None]
        # Ground that is not there has a store too, which nothing goes in or out of.
        none = (share == 0)[:, None]
        return cls(
            share,
            np.where(none, total_mm, total_mm * of_wetted),
            np.where(none, allowed_mm, allowed_mm * of_wetted),
        )

    @property
    def any(self) -> bool:
        """Whether any part has such ground."""
        return bool(self.share.any())

    def day(
        self, day: int, start_mm: np.ndarray, rain_mm: np.ndarray, need_mm: np.ndarray
    ) -> Day:
        """One day of the year from how the day before ended, (part, lane)."""
        share = self.share[:, None]
        total, allowed = (
            values[:, min(day, values.shape[1] - 1), None]
            for values in (self.total_mm, self.allowed_mm)
        )
        return played_day(
            start_mm, np.zeros(1), rain_mm * share, need_mm * share, total, allowed
        )

    def asked_ahead(
        self, start_mm: np.ndarray, need_mm: np.ndarray, days: np.ndarray
    ) -> np.ndarray:
        """What is asked of the wetted ground on days without rain, (part, lane, day).

        `start_mm` is (part, lane), the plants' need (part, day); a single lane stands
        for all where all ground is wetted.
        """
        if not self.any:
            return need_mm[:, None]
        found, now = np.empty((*start_mm.shape, len(days))), start_mm
        for place, day in enumerate(days.tolist()):
            ends = self.day(day, now, np.zeros(1), need_mm[:, place, None])
            found[:, :, place] = need_mm[:, place, None] - ends.et_mm
            now = ends.depletion_mm
        return found


@dataclass(frozen=True, slots=True, eq=False)
class UnwettedDays:
    """Days of that ground, whatever is watered, (part, year, day); mm over all ground.

    `start_mm` (part, year) is the depletion at the first day's beginning.
    """

    start_mm: np.ndarray
    taken_mm: np.ndarray
    drained_mm: np.ndarray
    depletion_mm: np.ndarray

    def before_mm(self, day: int) -> np.ndarray:
        """Depletion as a day of the year begins, (part, year)."""
        return self.depletion_mm[:, :, day - 1] if day else self.start_mm


def play_unwetted(
    ground: Unwetted, need_mm: np.ndarray, rain_mm: np.ndarray
) -> UnwettedDays:
    """The unwetted ground through years that follow one another, the first the last.

    `need_mm` (part, year, day) is the plants' whole need, `rain_mm` is (year, day).
    """
    start = np.zeros(need_mm.shape[:2])
    if not ground.any:
        nothing = np.broadcast_to(0.0, need_mm.shape)
        return UnwettedDays(start, nothing, nothing, nothing)
    taken, drained, depletion = np.empty((3, *need_mm.shape))

    for _ in range(MOST_ROUNDS):
        now = start
        for day in range(DAYS_IN_YEAR):
            ends = ground.day(day, now, rain_mm[:, day], need_mm[:, :, day])
            now = depletion[:, :, day] = ends.depletion_mm
            taken[:, :, day], drained[:, :, day] = ends.et_mm, ends.drained_mm
        begun, start = start, np.roll(now, 1, axis=1)
        if np.max(np.abs(start - begun), initial=0.0) <= SETTLED_MM:
            break
    return UnwettedDays(begun, taken, drained, depletion)
