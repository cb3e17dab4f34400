"""Water that no longer serves once a card is mended: taken out of its programs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from scheduler.plan.card.judged import Judged
from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.card.settings import Setting, blocks_of

_MOST_TRIED = 16
"""Zones of programs that are tried, those of most water first: a try plays years."""


def without_idle(
    needs: CardNeeds,
    judged: Judged,
    settings: Sequence[Setting],
    judge: Callable[[Sequence[Setting]], Judged],
) -> Sequence[Setting]:
    """Settings without zones in visits all through which the table leaves them off.

    Mending dry ground begins in the months before it as well; where those then do
    enough, what it added in others only spends water. None goes where a limit breaks.
    """
    now, best = list(settings), judged
    for row, place, zone in _idle(needs, judged, settings)[:_MOST_TRIED]:
        base = now[row].groups[place].base_steps.copy()
        base[now[row].groups[place].zones.index(zone)] = 0.0
        groups = list(now[row].groups)
        groups[place] = replace(groups[place], base_steps=base)
        tried = [*now[:row], replace(now[row], groups=tuple(groups)), *now[row + 1 :]]
        found = judge([_kept(needs, setting) for setting in tried])
        if found.harm <= best.harm and found.water_l.sum() < best.water_l.sum():
            now, best = tried, found
    if best is judged:
        return settings
    return [_kept(needs, setting) for setting in now]


def _idle(
    needs: CardNeeds, judged: Judged, settings: Sequence[Setting]
) -> list[tuple[int, int, int]]:
    """Setting, group and zone of such visits, by their water."""
    found: list[tuple[float, int, int, int]] = []
    for row, setting in enumerate(settings):
        for place, group in enumerate(setting.groups):
            months = list(setting.months)
            found += [
                (-float(judged.water_l[zone, months].sum()), row, place, zone)
                for zone in group.zones
                if not needs.waters[zone, months].any()
            ]
    return [(row, place, zone) for _, row, place, zone in sorted(found)]


def _kept(needs: CardNeeds, setting: Setting) -> Setting:
    """A setting without zones that no longer run, and without programs of no zone."""
    groups, placed = [], []
    for group, place in zip(setting.groups, setting.placed, strict=True):
        runs = group.base_steps > 0
        if runs.any():
            if not runs.all():
                zones = tuple(np.array(group.zones)[runs].tolist())
                group = replace(group, zones=zones, base_steps=group.base_steps[runs])
                minutes = blocks_of(needs, group, setting.months).minutes
                place = replace(place, minutes=minutes)
            groups.append(group)
            placed.append(place)
    return replace(setting, groups=tuple(groups), placed=tuple(placed))
