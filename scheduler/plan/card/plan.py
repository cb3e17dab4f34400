"""The controller card: what to key in, for any number of visits a year."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from scheduler.balance.day import WETTER
from scheduler.calendar import DAY_MIN, DAYS_IN_MONTH, ONE_DAY, S_PER_MIN
from scheduler.demand.frost import filled_on
from scheduler.plan.card.after.fillings import after_fills
from scheduler.plan.card.after.idle import without_idle
from scheduler.plan.card.after.spared import spared
from scheduler.plan.card.clock import (
    borrowed,
    foreseen,
    place_stretch,
    refitted,
    started_by_hand,
)
from scheduler.plan.card.judged import (
    TRIFLE_SHARE,
    Judged,
    harm_of,
    judge,
    to_mend,
    worth_their_visits,
)
from scheduler.plan.card.needs import CardNeeds, Hand, card_needs
from scheduler.plan.card.percents import run_steps
from scheduler.plan.card.prices import Prices
from scheduler.plan.card.programs import StretchSearch
from scheduler.plan.card.settings import (
    Group,
    Program,
    Setting,
    Visit,
    as_keyed,
    dated,
    first_of,
    keyed_cycles,
    over_months,
)
from scheduler.plan.card.starts import Placed
from scheduler.plan.card.stretches import (
    STRETCHES,
    cheapest_splits,
    least_costs,
    without_idle_visits,
)
from scheduler.plan.site import SitePlan
from scheduler.rounding import ceil_
from scheduler.schedule import CardRule, Schedule

_MOST_MENDS = 4
"""Times that a card is fitted anew to the ground that it leaves."""
_MUCH_HARM = 10.0
"""From so many dry days in a hundred on, of a zone and month, programs of other months
are tried (rule of this program)."""

_WORTH_A_VISIT = 1 - TRIFLE_SHARE


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """Settings of a year: `visits` are what to key in, `schedule` what runs by them.

    They follow by date from `today` on, the first on it, or when something runs first.

    `by_hand` are waterings that no program holds, started by hand; `judged` tells how
    the card waters beside the table. `gap_percent` is how much less water, of the
    table's, a card with as many visits could come to at most: each zone alone in
    programs of its own, the night unlimited; `cost_l` is what that compares: the water,
    and what goes dry or shallow as so much water. `fewer` says why it has fewer visits
    than were asked for: with more, "limits" are broken, dry ground is filled by "hand",
    or a "trifle" is saved.
    """

    visits: tuple[Visit, ...]
    schedule: Schedule
    by_hand: tuple[Hand, ...]
    judged: Judged
    gap_percent: float
    cost_l: float
    today: datetime.date
    fewer: str = ""

    def free_programs(
        self, programs: float, zones: Collection[int], months: Collection[int]
    ) -> list[str]:
        """Names of programs that run no other than some zones in months, 1 to 12."""
        used = {
            program.name
            for visit in self.visits
            if not {*visit.months}.isdisjoint(months)
            for program in visit.programs
            if not {*program.zones} <= {*zones}
        }
        names = [_letter(row) for row in range(int(programs))]
        return [name for name in names if name not in used]


def plan_card(plan: SitePlan, start: datetime.date, visits: int) -> Card:
    """Card of a site for so many visits; intervals begin on dates to come at `start`.

    It may leave some of the visits out where fewer take no more water, or a trifle.
    """
    return compare_cards(plan, start, (visits,))[0]


def compare_cards(
    plan: SitePlan, start: datetime.date, visits: Sequence[int]
) -> tuple[Card, ...]:
    """Cards for several numbers of visits a year."""
    search = _YearSearch(plan, start)
    return tuple(search.card(count) for count in visits)


def card_of_stretches(
    plan: SitePlan, start: datetime.date, stretches: Sequence[tuple[int, ...]]
) -> Card:
    """Card with a visit for each of given stretches of months (rows, January 0)."""
    return _YearSearch(plan, start).card_of(tuple(stretches))


class _YearSearch:
    """Cards of a year; stretches that several of them share are planned once."""

    def __init__(self, plan: SitePlan, start: datetime.date) -> None:
        self.plan, self.needs = plan, card_needs(plan, start.year)
        self.start = start
        self.prices = Prices(self.needs)
        self.placed: dict[tuple[int, ...], Setting] = {}
        self.cards: dict[tuple[tuple[int, ...], ...], Card] = {}

    @cached_property
    def cost(self) -> dict[tuple[int, ...], float]:
        """What each stretch comes to about, were the nights as long as it needs."""
        cores = {months: self._core(months) for months in STRETCHES}
        searches = {core: StretchSearch(self.prices, core) for core in cores.values()}
        score = {core: s.score(s.rough()) for core, s in searches.items()}
        return {months: score[core] for months, core in cores.items()}

    def _core(self, months: tuple[int, ...]) -> tuple[int, ...]:
        """A stretch without months of frost at its ends, unless it has no others."""
        warm = np.flatnonzero(~self.needs.season.frost[list(months)])
        return months[warm[0] : warm[-1] + 1] if warm.size else months

    @cached_property
    def splits(self) -> list[tuple[tuple[int, ...], ...]]:
        """Best split for 1, 2, … 12 visits; with fewer where more save a trifle."""
        found: list[tuple[tuple[int, ...], ...]] = []
        best = np.inf
        for split in cheapest_splits(self.cost):
            assert split is not None, "every stretch has a cost"
            total = sum(self.cost[months] for months in split)
            if found and total > best * _WORTH_A_VISIT:
                found.append(found[-1])
            else:
                best = total
                found.append(without_idle_visits(split, self.cost))
        return found

    @cached_property
    def bounds(self) -> tuple[float, ...]:
        """Cost that no card with 1, 2, … 12 visits can go below."""
        return least_costs(self.prices)

    def card(self, visits: int) -> Card:
        """The card for so many visits, or for fewer where more save a trifle.

        All fewer are tried too: that the nights are short is not seen before the
        programs are laid on the clock.
        """
        cards = [self.card_of(split) for split in dict.fromkeys(self.splits[:visits])]
        best = cards[worth_their_visits([card.judged for card in cards])]
        table_l = float(self.needs.table_l.sum())
        gap = 100 * max(best.cost_l - self.bounds[visits - 1], 0.0) / max(table_l, 1.0)
        own = after_fills(self.plan, best.visits, best.judged.filled)
        schedule = _schedule(self.needs, own)
        # Cards with more visits that take less water break limits that this one keeps.
        more = [card.judged for card in cards if len(card.visits) > len(own)]
        less_l = float(best.judged.water_l.sum()) * _WORTH_A_VISIT
        breaks = any(judged.water_l.sum() < less_l for judged in more)
        by_hand = any(judged.nights > best.judged.nights for judged in more)
        why = "hand" if by_hand else "limits" if breaks else "trifle"
        fewer = why if len(own) < visits else ""
        return replace(
            best, visits=own, schedule=schedule, gap_percent=gap, fewer=fewer
        )

    def card_of(self, split: tuple[tuple[int, ...], ...]) -> Card:
        """The card with a visit for each stretch."""
        if split not in self.cards:
            settings = [self._setting(months) for months in split]
            card, kept = _card(self.prices, settings, self.start)
            if card.judged.harm > _MUCH_HARM:
                card, kept = _with_borrowed(
                    self.prices, card, kept, self.of_months, self.start
                )
            self.cards[split] = self._spared(card, kept)
        return self.cards[split]

    def _spared(self, card: Card, settings: Sequence[Setting]) -> Card:
        """The card without water that serves nothing, nor fillings that programs do."""
        prices, start = self.prices, self.start

        def carded(tried: Sequence[Setting], cells: np.ndarray | None = None) -> Card:
            found = _as_card(prices, tried, start, cells)
            return replace(found, cost_l=card.cost_l)

        lean = without_idle(
            self.needs, card.judged, settings, lambda tried: carded(tried).judged
        )
        if lean is not settings:
            card = carded(lean)
        filling, left_out = spared(
            prices, card.judged, lean, lambda tried, cells: carded(tried, cells).judged
        )
        return card if filling is lean else carded(filling, left_out)

    @cached_property
    def of_months(self) -> list[Setting]:
        """Programs of each month alone, of those that have some."""
        each = (self._setting((month,)) for month in range(len(DAYS_IN_MONTH)))
        return [setting for setting in each if setting.groups]

    def _setting(self, months: tuple[int, ...]) -> Setting:
        core = self._core(months)
        if core not in self.placed:
            found = place_stretch(self.prices, core)
            self.placed[core] = as_keyed(self.prices, found)
        return over_months(self.placed[core], months)


def _card(
    prices: Prices, settings: Sequence[Setting], start: datetime.date
) -> tuple[Card, Sequence[Setting]]:
    """The card of settings, mended where their ground ends drier than was priced.

    Where that does not help, the stretches of what the prices did not foresee are
    searched anew, once, for programs that leave out none of the months it hangs on.
    """
    best, settings = _mended(prices, settings, start)
    known = foreseen(prices, settings)
    broken = [b for b in best.judged.broken if not known[b.zone, b.month - 1]]
    over, must = to_mend(prices.needs, best.judged, broken)
    # Among much that cannot be kept it would change little.
    if not (over.any() or must.any()) or harm_of(broken) < best.judged.harm / 2:
        return best, settings
    wanted = np.asarray(((over > 0) | must).any(axis=0))
    tighter = prices.tightened(over, must)
    anew = [
        place_stretch(tighter, setting.months)
        if np.any(wanted[list(setting.months)])
        else setting
        for setting in settings
    ]
    other = _mended(prices, [as_keyed(prices, s) for s in anew], start)
    return min((best, settings), other, key=lambda found: found[0].judged.harm)


def _with_borrowed(
    prices: Prices,
    card: Card,
    settings: Sequence[Setting],
    others: Sequence[Setting],
    start: datetime.date,
) -> tuple[Card, Sequence[Setting]]:
    """The card with programs of other months where those break fewer of its limits.

    Where nights are far too short, a search of a stretch by itself may leave zones out
    that programs found for another month hold.
    """
    first, now = card, list(settings)
    for row, setting in enumerate(settings):
        months = {month + 1 for month in setting.months}
        if harm_of(b for b in card.judged.broken if b.month in months) <= _MUCH_HARM:
            continue
        for other in borrowed(prices, setting.months, others):
            tried = [*now[:row], as_keyed(prices, other), *now[row + 1 :]]
            found = _as_card(prices, tried, start)
            if found.judged.harm < card.judged.harm:
                card, now = found, tried
    return (card, settings) if card is first else _mended(prices, now, start)


def _mended(
    prices: Prices, settings: Sequence[Setting], start: datetime.date
) -> tuple[Card, Sequence[Setting]]:
    """The card, and its settings, fitted anew while that mends dry ground.

    Each month was priced on the ground that the table leaves to it; where the card's
    own ground is drier, the same programs are fitted anew to that, and held to so much
    less as they passed what is let pass.
    """
    first = best = now = _as_card(prices, settings, start)
    own, of_best = prices, settings
    programs = [(group.days, group.starts) for s in settings for group in s.groups]
    firsts = sorted({setting.months[0] for setting in settings})
    for _ in range(_MOST_MENDS):
        over, must = to_mend(prices.needs, now.judged, now.judged.broken)
        if not (over.any() or must.any()) or not programs:
            break
        drier = _drier(now.judged.start_mm, prices.needs.start_mm)
        own = own.on_ground(drier, over, must, programs, firsts)
        fitted = [refitted(own, setting) or setting for setting in settings]
        settings = [as_keyed(own, setting) for setting in fitted]
        now = _as_card(prices, settings, start)
        if now.judged.harm >= best.judged.harm:
            break
        best, of_best = now, settings
    mended_l = float(best.judged.water_l.sum() - first.judged.water_l.sum())
    cost_l = first.cost_l + max(mended_l, 0.0)
    return replace(best, cost_l=cost_l), of_best


def _drier(one_mm: np.ndarray, other_mm: np.ndarray) -> np.ndarray:
    """Of two grounds the drier, by part and month: depletion with year and quarter.

    Ground that is wetter than the table's would be drawn down month by month.
    """
    lacks = [
        mm[..., WETTER].mean(axis=(2, 3), keepdims=True) for mm in (one_mm, other_mm)
    ]
    return np.where(lacks[0] > lacks[1], one_mm, other_mm)


def _as_card(
    prices: Prices,
    settings: Sequence[Setting],
    start: datetime.date,
    spared: np.ndarray | None = None,
) -> Card:
    """The card of settings, without the fillings that are `spared`, (zone, month)."""
    needs = prices.needs
    now = next(r for r, s in enumerate(settings) if start.month - 1 in s.months)
    settings = [*settings[now:], *settings[:now]]
    # What no longer runs before the next visit is keyed in when it comes round.
    if not (needs.carries_steps or _runs_from(settings[0], start.month - 1)):
        settings = [*settings[1:], settings[0]]
    dates = _dates(needs, settings, start)
    visits = [_visit(needs, *each) for each in zip(settings, dates, strict=True)]
    schedule = _schedule(needs, visits)
    by_hand = tuple(
        hand for setting in settings for hand in started_by_hand(prices, setting)
    )
    judged = judge(needs, settings, schedule, by_hand, spared)
    cost = sum(setting.cost for setting in settings)
    return Card(tuple(visits), schedule, by_hand, judged, 0.0, cost, start)


def _runs_in(setting: Setting, month: int) -> bool:
    """Whether a program runs in a month of a stretch."""
    at = setting.months.index(month)
    return any(bool(group.percent[at]) for group in setting.groups)


def _runs_from(setting: Setting, month: int) -> bool:
    """Whether a program runs in a month of a stretch, or in one to come of it."""
    to_come = setting.months[setting.months.index(month) :]
    return any(_runs_in(setting, month) for month in to_come)


def _runs(needs: CardNeeds, program: Program, percent: float) -> np.ndarray:
    """Minutes that one start runs each zone of a program at a percent."""
    base = np.array(program.base_min)
    return run_steps(base / needs.minute_step, np.array(percent)) * needs.minute_step


def _schedule(needs: CardNeeds, visits: Sequence[Visit]) -> Schedule:
    """What runs when, once the visits are keyed in, and again as they come round."""
    rules: list[CardRule] = []
    for visit, program in ((v, p) for v in visits for p in v.programs):
        program = dated(program, range(1, 13), visit.date, program.first_date)
        for percent in sorted({*program.percent.values()} - {0.0}):
            runs = _runs(needs, program, percent)
            rules += _rules(needs, program, percent, runs.tolist())
    return Schedule.from_card(rules)


def _rules(
    needs: CardNeeds, program: Program, percent: float, runs_min: Sequence[float]
) -> Iterator[CardRule]:
    """A rule for each zone of a program that runs in the months of a percent."""
    pattern, before_min = program.pattern, 0.0
    for zone, run, cycle, soak in zip(
        program.zones, runs_min, program.cycle_min, program.soak_min, strict=True
    ):
        if run <= 0:
            continue
        cycles = int(ceil_(np.array(run / cycle))) if cycle else 1
        yield CardRule(
            zone,
            tuple(m for m, own in program.percent.items() if own == percent),
            pattern.weekdays,
            pattern.parity,
            pattern.every_days,
            program.first_date,
            pattern.days_per_week,
            tuple(start + before_min for start in program.starts_min),
            cycles,
            run / cycles,
            soak if cycles > 1 else 0.0,
        )
        # In the first round of a controller that splits runs, each has one cycle.
        before_min += min(run, cycle or run) + needs.controller.gap_s / S_PER_MIN


def _dates(
    needs: CardNeeds, settings: Sequence[Setting], start: datetime.date
) -> Iterator[datetime.date]:
    """Dates of visits that follow each other from `start` on.

    By the first of their first month, or of the first in which something runs, where
    nothing does before it; the first on `start` itself where its months have begun.
    """
    for row, setting in enumerate(settings):
        months, before = setting.months, settings[row - 1]
        if not row and start.month - 1 in months:
            date = start
            at = months.index(start.month - 1)
            months = (*months[at:], *(months[:at] if len(months) == 12 else ()))
        else:
            date = first_of(months[0] + 1, start + ONE_DAY if row else start)
        idle = not row or not _runs_in(before, before.months[-1])
        to_come = (month for month in months if _runs_in(setting, month))
        month = next(to_come, months[0])
        if idle and month + 1 != date.month and not needs.carries_steps:
            date = first_of(month + 1, date)
        yield filled_on(needs.lines_empty, date)


def _visit(needs: CardNeeds, setting: Setting, date: datetime.date) -> Visit:
    """A visit by a date."""
    parts = []
    for group, placed in zip(setting.groups, setting.placed, strict=True):
        parts += _programs(needs, setting, group, placed, date)
    parts.sort(key=lambda part: (needs.station[part.zones[0]], part.starts_min))
    named = tuple(replace(part, name=_letter(row)) for row, part in enumerate(parts))
    return Visit(tuple(month + 1 for month in setting.months), named, date)


def _programs(
    needs: CardNeeds,
    setting: Setting,
    group: Group,
    placed: Placed,
    date: datetime.date,
) -> list[Program]:
    """A group as one program, or several alike where it has more starts than one."""
    most = int(needs.controller.starts)
    order = np.argsort(needs.station[list(group.zones)], kind="stable")
    zones = np.array(group.zones)[order]
    runs = group.largest_runs()[order]
    cycles = keyed_cycles(needs, zones.tolist(), group.runs()[order])
    soaks = needs.soak_min(zones, cycles, runs * group.starts)
    splits = (cycles < runs) & bool(needs.controller.soak_built_in)
    months = [month + 1 for month in setting.months]
    starts = sorted(start % DAY_MIN for start in placed.starts_min)
    whole = Program(
        "",
        placed.pattern,
        None,
        tuple(starts),
        tuple(zones.tolist()),
        tuple((group.base_steps[order] * needs.minute_step).tolist()),
        tuple((cycles * splits * needs.minute_step).tolist()),
        tuple((soaks * splits).tolist()),
        placed.minutes,
        dict(zip(months, group.percent.tolist(), strict=True)),
    )
    whole = dated(whole, months, date)
    return [
        replace(whole, starts_min=tuple(starts[first : first + most]))
        for first in range(0, len(starts), most)
    ]


def _letter(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"A{row - 25}"
