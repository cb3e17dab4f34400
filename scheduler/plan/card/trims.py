"""Base times and percents taken back where the year leaves water to spare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.card.percents import run_steps
from scheduler.plan.card.settings import Group, Setting, applied_steps
from scheduler.rounding import TOLERANCE


class YearTrim:
    """Settings of a whole year, and how little each zone may still get.

    The search gives every stretch all that it needs. Over the year that is more than
    enough, and a month may fall short by the share that the site lets it; so a step is
    taken back wherever both stay true, the largest savings first. Runs only get
    shorter, so that what was placed on the clock stays where it is.
    """

    def __init__(self, needs: CardNeeds, settings: Sequence[Setting]) -> None:
        self.needs = needs
        self.settings = list(settings)
        need = needs.need_steps
        share = 1 - needs.controller.shortfall_percent / 100
        self.least = share * need * (1 - TOLERANCE)
        self.wants = need > 0
        self.least_year = need.sum(axis=1) * (1 - TOLERANCE)
        self.applied = np.zeros(need.shape)
        for setting in self.settings:
            for group in setting.groups:
                rows = np.ix_(group.zones, setting.months)
                self.applied[rows] += applied_steps(group, setting.months)

    def trimmed(self) -> tuple[Setting, ...]:
        """The settings with what can be spared taken back."""
        for place, zone, months in self._moves():
            while self._taken_back(place, zone, months):
                pass
        return tuple(
            replace(setting, applied_l=self._liters(setting))
            for setting in self.settings
        )

    def _liters(self, setting: Setting) -> float:
        total = 0.0
        for group in setting.groups:
            steps = applied_steps(group, setting.months).sum(axis=1)
            total += float((steps * self.needs.step_l[list(group.zones)]).sum())
        return total

    def _moves(self) -> list[tuple[tuple[int, int], int, tuple[int, ...]]]:
        """What may be taken back: setting and group (-1: all), zone or -1, months."""
        found = []
        for s, setting in enumerate(self.settings):
            columns = range(len(setting.months))
            for g, group in enumerate(setting.groups):
                for i in range(len(group.zones)):
                    move = (s, g), i, tuple(columns)
                    found.append((self._saves(*move), move))
            by = self.needs.controller.percent_by
            groups = {
                "program": range(len(setting.groups)),
                "controller": (-1,) if setting.groups else (),
                "none": (),
            }
            for g in groups[by]:
                for column in columns:
                    move = (s, g), -1, (column,)
                    found.append((self._saves(*move), move))
        found.sort(key=lambda item: -item[0])
        return [move for saves, move in found if saves > 0]

    def _saves(
        self, place: tuple[int, int], zone: int, months: tuple[int, ...]
    ) -> float:
        saved = 0.0
        for rows, steps, _ in self._changes(place, zone, months):
            saved += float((steps.sum(axis=1) * self.needs.step_l[rows]).sum())
        return saved

    def _changes(
        self, place: tuple[int, int], zone: int, months: tuple[int, ...]
    ) -> list[tuple[list[int], np.ndarray, tuple[int, Group]]]:
        """Zones, the steps they lose in each month, and the group after the change."""
        s, g = place
        setting = self.settings[s]
        chosen = range(len(setting.groups)) if g < 0 else (g,)
        changes = []
        for row in chosen:
            group = setting.groups[row]
            base, percent = group.base_steps, group.percent
            if zone >= 0:
                base = base.copy()
                base[zone] -= 1
            else:
                percent = percent.copy()
                percent[list(months)] -= self.needs.controller.percent_step
            if base.min() < 1 or percent.min() < 0:
                return []
            after = replace(group, base_steps=base, percent=percent)
            loses = group.runs() - run_steps(base[:, None], percent)
            loses = loses * group.starts_in_months(setting.months)
            changes.append((list(group.zones), loses, (row, after)))
        return changes

    def _taken_back(
        self, place: tuple[int, int], zone: int, months: tuple[int, ...]
    ) -> bool:
        """Take one step back if every zone still gets enough, and it saves water."""
        changes = self._changes(place, zone, months)
        setting = self.settings[place[0]]
        rest = self.applied.copy() if len(changes) > 1 else self.applied
        saves = False
        for rows, loses, _ in changes:
            here = np.ix_(rows, setting.months)
            left = rest[here] - loses
            if np.any(left < self.least[here]):
                return False
            spare = (rest * self.wants)[rows].sum(axis=1) - self.least_year[rows]
            if np.any((loses * self.wants[here]).sum(axis=1) > spare):
                return False
            if len(changes) > 1:
                rest[here] = left
            saves |= bool(np.any(loses > 0))
        if not saves:
            return False
        groups = list(setting.groups)
        for rows, loses, (row, after) in changes:
            self.applied[np.ix_(rows, setting.months)] -= loses
            groups[row] = after
        self.settings[place[0]] = replace(setting, groups=tuple(groups))
        return True
