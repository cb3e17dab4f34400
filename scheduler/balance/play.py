"""Ground played through years of days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from scheduler.balance.day import QUARTERS, dry_limit, played_day, quarter_depths
from scheduler.balance.years import Years
from scheduler.calendar import DAYS_IN_YEAR, WEEK

MOST_ROUNDS = 12
SETTLED_MM = 1e-9
AT_A_TIME = 16
"""Parts played at a time: their days then stay in the processor's cache."""


@dataclass(frozen=True, slots=True, eq=False)
class Store:
    """What the playing has to know of ground, a row a part of a zone.

    `need_mm` (part, year, day) is what plants take where they can, `rain_mm` the rain
    on it, its first axis 1 where that is the same on all parts; depths of store are
    (part, day), or (part, 1) where they stay; `uniformity` is (part,).
    """

    need_mm: np.ndarray
    rain_mm: np.ndarray
    total_available_water_mm: np.ndarray
    allowed_depletion_mm: np.ndarray
    uniformity: np.ndarray

    def __len__(self) -> int:
        return len(self.uniformity)


@dataclass(frozen=True, slots=True, eq=False)
class Played:
    """Days of ground, (part, year, day, quarter), driest quarter first.

    Depths lie on the quarter itself. `start_mm` (part, year, quarter) is the depletion
    at the first day's beginning; `asked_mm` the depletion that a day's need, drawn in
    full, would leave; `dry` whether that is too much.
    """

    start_mm: np.ndarray
    water_mm: np.ndarray
    depletion_mm: np.ndarray
    et_mm: np.ndarray
    drained_mm: np.ndarray
    asked_mm: np.ndarray
    dry: np.ndarray


def play(
    store: Store, water_mm: np.ndarray, start_mm: np.ndarray | None = None
) -> Played:
    """Ground under given waterings, each year from where the year before left it.

    `water_mm` (part, year, day) is the mean depth laid down on a day. The first year
    follows the last, so the years are gone round until nothing moves any more; they
    settle sooner from a `start_mm` (part, year, quarter) that is near.
    """
    shape = (*water_mm.shape, QUARTERS)
    water = water_mm[..., None] * quarter_depths(store.uniformity)[:, None, None, :]
    depletion, et, drained = np.empty(shape), np.empty(shape), np.empty(shape)
    total = np.broadcast_to(store.total_available_water_mm, (len(store), DAYS_IN_YEAR))
    allowed = np.broadcast_to(store.allowed_depletion_mm, (len(store), DAYS_IN_YEAR))
    start = np.zeros((shape[0], shape[1], QUARTERS)) if start_mm is None else start_mm
    rain = store.rain_mm
    blocks = [slice(a, a + AT_A_TIME) for a in range(0, len(store), AT_A_TIME)]
    for turn in range(MOST_ROUNDS):
        now = np.empty_like(start)
        for some in blocks:
            now[some] = _through_years(
                start[some],
                water[some],
                rain if len(rain) == 1 else rain[some],
                store.need_mm[some],
                total[some],
                allowed[some],
                (depletion[some], et[some], drained[some]),
                again=turn > 0,
            )
        begun, start = start, np.roll(now, 1, axis=1)
        if np.max(np.abs(start - begun), initial=0.0) <= SETTLED_MM:
            break
    limit = dry_limit(allowed[:, None], store.need_mm)[..., None]
    asked = np.subtract(depletion, et)
    asked += store.need_mm[..., None]
    return Played(begun, water, depletion, et, drained, asked, asked > limit)


def _through_years(
    start_mm: np.ndarray,
    water_mm: np.ndarray,
    rain_mm: np.ndarray,
    need_mm: np.ndarray,
    total_mm: np.ndarray,
    allowed_mm: np.ndarray,
    found: tuple[np.ndarray, np.ndarray, np.ndarray],
    *,
    again: bool,
) -> np.ndarray:
    """Depletion that the years of some parts end with, (part, year, quarter).

    `found` takes what is left, drunk and drained each day. Quarters go first, so that
    years are worked in a row. `again` says that `found` has these days from another
    beginning: from the day on which the ground is the same, they stand.
    """
    depletion, et, drained = (days.transpose(2, 3, 0, 1) for days in found)
    water = np.ascontiguousarray(water_mm.transpose(2, 3, 0, 1))
    rain, need = (np.ascontiguousarray(mm.transpose(2, 0, 1))
                  for mm in (rain_mm, need_mm))  # fmt: skip
    total, allowed = total_mm.T[..., None], allowed_mm.T[..., None]
    now = np.ascontiguousarray(start_mm.transpose(2, 0, 1))
    for day in range(len(water)):
        played = played_day(
            now, water[day], rain[day], need[day], total[day], allowed[day]
        )
        now = played.depletion_mm
        et[day], drained[day] = played.et_mm, played.drained_mm
        if again and not day % WEEK and np.array_equal(now, depletion[day]):
            return found[0][:, :, -1]
        depletion[day] = now
    return now.transpose(1, 2, 0)


def shut_off_days(years: Years, setting_mm: float) -> np.ndarray:
    """Days on which a rain shut-off holds back the watering, (year, day).

    Its disc holds at most the setting, loses ET0 a day, and a day that begins with any
    wetness in it waters nothing.
    """
    wetness = np.zeros(len(years))
    held = np.empty(years.rain_mm.shape, dtype=bool)
    for _ in range(2):
        for day in range(DAYS_IN_YEAR):
            held[:, day] = wetness > 0
            wetness = wetness_after(
                wetness, years.rain_mm[:, day], years.et0_mm[:, day], setting_mm
            )
        wetness = np.roll(wetness, 1)
    return held


def wetness_after(
    wetness_mm: np.ndarray,
    rain_mm: np.ndarray,
    et0_mm: np.ndarray,
    setting_mm: ArrayLike,
) -> np.ndarray:
    """Wetness of a rain shut-off's disc at the end of a day; arguments broadcast."""
    wet = np.minimum(wetness_mm + rain_mm, setting_mm)
    return np.asarray(np.maximum(wet - et0_mm, 0.0))
