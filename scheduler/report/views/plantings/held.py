"""Programs that steps of new plantings hold: their percents, and until when."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, Visit
from scheduler.plan.site import SitePlan
from scheduler.report.views.plantings.card import programs

FULL_PERCENT = 100.0
_MONTHS = 12


@dataclass(frozen=True, slots=True)
class Held:
    """A program that carries steps, from `first` until the date of the last one's end.

    `today` is the date from which on months are those to come.
    """

    name: str
    zones: tuple[int, ...]
    first: datetime.date
    until: datetime.date
    today: datetime.date

    def holds(self, month: int) -> bool:
        """Whether steps go on in a month (1 to 12), or in a part of it."""
        begins, ends = self._days(month)
        return self.first < ends and self.until > begins

    def ends_in(self, month: int) -> bool:
        """Whether steps end within a month, so that another percent comes after."""
        return self.holds(month) and self.until < self._days(month)[1]

    def _days(self, month: int) -> tuple[datetime.date, datetime.date]:
        """What is to come of a month: its first day, and the first of the next."""
        year = self.today.year + (month < self.today.month)
        after = datetime.date(year + month // _MONTHS, month % _MONTHS + 1, 1)
        return max(self.today, datetime.date(year, month, 1)), after


def held(plan: SitePlan, card: Card, since: datetime.date | None = None) -> list[Held]:
    """Programs that carry steps, of those that the controller has.

    Months are those to come on a date, or on the card's own.
    """
    return [
        Held(
            group.name,
            tuple(new.zone for new in group.plantings),
            group.plantings[0].steps[0].first,
            group.plantings[0].grown_in,
            since or card.today,
        )
        for group in programs(plan, card)
        if group.name and group.plantings[0].steps
    ]


def waiting(
    plan: SitePlan, card: Card, program: Program, since: datetime.date
) -> dict[int, datetime.date]:
    """Zones that get their steps in another program, and until when, from a date on."""
    return {
        new.zone: new.grown_in
        for group in programs(plan, card)
        for new in group.plantings
        if new.steps and group.name != program.name and since < new.grown_in
    }


@dataclass(frozen=True, slots=True)
class Percent:
    """A percent of a month; `until` a date, with `then` after it, where steps end."""

    percent: float
    until: datetime.date | None = None
    then: float = 0.0


def percents(
    plan: SitePlan, card: Card, visit: Visit, since: datetime.date | None = None
) -> dict[str, dict[int, Percent]]:
    """Percents of a visit by program and month, 1 to 12; "" for the whole controller.

    A program that carries steps holds 100 % as long as they go on, also where no other
    run is in it. A controller of one percent does where all else is off.
    """
    by = plan.site.controller.percent_by
    if by == "none":
        return {}
    found: dict[str, dict[int, Percent]] = {}
    steps = held(plan, card, since)
    own = {program.name: dict(program.percent) for program in visit.programs}
    if by == "controller":
        own = {"": next(iter(own.values()), {})}
    else:
        own |= {
            one.name: {}
            for one in steps
            if one.name not in own and any(map(one.holds, visit.months))
        }
    for name, percent in own.items():
        found[name] = {}
        for month in visit.months:
            at = percent.get(month, 0.0)
            mine = [one for one in steps if one.holds(month) and (
                one.name == name if name else not at)]  # fmt: skip
            found[name][month] = _held(mine, month, at) if mine else Percent(at)
    return {name: row for name, row in sorted(found.items()) if _any(row) or name}


def _any(row: dict[int, Percent]) -> bool:
    return any(one.percent for one in row.values())


def _held(mine: Sequence[Held], month: int, then: float) -> Percent:
    last = max(mine, key=lambda one: one.until)
    ends = last.ends_in(month) and then != FULL_PERCENT
    return Percent(FULL_PERCENT, last.until if ends else None, then)


def ends(found: dict[str, dict[int, Percent]]) -> Iterator[tuple[str, Percent]]:
    """Programs whose percent changes within a month, as their steps end."""
    for name, row in found.items():
        for one in row.values():
            if one.until is not None:
                yield name, one
