"""The order of a night's runs that ends soonest: searched, and bounded from below.

Runs are put on the clock in the order of their starts, each as early as it may. Some
such order ends as soon as any plan of the night can, so that a search through all of
them is exact; orders that cannot lead to a better end are left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from scheduler.plan.night.earliest_end import NEVER, Job, Limits, WorkBounds, chain_end

MOST_NODES = 100_000
"""Runs placed before the search stops looking for a better order."""
BEAM = 12
_MOST_KEPT = 40


@dataclass(frozen=True, slots=True)
class Run:
    """One cycle of a job on the clock, the first is 1."""

    job: int
    cycle: int
    start_s: int
    end_s: int


@dataclass(frozen=True, slots=True)
class Busy:
    """A run of another night that has to be kept clear of; it ends with its pause."""

    start_s: int
    end_s: int
    flow_l_min: float


@dataclass(frozen=True, slots=True)
class Order:
    """The best order found: `late_s` is how long after it is due the last zone ends.

    No order is less late than `bound_s`. Without runs none was found; there is none
    where `bound_s` is NEVER. `under_s` is the time under a pump's least flow.
    """

    runs: tuple[Run, ...]
    late_s: int
    bound_s: int
    under_s: int = 0

    @property
    def exact(self) -> bool:
        """Whether it is proven that no order is better."""
        return self.late_s <= self.bound_s


@dataclass(frozen=True, slots=True)
class _State:
    """Runs placed so far: cycles left, when each zone may go on, what still runs.

    `running` has the end, pause and all, and the job of each run that may go on after
    `last_s`, the latest start.
    """

    left: tuple[int, ...]
    ready_s: tuple[int, ...]
    last_s: int
    running: tuple[tuple[int, int], ...]
    late_s: int
    under_s: int
    runs: tuple[_State, int, int] | None

    def bound_key(self) -> tuple[int, int]:
        return self.under_s, self.late_s


def soonest(
    jobs: Sequence[Job],
    limits: Limits,
    busy: Sequence[Busy] = (),
    thorough: bool = True,
) -> Order:
    """Order of the runs in which the last zone is least late after it is due.

    Quick rules come first, then a narrow search, then one through all orders with a
    limit on its size; each ends as soon as the bound is met. Where it need not be
    `thorough`, the search ends with the first of these that finds an order.
    """
    if not jobs:
        return Order((), -NEVER, -NEVER)
    search = _Search(jobs, limits, busy)
    root = search.root()
    bound = search.bound(root)
    if bound >= NEVER:
        return Order((), NEVER, NEVER)
    search.enough = (0, bound)
    for rule in _RULES:
        search.greedy(root, rule)
    if search.wanting(thorough):
        search.beam(root)
    if search.wanting(thorough):
        search.nodes_left = MOST_NODES // sum(job.cycles for job in jobs)
        search.any_will_do = not thorough
        complete = search.depth_first(root)
        if complete and search.best is None:
            bound = NEVER
        elif complete and thorough and not search.pump:
            bound = search.best_key[1]
    return search.order(bound)


def least_end(jobs: Sequence[Job], limits: Limits, busy: Sequence[Busy] = ()) -> int:
    """Time before which no order of the runs can end."""
    search = _Search([replace(job, due_s=0) for job in jobs], limits, busy)
    return search.bound(search.root())


_Rule = Callable[[Job, int, int], tuple[int, ...]]
_RULES: tuple[_Rule, ...] = (
    lambda job, left, start: (start, -job.tail_s(left)),
    lambda job, left, start: (start, job.spans[-1][1], -job.tail_s(left)),
    lambda job, left, start: (start, job.due_s - job.tail_s(left)),
    lambda job, left, start: (start, job.spans[-1][1] - job.tail_s(left)),
)
"""Which zone goes next, of those that may: longest to go, or first to close."""


class _Search:
    def __init__(
        self, jobs: Sequence[Job], limits: Limits, busy: Sequence[Busy]
    ) -> None:
        self.jobs, self.limits = tuple(jobs), limits
        self.busy = tuple(sorted(busy, key=lambda run: run.start_s))
        spans = [(run.start_s, run.end_s) for run in self.busy]
        self.work = WorkBounds(jobs, limits, spans)
        self.pump = limits.at_once > 1 and limits.least_flow_l_min > 0
        self.best_key = (NEVER, NEVER)
        self.best: _State | None = None
        self.enough = (0, -NEVER)
        self.nodes_left = 0
        self.any_will_do = False
        self.kept: dict[object, list[tuple[int, ...]]] = {}

    @property
    def met(self) -> bool:
        """Whether nothing better can be found, or is asked for."""
        found = self.any_will_do and self.best is not None
        return found or self.best_key <= self.enough

    def wanting(self, thorough: bool) -> bool:
        """Whether a search has to go on: none is found, or not yet the best."""
        return self.best is None or (thorough and not self.met)

    def root(self) -> _State:
        first = tuple(job.spans[0][0] for job in self.jobs)
        left = tuple(job.cycles for job in self.jobs)
        return _State(left, first, min(first), (), -NEVER, 0, None)

    def order(self, bound: int) -> Order:
        """The best state found as runs on the clock."""
        if self.best is None:
            return Order((), NEVER, bound)
        runs = []
        link = self.best.runs
        while link is not None:
            before, row, start = link
            job = self.jobs[row]
            cycle = job.cycles - before.left[row] + 1
            runs.append(Run(row, cycle, start, start + job.cycle_s))
            link = before.runs
        under, late = self.best_key
        return Order(tuple(reversed(runs)), late, bound, under)

    # What may come next.

    def children(self, state: _State) -> list[tuple[int, int]]:
        """Starts and jobs that may come next; none where some zone finds no room."""
        found: list[tuple[int, int]] = []
        seen = set()
        soonest_end = NEVER
        for row, left in enumerate(state.left):
            if not left:
                continue
            alike = self.jobs[row], left, state.ready_s[row]
            if alike in seen:
                continue
            seen.add(alike)
            start = self.earliest(row, state, state.last_s)
            if start is None:
                return []
            found.append((start, row))
            end = start + self.jobs[row].cycle_s + self.limits.gap_s
            soonest_end = min(soonest_end, end)
        if self.pump:
            return self._with_later(state, found)
        # A run that starts when another could have come and gone loses nothing by it.
        return [child for child in found if child[0] < soonest_end]

    def _with_later(
        self, state: _State, found: list[tuple[int, int]]
    ) -> list[tuple[int, int]]:
        """With the starts at which a run would meet others, to share a pump."""
        more = set(found)
        for start, row in found:
            for at, other in found:
                if other != row and at > start:
                    later = self.earliest(row, state, at)
                    if later is not None:
                        more.add((later, row))
        return sorted(more)

    def earliest(self, row: int, state: _State, after_s: int) -> int | None:
        """Earliest start of a job's next cycle, not before a time."""
        job = self.jobs[row]
        after = max(state.ready_s[row], after_s)
        for opens, closes in job.spans:
            start = max(after, opens)
            while start + job.cycle_s <= closes:
                again = self._clash(start, job, state)
                if again is None:
                    return start
                start = again
        return None

    def _clash(self, start: int, job: Job, state: _State) -> int | None:
        """When to try again, where a run finds no room at a start."""
        limits = self.limits
        stop = start + job.cycle_s + limits.gap_s
        if limits.at_once == 1:
            if state.running and state.running[0][0] > start:
                return state.running[0][0]
            for run in self.busy:
                if run.start_s < stop and start < run.end_s:
                    return run.end_s
            return None
        points = [start, *(r.start_s for r in self.busy if start < r.start_s < stop)]
        for point in points:
            active = [
                (end, self.jobs[row].flow_l_min)
                for end, row in state.running
                if end > point
            ]
            active += [
                (r.end_s, r.flow_l_min)
                for r in self.busy
                if r.start_s <= point < r.end_s
            ]
            flow = sum(flow for _, flow in active) + job.flow_l_min
            full = len(active) >= limits.at_once
            if active and (full or not limits.carries(flow)):
                return min(end for end, _ in active)
        return None

    def after(self, state: _State, start: int, row: int) -> _State:
        """The state once a job's next cycle is placed at a start."""
        job, gap = self.jobs[row], self.limits.gap_s
        end = start + job.cycle_s
        left = (*state.left[:row], state.left[row] - 1, *state.left[row + 1 :])
        again = max(end + job.soak_s, end + gap)
        ready = (*state.ready_s[:row], again, *state.ready_s[row + 1 :])
        running = tuple(r for r in state.running if r[0] > start)
        if self.limits.at_once == 1:
            running = ()
        running = tuple(sorted((*running, (end + gap, row))))
        late = max(state.late_s, end - job.due_s)
        under = state.under_s
        if self.pump:
            until = start if any(left) else NEVER
            under += self._under(state, state.last_s, start)
            if until == NEVER:
                last = _State(left, ready, start, running, late, 0, None)
                under += self._under(last, start, NEVER)
        return _State(left, ready, start, running, late, under, (state, row, start))

    def _under(self, state: _State, from_s: int, to_s: int) -> int:
        """Seconds in which some water runs, but less than the pump's least."""
        gap, least = self.limits.gap_s, self.limits.least_flow_l_min * (1 - 1e-9)
        ends = [(end - gap, self.jobs[row].flow_l_min) for end, row in state.running]
        under, now = 0, from_s
        for end, _ in sorted(ends):
            stop = min(end, to_s)
            if stop > now:
                flow = sum(flow for until, flow in ends if until > now)
                under += (stop - now) * (0 < flow < least)
                now = stop
        return under

    # Bounds.

    def bound(self, state: _State) -> int:
        """How late the last zone is at least, whatever follows."""
        from_s = state.last_s
        running = [end for end, _ in state.running]
        if self.limits.at_once == 1 and running:
            from_s, running = max(from_s, running[0]), []
        worst = state.late_s
        for row, left_ in enumerate(state.left):
            if left_:
                job = self.jobs[row]
                end = chain_end(job, left_, max(from_s, state.ready_s[row]))
                if end >= NEVER:
                    return NEVER
                worst = max(worst, end - job.due_s)
        return max(worst, self.work.after(state.left, from_s, running))

    def _key(self, state: _State) -> tuple[int, int]:
        return state.under_s, self.bound(state)

    def _take(self, state: _State) -> None:
        key = state.bound_key()
        if key < self.best_key:
            self.best, self.best_key = state, key

    # Searches.

    def greedy(self, state: _State, rule: _Rule) -> None:
        """One order, by a rule; nothing where it comes to a dead end."""
        while any(state.left):
            children = self.children(state)
            if self.met or not children:
                return
            start, row = min(
                children,
                key=lambda c: (*rule(self.jobs[c[1]], state.left[c[1]], c[0]), c),
            )
            state = self.after(state, start, row)
        self._take(state)

    def beam(self, root: _State) -> None:
        """A few orders side by side, those of the least bound."""
        states = [root]
        while states and any(states[0].left):
            ranked = []
            for state in states:
                for start, row in self.children(state):
                    child = self.after(state, start, row)
                    key = self._key(child)
                    if key < self.best_key:
                        ranked.append((key, start, -self._to_go(child), child))
            ranked.sort(key=lambda item: item[:3])
            states = [item[3] for item in ranked[:BEAM]]
        for state in states:
            self._take(state)

    def _to_go(self, state: _State) -> int:
        """Shortest of the longest times to go: the more even, the better."""
        return -max(
            state.ready_s[row] + job.tail_s(state.left[row])
            for row, job in enumerate(self.jobs)
        )

    def depth_first(self, state: _State) -> bool:
        """Search all that can be better; whether it came to the end of it."""
        if not any(state.left):
            self._take(state)
            return True
        following = []
        for start, row in self.children(state):
            child = self.after(state, start, row)
            key = self._key(child)
            if key < self.best_key:
                tail = self.jobs[row].tail_s(state.left[row])
                following.append((key, start, -tail, row, child))
        following.sort(key=lambda item: item[:4])
        for key, *_, child in following:
            if self.met or key >= self.best_key or self._dominated(child):
                continue
            self.nodes_left -= 1
            if self.nodes_left < 0 or not self.depth_first(child):
                return self.best_key <= self.enough
        return True

    def _dominated(self, state: _State) -> bool:
        """Whether a state seen before had the same left to do, and no later."""
        now = state.last_s
        running: tuple[int, ...] = ()
        if self.limits.at_once == 1:
            now = max([now, *(end for end, _ in state.running)])
        else:
            running = tuple(row for _, row in sorted(state.running, key=lambda r: r[1]))
        key = state.left, running
        ends = sorted((row, end) for end, row in state.running) if running else []
        times = (
            now,
            state.late_s,
            state.under_s,
            *(end for _, end in ends),
            *(
                max(ready, now)
                for ready, left in zip(state.ready_s, state.left, strict=True)
                if left
            ),
        )
        kept = self.kept.setdefault(key, [])
        if any(all(a <= b for a, b in zip(k, times, strict=True)) for k in kept):
            return True
        if len(kept) < _MOST_KEPT:
            kept.append(times)
        return False
