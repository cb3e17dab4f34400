"""Every night of a month on the clock."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import ONE_DAY, S_PER_MIN, Days
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.night.earliest_end import NEVER, Job, Limits, Span
from scheduler.plan.night.hours import SiteHours
from scheduler.plan.night.sequence import Busy, Order, least_end, soonest
from scheduler.plan.site import SitePlan
from scheduler.plan.table import gone_on
from scheduler.plan.times.cycles import soak_minutes
from scheduler.schedule import Schedule

_FAR_S = 30 * 86_400
_NIGHTS_BACK = 7

_How = tuple[Schedule | None, bool, int]
"""Rules of the month, how thorough to be, and how many nights to look back."""


@dataclass(frozen=True, slots=True)
class NightRun:
    """One cycle of a zone (row of the site's zones), in seconds since 1970.

    `over_s` is how much of it lies after the zone's hours.
    """

    zone: int
    cycle: int
    start_s: int
    end_s: int
    over_s: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Night:
    """What runs when on a date; times in seconds since 1970.

    `hours` are the pieces permitted to each zone that waters. Where the runs do not
    fit, the last piece is taken to stay open, in the order that is over by least;
    `proven` says that no order fits, whatever the night before. None ends before
    `least_end_s`. `under_s` is the time under a pump's least flow, `kept_clear` has
    runs of the night before.
    """

    date: datetime.date
    hours: Mapping[int, tuple[Span, ...]]
    runs: tuple[NightRun, ...]
    fits: bool
    over_s: int
    least_end_s: int
    proven: bool
    under_s: int
    kept_clear: tuple[NightRun, ...]

    @property
    def ends_s(self) -> int:
        """End of the last run."""
        return max(run.end_s for run in self.runs)

    @property
    def pieces(self) -> tuple[Span, ...]:
        """Permitted pieces of all its zones, each once, in order."""
        return tuple(sorted({span for spans in self.hours.values() for span in spans}))


class NightPlanner:
    """Nights of a planned site. What was worked out once is kept.

    Intervals count from `counted_from`. Left out, those of a table by days go on from
    the month before, and others count from the first of the date's year.
    """

    def __init__(
        self, plan: SitePlan, counted_from: datetime.date | None = None
    ) -> None:
        self.plan = plan
        self.hours = SiteHours(plan.site)
        self.counted_from = counted_from
        self.limits = _limits(plan)
        self.flow_l_min = np.nan_to_num(plan.inputs.valve.flow_l_min).tolist()
        self.kinds = [HEAD_KINDS[kind] for kind in plan.site.zones.head_kind]
        self._schedules: dict[tuple[int, int], Schedule] = {}
        self._orders: dict[object, tuple[Order, Order | None, int]] = {}
        self._nights: dict[object, Night] = {}

    @property
    def goes_on(self) -> bool:
        """Whether intervals go on from one month to the next."""
        return self.counted_from is None and self.plan.settings is not None

    def schedule(self, date: datetime.date) -> Schedule:
        """Rules of the table in the month of a date, a row for each zone."""
        key = date.year, date.month
        if key not in self._schedules:
            rules, month = self.plan.plan.schedule, date.month - 1
            if self.goes_on:
                self._schedules[key] = gone_on(rules, date.year)[:, month]
            else:
                start = self.counted_from or datetime.date(date.year, 1, 1)
                self._schedules[key] = rules[:, month].counted_from(start)
        return self._schedules[key]

    def spans(
        self, row: int, date: datetime.date, wide: bool = False
    ) -> tuple[Span, ...]:
        """Hours in which a zone may run for a date; see `SiteHours.spans`."""
        return self.hours.spans(self.kinds[row], date, wide)

    def job(self, row: int, date: datetime.date, wide: bool = False) -> Job:
        """Cycles of a zone on a date, to whole seconds."""
        schedule = self.schedule(date)
        cycle = float(schedule.cycle_min[row]) * S_PER_MIN
        soak = float(schedule.soak_min[row]) * S_PER_MIN
        return Job(
            int(schedule.cycles[row]),
            round(cycle),
            round(soak),
            self.flow_l_min[row],
            self.spans(row, date, wide),
        )

    def night(
        self,
        date: datetime.date,
        chosen: Schedule | None = None,
        thorough: bool = True,
        back: int = _NIGHTS_BACK,
    ) -> Night:
        """A night by the rules chosen for the date's month, or by those of the table.

        Where it need not be `thorough`, any order that fits will do. It keeps clear of
        the runs of the night before, where those reach into its hours; so the nights
        that hang together are planned from the first of them.
        """
        rows = self._watering(date, chosen)
        if not rows:
            return Night(date, {}, (), True, 0, 0, False, 0, ())
        how = chosen, thorough, back
        night = self._kept(date, rows, how, False)
        if not night.fits:
            widened = any(
                self.spans(row, date) != self.spans(row, date, True) for row in rows
            )
            if widened:
                night = self._kept(date, rows, how, True)
        return night

    def _watering(
        self, date: datetime.date, chosen: Schedule | None
    ) -> tuple[int, ...]:
        """Zones that water on a date, and may."""
        schedule = self.schedule(date) if chosen is None else chosen
        waters = schedule.waters(Days.of_calendar(date, 1))[:, 0]
        rows = np.flatnonzero(waters).tolist()
        return tuple(row for row in rows if self.spans(row, date))

    def _kept(
        self,
        date: datetime.date,
        rows: tuple[int, ...],
        how: _How,
        wide: bool,
    ) -> Night:
        before = self._before(date, rows, how, wide)
        key = date, rows, before, how[1], wide
        if key not in self._nights:
            self._nights[key] = self._placed(date, rows, before, how[1], wide)
        return self._nights[key]

    def _before(
        self,
        date: datetime.date,
        rows: Sequence[int],
        how: _How,
        wide: bool,
    ) -> tuple[NightRun, ...]:
        chosen, thorough, back = how
        yesterday = date - ONE_DAY
        here = chosen if yesterday.month == date.month else None
        opens = min(self.spans(row, date, wide)[0][0] for row in rows)
        pauses = [self._pause_s(row, yesterday) for row in range(len(self.kinds))]
        reaches = any(
            self.spans(row, yesterday)[-1][1] + pauses[row] > opens
            for row in self._watering(yesterday, here)
        )
        if not reaches or not back:
            return ()
        night = self.night(yesterday, here, thorough, back - 1)
        return tuple(run for run in night.runs if run.end_s + pauses[run.zone] > opens)

    def _pause_s(self, row: int, date: datetime.date) -> int:
        """Time from a zone's last run to its first of the next night: gap or soak."""
        inputs = self.plan.inputs
        cycle = self.schedule(date).cycle_min[row]
        to_go_in = cycle * self.plan.soak_a_minute[row]
        soak = soak_minutes(to_go_in, inputs.valve.shortest_soak_min[row])
        return max(round(float(soak) * S_PER_MIN), self.limits.gap_s)

    def _placed(
        self,
        date: datetime.date,
        rows: Sequence[int],
        before: tuple[NightRun, ...],
        thorough: bool,
        wide: bool,
    ) -> Night:
        free = {
            run.zone: run.end_s + self._pause_s(run.zone, date - ONE_DAY)
            for run in sorted(before, key=lambda run: run.end_s)
        }
        jobs = [_from(self.job(row, date, wide), free.get(row, 0)) for row in rows]
        base = min(job.spans[0][0] for job in jobs)
        gap = self.limits.gap_s
        busy = tuple(
            Busy(run.start_s - base, run.end_s + gap - base, self.flow_l_min[run.zone])
            for run in before
        )
        moved = tuple(_moved(job, -base) for job in jobs)
        order, relaxed, least = self._order(moved, busy, thorough)
        best = order if relaxed is None else relaxed
        runs = []
        for run in best.runs:
            closes = jobs[run.job].spans[-1][1]
            start, end = run.start_s + base, run.end_s + base
            over = max(end - max(closes, start), 0)
            runs.append(NightRun(rows[run.job], run.cycle, start, end, over))
        over = 0 if relaxed is None else max(relaxed.late_s, 0)
        return Night(
            date,
            {row: self.spans(row, date, wide) for row in rows},
            tuple(runs),
            over == 0,
            over,
            least + base,
            not before
            and relaxed is not None
            and (order.bound_s >= NEVER or relaxed.bound_s > 0),
            best.under_s,
            before,
        )

    def _order(
        self, jobs: tuple[Job, ...], busy: tuple[Busy, ...], thorough: bool
    ) -> tuple[Order, Order | None, int]:
        """The order, the one with hours left open if none fits, the least end."""
        key = jobs, busy, thorough
        if key not in self._orders:
            order = soonest(jobs, self.limits, busy, thorough)
            relaxed, least = None, order.bound_s
            if not order.runs:
                late = [_left_open(job) for job in jobs]
                relaxed = soonest(late, self.limits, busy, thorough)
                least = least_end(late, self.limits, busy)
            self._orders[key] = order, relaxed, least
        return self._orders[key]


def _limits(plan: SitePlan) -> Limits:
    controller, supply = plan.site.controller, plan.site.supply
    design = supply.design_flow_l_min
    return Limits(
        int(controller.zones_at_once),
        round(controller.gap_s),
        float("inf") if design is None else design,
        supply.least_flow_l_min or 0.0,
    )


def _from(job: Job, ready_s: int) -> Job:
    """A job that may not start before a time; its last piece stays, if only in name."""
    spans = [
        (max(opens, ready_s), closes) for opens, closes in job.spans if closes > ready_s
    ]
    opens, closes = job.spans[-1]
    return replace(job, spans=tuple(spans) or ((max(opens, ready_s), closes),))


def _moved(job: Job, by_s: int) -> Job:
    spans = tuple((opens + by_s, closes + by_s) for opens, closes in job.spans)
    return replace(job, spans=spans)


def _left_open(job: Job) -> Job:
    """A job whose last piece never closes, due when it ought to."""
    opens, closes = job.spans[-1]
    spans = (*job.spans[:-1], (opens, closes + _FAR_S))
    return replace(job, spans=spans, due_s=closes)
