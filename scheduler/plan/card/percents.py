"""Base run times and month percents, rounded as a controller rounds them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.plan.card.prices import Prices
from scheduler.rounding import TOLERANCE, ceil_, floor_

_MOST_TURNS = 8
"""Turns of bases and percents; they stand still after three or four."""
_MANY_PERCENTS = 16
"""Of more percents than these turns find good ones from one start."""
_MANY_STARTS = 64
_FULL = 100.0
_NO_DEARER = 0.005
"""Share of the cost by which runs at rounder percents may be dearer (our choice)."""
_AROUND = (0.85, 1.0, 1.15)
"""Bases tried, as shares of those that give a month its best run."""


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Bases and percents of some zones: `base_steps` (zone,), `percent` (month,).

    `cost` (zone,) is what each comes to over the months.
    """

    base_steps: np.ndarray
    percent: np.ndarray
    cost: np.ndarray


def run_steps(base_steps: np.ndarray, percent: np.ndarray) -> np.ndarray:
    """Run in whole steps at a percent: half a step and more is rounded up."""
    return np.asarray(np.floor(base_steps * percent / 100 + 0.5 + TOLERANCE))


def best_fit(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    without: np.ndarray,
    percent: np.ndarray | None = None,
) -> Fit:
    """Bases and percents of least cost, each found in turn while the other stands.

    `without` (zone,) is what each zone comes to in no program: one that would come to
    more has no say.
    `zones` and `option` (zone,) are rows, `months` (month,) those of the stretch. The
    percents follow a given start, or what the zones would run best. Neither turn ever
    makes it dearer; a better pair may be missed.
    """
    asked = (zones, option, months, without, percent)
    return prices.known("fit", asked, lambda: _best_fit(prices, *asked))


def _best_fit(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    without: np.ndarray,
    percent: np.ndarray | None,
) -> Fit:
    settable = settable_percents(prices)
    if percent is not None:
        return _turned(prices, zones, option, months, without, percent, settable)
    if len(zones) == 1 and len(settable) <= _MANY_PERCENTS:
        return _alone(prices, zones, option, months, settable)
    start = _percents_of_best(prices, zones, option, months, settable)
    fit = _turned(prices, zones, option, months, without, start, settable)
    if len(settable) > _MANY_PERCENTS:
        return fit
    # Among few percents turns stand still early: others to begin with are tried too.
    for begin in _starts(start, settable):
        other = _turned(prices, zones, option, months, without, begin, settable)
        fit = min(fit, other, key=lambda f: np.minimum(f.cost, without).sum())
    return fit


def _alone(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    settable: np.ndarray,
) -> Fit:
    """The cheapest of all bases and percents of one zone."""
    base = np.arange(1.0, prices.needs.longest_steps + 1)
    cost = prices.of_runs(
        zones[0], option[0], months[:, None], run_steps(base[:, None, None], settable)
    )
    total = cost.min(axis=2).sum(axis=1)
    best = int(total.argmin())
    percent = settable[cost[best].argmin(axis=1)]
    return Fit(base[[best]], percent, total[[best]])


def _starts(start: np.ndarray, settable: np.ndarray) -> Iterator[np.ndarray]:
    """Percents to begin with: all there are, or where these are many, even ones."""
    if len(settable) ** len(start) <= _MANY_STARTS:
        yield from map(np.array, itertools.product(settable, repeat=len(start)))
        return
    for most in settable[settable > 0]:
        yield np.where(start > 0, most, 0.0)
        yield np.full(len(start), most)


def _turned(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    without: np.ndarray,
    percent: np.ndarray,
    settable: np.ndarray,
) -> Fit:
    """Bases and percents turned round from a start until neither gets cheaper."""
    base, cost = best_bases(prices, zones, option, months, percent)
    for _ in range(_MOST_TURNS):
        says = np.flatnonzero(cost < without)
        if not says.size:
            break
        moved = _best_percents(
            prices, zones[says], option[says], months, base[says], settable
        )
        anew, cheaper = best_bases(prices, zones, option, months, moved)
        total, less = (np.minimum(c, without).sum() for c in (cost, cheaper))
        if not less < total * (1 - 1e-9):
            break
        base, cost, percent = anew, cheaper, moved
    return Fit(base, percent, cost)


def best_bases(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    percent: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Base of least cost of each zone at given percents, and that cost; (zone,)."""
    asked = (zones, option, months, percent)
    return prices.known("bases", asked, lambda: _best_bases(prices, *asked))


def _best_bases(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    percent: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    best = prices.best_run[zones, option][:, months]
    with np.errstate(divide="ignore", invalid="ignore"):
        wanted = np.where(percent > 0, best * 100 / percent, 1.0)
    tries = [np.floor(wanted * share + end) for share in _AROUND for end in (0.0, 1.0)]
    # The least that a controller rounds up to the best run.
    with np.errstate(divide="ignore", invalid="ignore"):
        least = np.where(percent > 0, ceil_((best - 0.5) * 100 / percent), 1.0)
    base = np.concatenate([*tries, least], axis=1)
    base = np.clip(base, 1.0, prices.needs.longest_steps)
    cost = prices.of_runs(
        zones[:, None, None],
        option[:, None, None],
        months[None, None, :],
        run_steps(base[..., None], percent),
    ).sum(axis=2)
    row, zone = cost.argmin(axis=1), np.arange(len(zones))
    return base[zone, row], cost[zone, row]


def _best_percents(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    base: np.ndarray,
    settable: np.ndarray,
) -> np.ndarray:
    """Percent of each month of least cost for given bases, the smallest of equals."""
    cost = prices.of_runs(
        zones[:, None, None],
        option[:, None, None],
        months[None, :, None],
        run_steps(base[:, None, None], settable),
    ).sum(axis=0)
    return np.asarray(settable[cost.argmin(axis=1)])


def best_percents(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    base: np.ndarray,
    most: float,
) -> np.ndarray:
    """Percent of each month of least cost for given bases, none over `most`."""
    settable = settable_percents(prices)
    settable = settable[settable <= most]
    return _best_percents(prices, zones, option, months, base, settable)


def at_full(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    base: np.ndarray,
    percent: np.ndarray,
) -> np.ndarray | None:
    """Percents of which the largest is 100, for bases that are the largest runs.

    Runs stay as they are, or come to no more; None where that cannot be, or need not.
    """
    most, full = percent.max(initial=0.0), run_steps(base, percent.max(initial=0.0))
    if most in (0.0, _FULL) or not full.all():
        return None
    settable = settable_percents(prices)
    settable = settable[settable <= _FULL]
    if (full > prices.needs.longest_steps).any() or settable.max() < _FULL:
        return None
    runs = run_steps(base[:, None], percent)
    tried = run_steps(full[:, None, None], settable)
    same = (tried == runs[..., None]).all(axis=0) & (
        (settable > 0) == (percent > 0)[:, None]
    )
    off = np.abs(settable - percent[:, None] * _FULL / most)
    if same.any(axis=1).all():
        return np.asarray(settable[np.where(same, off, np.inf).argmin(axis=1)])
    found = best_percents(prices, zones, option, months, full, _FULL)
    found = np.where(percent == most, _FULL, found)
    rows = zones[:, None], option[:, None], months[None, :]
    now, then = (float(prices.of_runs(*rows, steps).sum())
                 for steps in (runs, run_steps(full[:, None], found)))  # fmt: skip
    alike = np.array_equal(found > 0, percent > 0)
    return found if alike and then <= now * (1 + _NO_DEARER) else None


def settable_percents(prices: Prices) -> np.ndarray:
    """Percents that a month can be set to, rising."""
    controller = prices.needs.controller
    if controller.percent_by == "none":
        return np.array([100.0])
    most = floor_(np.array(controller.percent_most / controller.percent_step))
    return np.arange(int(most) + 1) * float(controller.percent_step)


def _percents_of_best(
    prices: Prices,
    zones: np.ndarray,
    option: np.ndarray,
    months: np.ndarray,
    settable: np.ndarray,
) -> np.ndarray:
    """Percents that follow what the zones would run best, weighed by their water."""
    best = prices.best[zones, option][:, months]
    most = best.max(axis=1, keepdims=True)
    weight = prices.year_l[zones] * (most[:, 0] > 0)
    share = np.divide(best, most, out=np.zeros_like(best), where=most > 0)
    # Zones that are off in a month have no say in how long the others run.
    runs = (best > 0) * weight[:, None]
    mean = np.divide((share * weight[:, None]).sum(axis=0), runs.sum(axis=0),
                     out=np.zeros(len(months)), where=runs.any(axis=0))  # fmt: skip
    top = settable[settable <= 100.0].max()
    wanted = mean / max(mean.max(), TOLERANCE) * top
    row = np.abs(settable[None, :] - wanted[:, None]).argmin(axis=1)
    return np.asarray(settable[row])
