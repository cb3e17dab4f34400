"""Fillings that programs can do: percents raised in place of a hand's work."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from scheduler.plan.card.clock import placed_well
from scheduler.plan.card.judged import Judged
from scheduler.plan.card.percents import settable_percents
from scheduler.plan.card.prices import Prices
from scheduler.plan.card.programs import StretchSearch
from scheduler.plan.card.settings import Group, Setting, blocks_of
from scheduler.plan.card.starts import Placed

_RAISED = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of the way to the largest that are tried, the least first (our choice)."""
_DRIER = 0.02
"""Share of its days that a month may be drier than with the filling (our choice)."""

AsJudged = Callable[[Sequence[Setting], np.ndarray], Judged]
"""Judges settings without the fillings of some zones and months."""


def spared(
    prices: Prices, judged: Judged, settings: Sequence[Setting], judge: AsJudged
) -> tuple[Sequence[Setting], np.ndarray]:
    """Settings whose percents spare fillings, and the (zone, month) of those spared.

    A month's percents go up, none above its program's largest, for which the hours have
    room, until its ground is hardly drier than with the filling, or by the table, and
    no limit breaks for it. Where that takes more than they have, zones that stay within
    their limit are spared all the same, and the others are left to the hand.
    """
    now, kept = list(settings), np.zeros(judged.dry.shape, dtype=bool)
    hardly = np.fmax(judged.dry, judged.table_dry) + _DRIER
    within = np.fmax(hardly, prices.needs.most_dry)
    for month in sorted({fill.month - 1 for fill in judged.filled}):
        zones = [fill.zone for fill in judged.filled if fill.month == month + 1]
        for let_pass, share in (*((hardly, one) for one in _RAISED), (within, 1.0)):
            tried = list(_raised(prices, now, month, zones, share))
            left_out = kept.copy()
            left_out[zones, month] = True
            found = judge(tried, left_out)
            if found.harm <= judged.harm and _within(found, let_pass, zones, month):
                now, kept = tried, left_out
                break
            if share == 1.0:
                zones = [z for z in zones if _within(found, within, [z], month)]
    return (now, kept) if kept.any() else (settings, kept)


def _within(
    judged: Judged, let_pass: np.ndarray, zones: Sequence[int], month: int
) -> bool:
    """Whether zones are no drier in a month than is let pass, (zone, month)."""
    return not (judged.dry[zones, month] > let_pass[zones, month]).any()


def _raised(
    prices: Prices,
    settings: Sequence[Setting],
    month: int,
    zones: Sequence[int],
    share: float,
) -> Iterator[Setting]:
    """Settings with a month's percents of some zones raised by a share of the way."""
    shared = prices.needs.controller.percent_by == "controller"
    for setting in settings:
        if month not in setting.months:
            yield setting
            continue
        mine = [bool({*group.zones} & {*zones}) for group in setting.groups]
        if shared:
            mine = [any(mine)] * len(mine)
        at = setting.months.index(month)
        groups = [
            _up(prices, group, at, share) if own else group
            for group, own in zip(setting.groups, mine, strict=True)
        ]
        placed = _placed(prices, setting, groups)
        if placed is None:
            yield setting
        else:
            yield replace(setting, groups=tuple(groups), placed=placed)


def _placed(
    prices: Prices, setting: Setting, groups: Sequence[Group]
) -> tuple[Placed, ...] | None:
    """Places of groups with other percents on the clock: theirs, or new ones.

    Other cycles may suit their runs, which then take a minute more; None where the
    nights do not hold them.
    """
    takes = [blocks_of(prices.needs, one, setting.months).minutes for one in groups]
    placed = tuple(
        replace(place, minutes=minutes)
        for place, minutes in zip(setting.placed, takes, strict=True)
    )
    longer = (new.minutes > old.minutes
              for new, old in zip(placed, setting.placed, strict=True))  # fmt: skip
    if not any(longer):
        return placed
    return placed_well(StretchSearch(prices, setting.months), groups)


def _up(prices: Prices, group: Group, at: int, share: float) -> Group:
    """A group with a percent of its stretch raised, to one that can be set."""
    percent = group.percent.copy()
    most = float(percent.max(initial=0.0))
    if 0 < percent[at] < most:
        settable = settable_percents(prices)
        settable = settable[(settable >= percent[at]) & (settable <= most)]
        wanted = percent[at] + share * (most - percent[at])
        percent[at] = settable[np.abs(settable - wanted).argmin()]
    return replace(group, percent=percent)
