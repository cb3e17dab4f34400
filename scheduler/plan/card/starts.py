"""Start times: blocks of runs laid on the clock so that no two overlap."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache

from scheduler.calendar import DAY_MIN
from scheduler.plan.card.midnight import MIDDAY_MIN, Choices, Side, Sides
from scheduler.plan.times.patterns import Pattern

CLOCK_STEPS = (5, 1)
"""Start times fall on whole fives where that fits, else on any minute."""
PAUSE_MIN = 1
"""Least time between two programs, and two starts of one: a controller may leave out a
start that falls on the minute another ends (common practice)."""
_MOST_TRIES = 150
_MOST_PASSES = 4
"""Times that all programs are moved later: what one leaves another may take."""
_MOST_KNOWN = 20_000
"""Layouts kept: a search for a card's programs asks for most of them several times."""


_KINDS = itertools.count()


@cache
def _kind_of(choices: Choices) -> int:
    return next(_KINDS)


@dataclass(frozen=True, slots=True)
class Beside:
    """What lets a program run beside others: no zone of theirs, and flow for all.

    `flow_l_min` is that of its largest zone, `most_l_min` what the supply gives, and
    `at_once` how many zones the controller runs at once.
    """

    zones: frozenset[int]
    flow_l_min: float
    most_l_min: float
    at_once: int

    def fits(self, others: Sequence[Beside]) -> bool:
        """Whether it may run while all the others do."""
        flow = self.flow_l_min + sum(other.flow_l_min for other in others)
        return (
            len(others) < self.at_once
            and flow <= self.most_l_min * (1 + 1e-9)
            and all(self.zones.isdisjoint(other.zones) for other in others)
        )


@dataclass(frozen=True, slots=True)
class Blocks:
    """A program to place: so many starts, each a block of runs on end.

    `apart_min` is the least time from start to start, `choices` the patterns it may
    take, each with the sides that it may water on, one way or another; `kind` is one
    number for choices that are equal, so that programs are quickly compared. `beside`
    is None where the controller runs one zone at a time.
    """

    starts: int
    minutes: int
    apart_min: int
    choices: Choices = field(compare=False)
    beside: Beside | None = None
    kind: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "kind", _kind_of(self.choices))


@dataclass(frozen=True, slots=True)
class Placed:
    """Days and start times of a program, in minutes from midnight of its dates."""

    pattern: Pattern
    starts_min: tuple[int, ...]
    minutes: int
    beside: Beside | None = None


def midday_min(starts_min: Iterable[int], minutes: int) -> tuple[int, int]:
    """Minutes of starts at midday, and minutes of midday that starts run in."""
    begin, end = MIDDAY_MIN
    begun = runs = 0
    for start in starts_min:
        begun += minutes * (begin <= start % DAY_MIN < end)
        for day in (0, DAY_MIN):
            until = min(start + minutes, end + day)
            runs += max(until - max(start, begin + day), 0)
    return begun, runs


@dataclass(frozen=True, slots=True)
class Layout:
    """Programs placed on the clock; None for those that found no room."""

    placed: tuple[Placed | None, ...]

    @property
    def left(self) -> tuple[int, ...]:
        """Rows of the programs that found no room."""
        return tuple(row for row, place in enumerate(self.placed) if place is None)


def place(programs: Sequence[Blocks], quick: bool = False) -> Layout:
    """Days and start times of all programs, or of as many minutes as was found.

    Programs are placed one after another, each start as early as the ones before
    leave it; other orders, days and sides of midnight are tried in turn, and starts
    further apart so that programs take turns, up to a limit. The starts of a program
    stand on one side of midnight where that can be. So a layout that exists may be
    missed, but none that is found is wrong. `quick` tries less.
    """
    return _placed(tuple(programs), quick)


def place_well(
    programs: Sequence[Blocks], more: Sequence[Blocks]
) -> tuple[Placed, ...] | None:
    """All programs as late as their hours let them, with least at midday; or None.

    Where some run at midday, all are kept to calmer hours, then their starts, then
    those of all but one; `more` are the programs with more days to choose from.
    """
    layout = place(programs)
    if layout.left:
        return None
    best = _latest(programs, layout)
    if not _at_midday(best)[1]:
        return best
    begun = [_kept_to(program, Side.begun_calm) for program in more]
    tries = [[_kept_to(program, lambda side: side if side.calm else None)
              for program in more], begun]  # fmt: skip
    tries += [[*begun[:row], more[row], *begun[row + 1 :]]
              for row in sorted(range(len(more)), key=lambda r: more[r].minutes)
              if more[row].choices != begun[row].choices]  # fmt: skip
    for tried in tries:
        layout = place(tried)
        if not layout.left:
            found = _latest(tried, layout)
            best = min(best, found, key=_at_midday)
            if found is best:
                break
    return best


def _latest(programs: Sequence[Blocks], layout: Layout) -> tuple[Placed, ...]:
    """Programs of a layout as late as can be, on whole fives where they are as calm."""
    placed = [found for found in layout.placed if found is not None]
    found = [as_late(programs, placed, step) for step in CLOCK_STEPS]
    return min(found, key=_at_midday)


def _at_midday(placed: Sequence[Placed]) -> tuple[float, float]:
    """Minutes a week of starts at midday, and of what runs then, of all programs."""
    week = [one.pattern.days_per_week for one in placed]
    found = [midday_min(one.starts_min, one.minutes) for one in placed]
    begun, runs = ([minutes[row] * days for minutes, days in zip(found, week,
                    strict=True)] for row in range(2))  # fmt: skip
    return sum(begun), sum(runs)


def _kept_to(program: Blocks, hours: Callable[[Side], Side | None]) -> Blocks:
    """A program that keeps to some hours of its sides; calm ones are tried first."""
    choices = []
    for pattern, ways in program.choices:
        kept = [tuple(map(hours, way)) for way in ways]
        found = [tuple(side for side in way if side is not None) for way in kept]
        whole = [way for way, all_ in zip(found, kept, strict=True)
                 if len(way) == len(all_)]  # fmt: skip
        choices.append((pattern, tuple(dict.fromkeys(whole))))
    return replace(program, choices=tuple(choices))


def as_late(
    programs: Sequence[Blocks], placed: Sequence[Placed], step: int = CLOCK_STEPS[0]
) -> tuple[Placed, ...]:
    """The same programs, each as late as its hours let it, and out of midday.

    So the last runs end as near to sunrise as the window allows: there is less wind,
    and leaves dry soon. What runs at midday moves to where that leaves room in calmer
    hours; else it stays as early as it is.
    """
    found = list(placed)
    for _ in range(_MOST_PASSES):
        before = tuple(found)
        order = sorted(range(len(found)), key=lambda r: -max(found[r].starts_min))
        calm = [row for row in order if _is_calm(programs[row], found[row])]
        for row in (*calm, *(row for row in order if row not in calm)):
            others = [other for r, other in enumerate(found) if r != row]
            if row not in calm:
                calmer = _calmer(programs[row], others, step)
                if calmer is None:
                    continue
                found[row] = calmer
            found[row] = _later(programs[row], found[row], others, step)
        if tuple(found) == before:
            break
    return tuple(found)


def _is_calm(program: Blocks, placed: Placed) -> bool:
    """Whether no start of a program runs at midday."""
    ways = next(ways for own, ways in program.choices if own == placed.pattern)
    sides = [side for way in ways for side in way if side.calm]
    return all(
        any(side.opens_min <= start and start + placed.minutes <= side.closes_min
            and start <= side.last_start_min for side in sides)
        for start in placed.starts_min
    )  # fmt: skip


def _calmer(program: Blocks, others: Sequence[Placed], step: int) -> Placed | None:
    """A program where it runs at no midday, on days and hours that others leave."""
    for pattern, ways in program.choices:
        busy = _busy(program, pattern, others)
        for sides in ways:
            if len(sides) > min(program.starts, 2):
                continue
            if all(side.calm for side in sides):
                starts = _earliest(program, sides, busy, step)
                if starts is not None:
                    return Placed(pattern, starts, program.minutes, program.beside)
    return None


def _later(
    program: Blocks, placed: Placed, others: Iterable[Placed], step: int
) -> Placed:
    """The same starts, from the last one on as late as hours and others let them."""
    ways = next(ways for own, ways in program.choices if own == placed.pattern)
    sides = [side for way in ways for side in way]
    busy = _busy(program, placed.pattern, others)
    starts = list(placed.starts_min)
    apart = program.apart_min
    for row in reversed(range(len(starts))):
        start, end = starts[row], starts[row] + placed.minutes
        own = (side for side in sides if side.opens_min <= start
               and end <= side.closes_min and start <= side.last_start_min)  # fmt: skip
        side = next(own)
        # On dates in a row the first start follows the last one of the date before.
        after = starts[row + 1] if row + 1 < len(starts) else starts[0] + DAY_MIN
        most = min(side.closes_min - placed.minutes, side.last_start_min, after - apart)
        starts[row] = max(start, _free_until(most, placed.minutes, busy, step))
    return replace(placed, starts_min=tuple(starts))


@lru_cache(maxsize=_MOST_KNOWN)
def _placed(programs: tuple[Blocks, ...], quick: bool) -> Layout:
    alone = [row for row, program in enumerate(programs) if _fits_alone(program)]
    if len(alone) < len(programs):
        # What has no room in an empty night need not be tried among others.
        rest = _placed(tuple(programs[row] for row in alone), quick).placed
        found = dict(zip(alone, rest, strict=True))
        return Layout(tuple(found.get(row) for row in range(len(programs))))
    best: dict[int, Placed] = {}
    for clock_step, shared, turns in itertools.product(
        CLOCK_STEPS[:1] if quick else CLOCK_STEPS,
        (True,) if quick else (False, True),
        (False, True),
    ):
        tried = _taking_turns(programs) if turns else programs
        for order in itertools.islice(_orders(programs), 2 if quick else 4):
            most_tries = 30 if quick else _MOST_TRIES
            search = _Search(tried, order, clock_step, shared, most_tries)
            search.place_next({})
            if _minutes(tried, search.most) > _minutes(tried, best):
                best = search.most
            if len(best) == len(programs):
                return Layout(tuple(best[row] for row in range(len(programs))))
    return Layout(tuple(best.get(row) for row in range(len(programs))))


@lru_cache(maxsize=_MOST_KNOWN)
def _fits_alone(program: Blocks) -> bool:
    """Whether a program finds room in a night that it has for itself."""
    return any(
        len(sides) <= min(program.starts, 2)
        and _earliest(program, sides, (), 1) is not None
        for _, ways in program.choices
        for sides in ways
    )


def _minutes(programs: Sequence[Blocks], placed: dict[int, Placed]) -> int:
    return sum(programs[row].starts * programs[row].minutes for row in placed)


def _taking_turns(programs: Sequence[Blocks]) -> list[Blocks]:
    """The programs with starts so far apart that each other's blocks fit between."""
    several = [program for program in programs if program.starts > 1]
    together = sum(program.minutes + PAUSE_MIN for program in several)
    return [
        program
        if program.apart_min >= together
        else replace(program, apart_min=together)
        for program in programs
    ]


def _orders(programs: Sequence[Blocks]) -> Iterator[tuple[int, ...]]:
    rows = range(len(programs))

    def span(row: int) -> int:
        program = programs[row]
        return (program.starts - 1) * program.apart_min + program.minutes

    seen = set()
    for key in (
        span,
        lambda row: programs[row].starts * programs[row].minutes,
        lambda row: -len(programs[row].choices),
        lambda row: -span(row),
    ):
        order = tuple(sorted(rows, key=key, reverse=True))
        if order not in seen:
            seen.add(order)
            yield order


class _Search:
    """Depth first through days and sides; keeps the most minutes that were placed."""

    def __init__(
        self,
        programs: Sequence[Blocks],
        order: Sequence[int],
        clock_step: int,
        shared: bool,
        most_tries: int,
    ) -> None:
        self.programs = programs
        self.order = order
        self.clock_step = clock_step
        self.most_sides = 2 if shared else 1
        self.tries = most_tries
        self.most: dict[int, Placed] = {}

    def place_next(self, placed: dict[int, Placed], depth: int = 0) -> bool:
        """Place the rest of the order; whether all of it found room."""
        if _minutes(self.programs, placed) > _minutes(self.programs, self.most):
            self.most = placed
        if depth == len(self.order):
            return len(placed) == len(self.order)
        row = self.order[depth]
        program = self.programs[row]
        for pattern, ways in program.choices:
            busy = _busy(program, pattern, placed.values())
            for sides in ways:
                if len(sides) > min(program.starts, self.most_sides):
                    continue
                self.tries -= 1
                if self.tries < 0:
                    return False
                starts = _earliest(program, sides, busy, self.clock_step)
                if starts is None:
                    continue
                here = Placed(pattern, starts, program.minutes, program.beside)
                if self.place_next({**placed, row: here}, depth + 1):
                    return True
        # It finds no room: see how much the others find without it.
        return len(placed) == depth and self.place_next(placed, depth + 1)


def _busy(
    program: Blocks, pattern: Pattern, placed: Iterable[Placed]
) -> list[tuple[int, int]]:
    """Times of a pattern's dates at which a program may not run, for others do.

    With the pause before and after them.
    """
    busy, by = [], []
    for other in placed:
        for days in days_that_meet(pattern, other.pattern):
            for start in other.starts_min:
                begin = start + days * DAY_MIN
                busy.append((begin - PAUSE_MIN, begin + other.minutes + PAUSE_MIN))
                by.append(other.beside)
    if program.beside is None:
        return sorted(busy)
    return _too_many(program.beside, busy, by)


def _too_many(
    own: Beside, busy: Sequence[tuple[int, int]], by: Sequence[Beside | None]
) -> list[tuple[int, int]]:
    """Times at which others leave a program no zone of the controller, or no flow."""
    found: list[tuple[int, int]] = []
    for begin, end in itertools.pairwise(sorted({at for span in busy for at in span})):
        running = [other for (one, last), other in zip(busy, by, strict=True)
                   if other and one <= begin and end <= last]  # fmt: skip
        if running and not own.fits(running):
            if found and found[-1][1] == begin:
                begin = found.pop()[0]
            found.append((begin, end))
    return found


def days_that_meet(pattern: Pattern, other: Pattern) -> tuple[int, ...]:
    """How many days after a date of the one a date of the other may be: -1, 0, 1."""
    # Patterns are kept for good, so their identity will do, which is quickly hashed.
    key = id(pattern), id(other)
    if key not in _MEET:
        _MEET[key] = _meet(pattern, other)
    return _MEET[key]


_MEET: dict[tuple[int, int], tuple[int, ...]] = {}


@cache
def _meet(pattern: Pattern, other: Pattern) -> tuple[int, ...]:
    meets = (
        other.shares_dates(pattern, 1),
        pattern.shares_dates(other),
        pattern.shares_dates(other, 1),
    )
    return tuple(days for days, met in zip((-1, 0, 1), meets, strict=True) if met)


def _earliest(
    program: Blocks, sides: Sides, busy: Sequence[tuple[int, int]], clock_step: int
) -> tuple[int, ...] | None:
    """Earliest start times on some sides that keep clear of what is busy."""
    starts: list[int] = []
    after = sides[0].opens_min
    while len(starts) < program.starts:
        start = _free_on(program.minutes, sides, after, busy, clock_step)
        if start is None:
            return None
        starts.append(start)
        after = start + program.apart_min
    # On dates in a row the first start follows the last one of the evening before.
    if len(sides) > 1 and starts[0] + DAY_MIN < after:
        return None
    return tuple(starts)


def _free_on(
    minutes: int,
    sides: Sides,
    after: int,
    busy: Sequence[tuple[int, int]],
    clock_step: int,
) -> int | None:
    for side in sides:
        begin = max(after, side.opens_min)
        start = _free_from(begin, minutes, busy, clock_step)
        if start + minutes <= side.closes_min and start <= side.last_start_min:
            return start
    return None


def _free_until(
    most: int, minutes: int, busy: Sequence[tuple[int, int]], clock_step: int
) -> int:
    """Latest start up to a time that keeps clear of what is busy."""
    start = most // clock_step * clock_step
    for begin, end in reversed(busy):
        if begin < start + minutes and start < end:
            start = (begin - minutes) // clock_step * clock_step
    return start


def _free_from(
    after: int, minutes: int, busy: Sequence[tuple[int, int]], clock_step: int
) -> int:
    start = math.ceil(after / clock_step) * clock_step
    for begin, end in busy:
        if begin < start + minutes and start < end:
            start = math.ceil(end / clock_step) * clock_step
    return start
