"""Times before which no order of a night's runs can end."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

NEVER = 1 << 60
"""A time after all others: a run that cannot be placed."""

ROUNDING = 1e-6
"""Seconds that sums of shares may be off."""

Span = tuple[int, int]
"""Permitted time, from and to, in seconds."""


@dataclass(frozen=True, slots=True)
class Job:
    """A zone on one night: its cycles, the soak between them, and where it may run.

    Times in seconds. What counts is how long after `due_s` its last cycle ends.
    """

    cycles: int
    cycle_s: int
    soak_s: int
    flow_l_min: float
    spans: tuple[Span, ...]
    due_s: int = 0

    def tail_s(self, left: int) -> int:
        """Time from the start of a cycle to the end of the last of so many."""
        return left * self.cycle_s + max(left - 1, 0) * self.soak_s


@dataclass(frozen=True, slots=True)
class Limits:
    """What may run together, and the pause after a run. No limit of flow is infinite.

    `least_flow_l_min` is 0 where no pump asks for one.
    """

    at_once: int = 1
    gap_s: int = 0
    design_flow_l_min: float = float("inf")
    least_flow_l_min: float = 0.0

    def carries(self, flow_l_min: float) -> bool:
        """Whether the supply gives a flow."""
        return flow_l_min <= self.design_flow_l_min * (1 + 1e-9)


def chain_end(job: Job, left: int, after_s: int) -> int:
    """Earliest end of so many cycles of a zone that has the night to itself."""
    now = after_s
    for start, end in job.spans:
        while left and (at := max(now, start)) + job.cycle_s <= end:
            left -= 1
            now = at + job.cycle_s + (job.soak_s if left else 0)
        if not left:
            return now
    return NEVER


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Union of permitted times, in order."""
    union: list[Span] = []
    for start, end in sorted(spans):
        if union and start <= union[-1][1]:
            union[-1] = union[-1][0], max(union[-1][1], end)
        else:
            union.append((start, end))
    return tuple(union)


def without(spans: Sequence[Span], busy: Iterable[Span]) -> tuple[Span, ...]:
    """Permitted times less those at which the controller is busy."""
    left = list(spans)
    for begin, stop in busy:
        left = [
            part
            for start, end in left
            for part in ((start, min(end, begin)), (max(start, stop), end))
            if part[0] < part[1]
        ]
    return tuple(left)


def work_end(
    spans: Sequence[Span],
    after_s: int,
    work_s: float,
    most_s: Sequence[int] | None = None,
) -> int:
    """When so much work is done at the earliest, in permitted times from a time on.

    `most_s` is the most that can be done in each of them as a whole.
    """
    if work_s <= 0:
        return after_s
    for place, (start, end) in enumerate(spans):
        begin = max(start, after_s)
        room = end - begin
        if most_s is not None and begin == start:
            room = min(room, most_s[place])
        if room >= work_s - ROUNDING:
            return begin + math.ceil(work_s - ROUNDING)
        work_s -= max(room, 0)
    return NEVER


def fullest(length_s: int, works_s: Iterable[int]) -> int:
    """Longest time that whole runs can fill of a length: a sum of some of them."""
    works = list(works_s)
    if sum(works) <= length_s:
        return sum(works)
    sums, most = 1, (1 << (length_s + 1)) - 1
    for work in works:
        sums |= sums << work & most
    return sums.bit_length() - 1


def slot_end(
    spans: Sequence[Span],
    after_s: int,
    work_s: float,
    running: Sequence[int],
    at_once: int,
) -> int:
    """When work is done at the earliest, so many at once, once runs under way end."""
    if not running:
        return work_end(spans, after_s, work_s / at_once)
    if work_s <= 0:
        return after_s
    ends = sorted(running)
    for start, end in spans:
        begin = max(start, after_s)
        for stop in (*ends, end):
            stop = min(stop, end)
            if stop <= begin:
                continue
            slots = at_once - sum(until > begin for until in ends)
            if slots and (stop - begin) * slots >= work_s - ROUNDING:
                return begin + math.ceil(work_s / slots - ROUNDING)
            work_s -= (stop - begin) * slots
            begin = stop
    return NEVER


class WorkBounds:
    """Bounds by the sum of work, for zones that close, and are due, by some time.

    Each such class of zones must be done by then; so its work, one after another or
    as many at once as may be, ends no sooner than the hours let it. Each run brings
    its pause, which may fall after the hours.
    """

    def __init__(
        self, jobs: Sequence[Job], limits: Limits, busy: Sequence[Span] = ()
    ) -> None:
        self.gap_s, self.at_once = limits.gap_s, limits.at_once
        self.shares = _shares(jobs, limits)
        self.classes: list[tuple[tuple[int, ...], tuple[Span, ...], int]] = []
        self.most_s: list[list[int] | None] = []
        taken = busy if limits.at_once == 1 else ()
        for members in _classes(jobs):
            hours = joined(
                (start, end + limits.gap_s)
                for row in members
                for start, end in jobs[row].spans
            )
            latest = max(jobs[row].due_s for row in members)
            free = without(hours, taken)
            self.classes.append((members, free, latest))
            self.most_s.append(self._most(jobs, members, free))

    def after(
        self, left: Sequence[int], from_s: int, running: Sequence[int] = ()
    ) -> int:
        """How late the last zone ends at least; `running`: ends of runs under way."""
        worst = -NEVER
        for (members, hours, due), most in zip(self.classes, self.most_s, strict=True):
            work = self._work(0, members, left)
            if self.at_once == 1:
                end = work_end(hours, from_s, work, most)
            else:
                end = slot_end(hours, from_s, work, running, self.at_once)
            for place in range(1, len(self.shares)):
                work = self._work(place, members, left)
                end = max(end, work_end(hours, from_s, work))
            if end >= NEVER:
                return NEVER
            if any(left[row] for row in members):
                worst = max(worst, end - self.gap_s - due)
        return worst

    def _most(
        self, jobs: Sequence[Job], members: Sequence[int], hours: Sequence[Span]
    ) -> list[int] | None:
        """Most that whole runs can fill of each piece, one after another."""
        if self.at_once > 1:
            return None
        works = [
            jobs[row].cycle_s + self.gap_s
            for row in members
            for _ in range(jobs[row].cycles)
        ]
        return [fullest(end - start, works) for start, end in hours]

    def _work(self, place: int, members: Sequence[int], left: Sequence[int]) -> float:
        share = self.shares[place]
        return sum(left[row] * share[row] for row in members)


def _classes(jobs: Sequence[Job]) -> list[tuple[int, ...]]:
    """Zones of the same hours, and all that close and are due by some time."""
    found: dict[tuple[int, ...], None] = {}
    for spans in {job.spans for job in jobs}:
        found[tuple(r for r, job in enumerate(jobs) if job.spans == spans)] = None
    for closes, due in {(job.spans[-1][1], job.due_s) for job in jobs}:
        members = tuple(
            row
            for row, job in enumerate(jobs)
            if job.spans[-1][1] <= closes and job.due_s <= due
        )
        found[members] = None
    return sorted(found)


def _shares(jobs: Sequence[Job], limits: Limits) -> list[list[float]]:
    """Time a cycle takes of the controller, and of the supply in several measures.

    A measure gives each run a part of the supply such that no runs that may go on
    together have more than all of it: its flow, or with flows under a threshold left
    out, all of it to a run that leaves too little for any other.
    """
    times = [float(job.cycle_s + limits.gap_s) for job in jobs]
    if limits.at_once == 1:
        return [times]
    shares = [times]
    flows = sorted({job.flow_l_min for job in jobs})
    for threshold in (0.0, *(flow for flow in flows if limits.carries(2 * flow))):
        parts = [_part(job.flow_l_min, threshold, limits) for job in jobs]
        shares.append([t * p for t, p in zip(times, parts, strict=True)])
    for flow in flows:
        if not limits.carries(2 * flow):
            # Two such runs never go together, nor do larger ones.
            parts = [float(job.flow_l_min >= flow) for job in jobs]
            shares.append([t * p for t, p in zip(times, parts, strict=True)])
            break
    return shares


def _part(flow_l_min: float, threshold_l_min: float, limits: Limits) -> float:
    if flow_l_min < threshold_l_min:
        return 0.0
    if not limits.carries(flow_l_min + threshold_l_min):
        return 1.0
    return min(flow_l_min / (limits.design_flow_l_min * (1 + 1e-9)), 1.0)
