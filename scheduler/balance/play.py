"""Ground played through years of days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from scheduler.balance.day import QUARTERS, dry_limit, played_day, quarter_depths
from scheduler.balance.years import Years
from scheduler.calendar import DAYS_IN_YEAR

MOST_ROUNDS = 12
SETTLED_MM = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Store:
    """What the playing has to know of ground, a row a part of a zone.

    `need_mm` (part, year, day) is what plants take where they can; depths of store are
    (part, day), or (part, 1) where they stay; `uniformity` is (part,).
    """

    need_mm: np.ndarray
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
    store: Store,
    water_mm: np.ndarray,
    years: Years,
    start_mm: np.ndarray | None = None,
) -> Played:
    """Ground under given waterings, each year from where the year before left it.

    `water_mm` (part, year, day) is the mean depth laid down on a day. The first year
    follows the last, so the years are gone round until nothing moves any more; they
    settle sooner from a `start_mm` (part, year, quarter) that is near.
    """
    parts, count = water_mm.shape[:2]

    def by_day(values: np.ndarray) -> np.ndarray:
        """Lanes, a part's year each, with the day first, of (part, year, day)."""
        every = np.broadcast_to(values, water_mm.shape).reshape(-1, DAYS_IN_YEAR)
        return np.ascontiguousarray(every.T)[..., None]

    total = by_day(store.total_available_water_mm[:, None])
    allowed = by_day(store.allowed_depletion_mm[:, None])
    shares = np.repeat(quarter_depths(store.uniformity), count, axis=0)
    water, rain = by_day(water_mm) * shares, by_day(years.rain_mm)
    need = by_day(store.need_mm)
    depletion, et, drained = (np.empty(water.shape) for _ in range(3))
    start = np.zeros(water.shape[1:])
    if start_mm is not None:
        start = start_mm.reshape(start.shape)
    moved: slice | np.ndarray = slice(None)
    for _ in range(MOST_ROUNDS):
        now = start[moved]
        for day in range(DAYS_IN_YEAR):
            played = played_day(
                now, *(v[day, moved] for v in (water, rain, need, total, allowed))
            )
            now = played.depletion_mm
            depletion[day, moved] = now
            et[day, moved], drained[day, moved] = played.et_mm, played.drained_mm
        ends = depletion[-1].reshape(parts, count, QUARTERS)
        begun, start = start, np.roll(ends, 1, axis=1).reshape(start.shape)
        change = np.abs(start - begun).max(axis=1)
        if np.max(change, initial=0.0) <= SETTLED_MM:
            break
        # A year that begins as it did goes as it did.
        moved = np.flatnonzero(change)
    asked = depletion - et + need
    dry = asked > dry_limit(allowed, need)

    def by_part(values: np.ndarray) -> np.ndarray:
        return values.reshape(DAYS_IN_YEAR, parts, count, -1).transpose(1, 2, 0, 3)

    return Played(
        begun.reshape(parts, count, QUARTERS),
        *map(by_part, (water, depletion, et, drained, asked, dry)),
    )


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
