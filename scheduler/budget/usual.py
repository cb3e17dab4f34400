"""What is usual under a setting: how dry the ground is on a day, and the days ahead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.day import WETTER, dry_limit
from scheduler.balance.ground import on_parts
from scheduler.balance.play import play
from scheduler.balance.unwetted import Unwetted
from scheduler.budget.replay import Stage, Waterings, held_back
from scheduler.calendar import DAYS_IN_YEAR, WEEK


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    """The days to come as they usually are, nothing adjusted and without rain.

    `water_mm` (valve, lane, day) is what the setting lays down, `need_mm` (part, lane,
    day) what is asked of the wetted ground, its lane 1 where all ground is. By (part,
    day): the store, and `target_mm` (part, day, 3), the depletion that the need, drawn
    in full, is not to leave the wetter quarters with. `usual_mm` (part, lane) is the
    usual depletion now, mean of the ground.
    """

    water_mm: np.ndarray
    need_mm: np.ndarray
    total_mm: np.ndarray
    allowed_mm: np.ndarray
    target_mm: np.ndarray
    usual_mm: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Usual:
    """What the rule goes by, from years under the setting in force.

    By (part, day of the year): mean need of the month, store, and target of the wetter
    quarters. `depletion_mm` (part, year, day, quarter) is that of the years at the end
    of each day, `weekday` (year, day) what day of the week it is; `unwetted` is the
    ground beside that of the store.
    """

    need_mm: np.ndarray
    total_mm: np.ndarray
    allowed_mm: np.ndarray
    target_mm: np.ndarray
    depletion_mm: np.ndarray
    weekday: np.ndarray
    unwetted: Unwetted

    def before_mm(self, day: int) -> np.ndarray:
        """Depletion as a day begins, by its weekday, (part, weekday, year, quarter).

        Each year is looked at on the day of that weekday that is nearest: before and
        after a watering the ground is not the same.
        """
        behind = np.arange(WEEK)[:, None] - self.weekday[:, day]
        shift = (behind + WEEK // 2) % WEEK - WEEK // 2
        at = (day + shift - 1) % DAYS_IN_YEAR
        return np.asarray(self.depletion_mm[:, np.arange(len(self.weekday)), at])

    def ahead(
        self,
        days: np.ndarray,
        weekday: np.ndarray,
        water_mm: np.ndarray,
        unwetted_mm: np.ndarray,
    ) -> Ahead:
        """Days of the year from a day on, with what the setting lays down on them.

        `weekday` (lane,) is that of the first day, `unwetted_mm` (part, lane) the
        depletion of the unwetted ground as it begins.
        """
        before = self.before_mm(int(days[0]))[:, weekday]
        return Ahead(
            water_mm,
            self.unwetted.asked_ahead(unwetted_mm, self.need_mm[:, days], days),
            self.total_mm[:, days],
            self.allowed_mm[:, days],
            self.target_mm[:, days],
            before.mean(axis=(2, 3)),
        )


def usual_of(stage: Stage, laid: Waterings) -> Usual:
    """What is usual under waterings: the rule does not ask for better than that."""
    season, ground = stage.season, stage.plan.inputs.ground
    shape = len(stage.store), DAYS_IN_YEAR
    need = np.stack([season.need_mm_day(m) for m in range(12)], axis=1)
    need = need[:, season.period_of_day]
    total = np.broadcast_to(stage.store.total_available_water_mm, shape)
    allowed = np.broadcast_to(stage.store.allowed_depletion_mm, shape)
    through = held_back(stage, laid)
    net = on_parts(ground, through.water_mm) - through.runoff_mm
    played = play(stage.store, net)
    mean = played.asked_mm[..., WETTER].mean(axis=1)
    target = np.maximum(dry_limit(allowed, need)[..., None], mean)
    weekday = season.days.weekday.reshape(stage.years.rain_mm.shape)
    depletion, unwetted = played.depletion_mm, season.unwetted
    return Usual(need, total, allowed, target, depletion, weekday, unwetted)
