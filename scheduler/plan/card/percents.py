"""Base run times and month percents, rounded as a controller rounds them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.rounding import TOLERANCE, ceil_, floor_

_MOST_RAISES = 12
"""Enough wherever the percents are 10 % or more in the mean."""


@dataclass(frozen=True, slots=True, eq=False)
class Bases:
    """Smallest base run times that give zones their water, and what that takes.

    `base_steps` and `largest_steps` (the run at the largest percent) are whole steps;
    `applied` is the stretch's total in steps of run time, inf where no base will do.
    """

    base_steps: np.ndarray
    largest_steps: np.ndarray
    applied: np.ndarray


def run_steps(base_steps: np.ndarray, percent: np.ndarray) -> np.ndarray:
    """Run in whole steps at a percent: half a step and more is rounded up."""
    return np.asarray(np.floor(base_steps * percent / 100 + 0.5 + TOLERANCE))


def smallest_bases(
    need_steps: np.ndarray,
    starts_in_month: np.ndarray,
    percent: np.ndarray,
    least_share: float,
    most_steps: np.ndarray,
) -> Bases:
    """Smallest base by which every month gets its share and the stretch all its need.

    The last axis is the months of the stretch; the others broadcast. `need_steps` is
    a month's need in steps of run time, 0 where the zone wants no water;
    `starts_in_month` how often the month starts the zone; `most_steps` (without the
    axis of months) the longest run.
    """
    wants = need_steps > 0
    need = need_steps.sum(axis=-1)
    share = percent / 100
    least = ceil_(least_share * need_steps / starts_in_month)
    with np.errstate(divide="ignore", invalid="ignore"):
        by_month = np.where(wants, ceil_((least - 0.5) / share), 1.0)
        useful = (starts_in_month * share * wants).sum(axis=-1)
        rounded_up = 0.5 * (starts_in_month * wants).sum(axis=-1)
        by_total = np.ceil((need - rounded_up) / useful - TOLERANCE)
    base = np.maximum(np.maximum(by_month.max(axis=-1), by_total), 1.0)
    base = np.where(np.isfinite(base), base, 0.0)
    effect = starts_in_month * wants
    base, found = _until_enough(base, percent, effect, need * (1 - TOLERANCE))
    largest = run_steps(base, percent.max(axis=-1))
    applied = (run_steps(base[..., None], percent) * starts_in_month).sum(axis=-1)
    good = found & (largest <= most_steps + TOLERANCE)
    return Bases(base, largest, np.where(good, applied, np.inf))


def _until_enough(
    base: np.ndarray, percent: np.ndarray, effect: np.ndarray, need: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Bases raised a step at a time until the stretch has its need, and where it has.

    A base of 0 stands for one that there is not.
    """
    shape = (*base.shape, percent.shape[-1])
    rows = np.nonzero(base.ravel() > 0)[0]
    percent = np.broadcast_to(percent, shape).reshape(-1, shape[-1])
    effect = np.broadcast_to(effect, shape).reshape(-1, shape[-1])
    wanted = np.broadcast_to(need, base.shape).ravel()
    raised = base.ravel().copy()
    found = np.zeros(raised.shape, dtype=bool)
    for _ in range(_MOST_RAISES):
        runs = run_steps(raised[rows, None], percent[rows])
        enough = (runs * effect[rows]).sum(axis=-1) >= wanted[rows]
        found[rows[enough]] = True
        rows = rows[~enough]
        if not rows.size:
            break
        raised[rows] += 1
    return raised.reshape(base.shape), found.reshape(base.shape)


def percent_choices(
    need_a_day: np.ndarray, percent_step: float, percent_most: float
) -> np.ndarray:
    """Month percents that follow the needs of one zone or another, (shape, month).

    `need_a_day` is (zone, month). The largest percent is 100, and the largest that
    the controller takes, which is the finer where its steps are coarse.
    """
    most = float(floor_(np.array(percent_most / percent_step))) * percent_step
    peak = need_a_day.max(axis=1, keepdims=True)
    shapes = need_a_day[peak[:, 0] > 0] / peak[peak[:, 0] > 0]
    shapes = np.vstack([shapes, shapes.max(axis=0), shapes.mean(axis=0)])
    found = []
    for largest in dict.fromkeys((nearest_percent(100.0, percent_step), most)):
        scaled = shapes / shapes.max(axis=1, keepdims=True) * largest
        steps = np.floor(scaled / percent_step + 0.5)
        found.append(np.maximum(steps, shapes > 0) * percent_step)
    return np.unique(np.vstack(found), axis=0)


def percents_for_runs(run_steps_: np.ndarray, percent_step: float) -> np.ndarray:
    """Least percents by which the longest of some runs, as base, gives them all.

    `run_steps_` is along months, in whole steps, 0 where nothing runs.
    """
    least = (run_steps_ - 0.5) / run_steps_.max() * 100
    return np.where(run_steps_ > 0, ceil_(least / percent_step) * percent_step, 0.0)


def nearest_percent(percent: float, percent_step: float) -> float:
    """The percent that can be set nearest below, one step at least."""
    return max(np.floor(percent / percent_step + TOLERANCE), 1.0) * percent_step


def neighbours(
    percent: np.ndarray, percent_step: float, percent_most: float
) -> np.ndarray:
    """Percents that differ by one step in one month, the given ones first.

    A month that is off stays off.
    """
    changes = np.vstack([np.eye(len(percent)), -np.eye(len(percent))]) * percent_step
    moved = percent + changes[np.tile(percent > 0, 2)]
    within = (moved >= 0) & (moved <= percent_most + TOLERANCE)
    return np.vstack([percent, moved[within.all(axis=1)]])
