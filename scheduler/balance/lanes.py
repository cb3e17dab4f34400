"""One month of many settings at once: how much water, and how dry it leaves the ground.

The same day as `day.played_day`, worked in place along lanes: candidates, years and
quarters of all zones go along arrays, and time is the only loop.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.day import QUARTERS, WETTER, dry_limit, played_day
from scheduler.calendar import Days

_KEPT = QUARTERS - WETTER.start


@dataclass(frozen=True, slots=True, eq=False)
class Month:
    """One month of ground, before it is known how it is watered.

    `valve` (part,) is the row of the valve of each part. Depths are mm: `need_mm`
    (part, year, day), `rain_mm` (year, day), the store (part,); `shares` (part,
    quarter) is the depth of each quarter over the mean; `start_mm` (part, year,
    quarter) the depletion at the month's beginning. `held` (valve, year, day) marks
    days on which a rain shut-off lets nothing through, `since` (valve, year) counts
    days from the last watering. `days` holds the days, (year, day).
    """

    valve: np.ndarray
    need_mm: np.ndarray
    rain_mm: np.ndarray
    total_mm: np.ndarray
    allowed_mm: np.ndarray
    shares: np.ndarray
    start_mm: np.ndarray
    held: np.ndarray
    since: np.ndarray
    days: Days

    @property
    def limit_mm(self) -> np.ndarray:
        """Depletion over which a quarter is dry, (part, year, day)."""
        return dry_limit(self.allowed_mm[:, None, None], self.need_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Waterings:
    """Settings as they are played, by valve: depths are gross means over the ground.

    `waters` (valve, setting, year, day) are the days of each setting, `depth_mm`
    (valve, setting, probe) what each lays down on one; `fill_mm` (valve, year, day)
    goes on top of it for the settings that `filled` (setting,) marks.
    """

    waters: np.ndarray
    depth_mm: np.ndarray
    fill_mm: np.ndarray
    filled: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What settings come to, (valve, setting, probe).

    `water_mm` is what is delivered in a mean year; `dry` the share of the wetter
    quarters' days that end dry, `left_dry` the share of those quarters that the month
    leaves dry; of several parts under a valve the driest counts.
    """

    water_mm: np.ndarray
    dry: np.ndarray
    left_dry: np.ndarray


def outcome(month: Month, waterings: Waterings) -> Outcome:
    """Play every setting through the month of every year."""
    delivered = waterings.waters & ~month.held[:, None]
    parts, years, length = month.need_mm.shape
    settings, probes = waterings.depth_mm.shape[1:]
    start = month.start_mm[:, :, None, None, WETTER]
    lanes = np.broadcast_to(start, (parts, years, settings, probes, _KEPT))
    depletion = lanes.reshape(parts, years, settings, probes * _KEPT).copy()
    depth = (
        waterings.depth_mm[month.valve][..., None] * month.shares[:, None, None, WETTER]
    )
    depth = depth.reshape(parts, 1, settings, probes * _KEPT)
    mask = np.ascontiguousarray(
        delivered[month.valve].transpose(3, 0, 2, 1), dtype=np.float64
    )[..., None]
    fill = waterings.fill_mm * ~month.held
    limit = month.limit_mm
    total, spare = (v[:, None, None, None] for v in
                    (month.total_mm, month.total_mm - month.allowed_mm))  # fmt: skip
    dry_days = np.zeros(depletion.shape, dtype=np.int16)
    work = np.empty(depletion.shape)
    is_dry = np.empty(depletion.shape, dtype=bool)
    for day in range(length):
        need = month.need_mm[:, :, day, None, None]
        if waterings.waters[..., day].any():
            np.multiply(mask[day], depth, out=work)
            depletion -= work
        if fill[..., day].any():
            depletion -= _filled(fill[..., day], waterings.filled, month, probes)
        depletion -= month.rain_mm[None, :, day, None, None]
        np.maximum(depletion, 0.0, out=depletion)
        np.subtract(total, depletion, out=work)
        work *= need / spare
        np.minimum(work, need, out=work)
        depletion += work
        np.minimum(depletion, total, out=depletion)
        np.greater(depletion, limit[:, :, day, None, None], out=is_dry)
        dry_days += is_dry
    shape = (parts, years, settings, probes, _KEPT)
    dry = dry_days.reshape(shape).sum(axis=(1, 4)) / (years * length * _KEPT)
    left = is_dry.reshape(shape).sum(axis=(1, 4)) / (years * _KEPT)
    water = delivered.sum(axis=(2, 3))[..., None] / years * waterings.depth_mm
    filled = fill.sum(axis=(1, 2)) / years
    water = water + (filled[:, None] * waterings.filled)[..., None]
    return Outcome(water, _driest(dry, month.valve), _driest(left, month.valve))


def _filled(
    fill_mm: np.ndarray, filled: np.ndarray, month: Month, probes: int
) -> np.ndarray:
    """Depth that a day's filling adds, (part, year, setting, probe · quarter)."""
    quarters = np.tile(month.shares[:, WETTER], probes)[:, None, None, :]
    return fill_mm[month.valve][..., None, None] * filled[:, None] * quarters


def _driest(share: np.ndarray, valve: np.ndarray) -> np.ndarray:
    """Largest share of a valve's parts; parts stand in the order of their valves."""
    first = np.flatnonzero(np.r_[True, valve[1:] != valve[:-1]])
    if len(first) == len(valve):
        return share
    return np.maximum.reduceat(share, first, axis=0)


def end_of_month(month: Month, water_mm: np.ndarray) -> np.ndarray:
    """Depletion that a month leaves, (part, year, quarter), under given waterings.

    `water_mm` (valve, year, day) is delivered: gross means over the ground.
    """
    now = month.start_mm
    depth = water_mm[month.valve][..., None] * month.shares[:, None, None, :]
    for day in range(water_mm.shape[-1]):
        now = played_day(
            now,
            depth[:, :, day],
            month.rain_mm[None, :, day, None],
            month.need_mm[:, :, day, None],
            month.total_mm[:, None, None],
            month.allowed_mm[:, None, None],
        ).depletion_mm
    return now
