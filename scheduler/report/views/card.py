"""The controller card to key in from: blocks, a table for CSV, and data."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction

import numpy as np

from scheduler.calendar import ONE_DAY
from scheduler.cautions import HARD_LIMITS, Caution
from scheduler.demand.frost import season_on
from scheduler.plan.card.after.fillings import (
    dates_of_fills,
    fill_hours,
    fillings,
    goes_on,
    starts_by_hand,
)
from scheduler.plan.card.judged import Broken
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, Visit, counted_from, days_on
from scheduler.plan.card.ways_out import WayOut
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import (
    Block,
    Entry,
    Heading,
    Notes,
    Paragraph,
    sections,
)
from scheduler.report.frames import Table
from scheduler.report.views.controller.keyed import minutes_or_blank
from scheduler.report.views.plantings import card as plantings
from scheduler.report.views.plantings import held
from scheduler.report.words import frost, sentences
from scheduler.report.words import plantings as young
from scheduler.report.words.controller import card as words
from scheduler.report.words.controller import hands, notes
from scheduler.report.words.pages.door import says_who_sets

FROST_CODES = ("frost-month", "frost-nights")
"""Cautions that people have to know at the controller."""
_HALF, _TRIED_STEPS = 50.0, 5
"""Percent and steps of a run to try by, where the controller takes them."""
_SOON_DAYS = 7
"""Days within which who comes for one visit might as well come for the next."""


def blocks(
    plan: SitePlan, card: Card, units: str, ways: Sequence[WayOut] = ()
) -> list[Block]:
    """The card to be read once, top to bottom, while it is keyed in."""
    parts: list[Block] = [
        Heading(
            words.title(plan.site.name),
            1,
            [
                *soon(card),
                *decision(plan, card, units),
                *_once(plan),
                words.facts(plan, card, units),
            ],
        ),
        Notes(how_to(plan, card, card.visits, coded=True)),
    ]
    parts += plantings.blocks(plan, card)
    for row, visit in enumerate(card.visits):
        parts.append(Heading(visit_title(plan, card, row), 2))
        parts += [
            Entry(
                program_title(plan, card, program),
                program_lines(plan, card, visit, program),
                run_times(plan, card, program),
            )
            for program in visit.programs
        ]
        told = visit_lines(plan, card, visit)
        by_hand = hand_lines(plan, card, visit.months, visit.date)
        parts += [Paragraph(lines) for lines in (told, by_hand) if lines]
    for title, table in beside_table(plan, card, units):
        parts += [Heading(title, 2), table]
    parts += sections(
        [
            (words.NOT_KEPT, sentences.grouped(broken(plan, card), units)),
            (words.WAYS_OUT, [words.way_out(plan, way) for way in ways]),
            (frost.TITLE, frost_lines(plan, units)),
            (sentences.CAUTIONS, [*hard_cautions(plan, units), *_hidden(plan, units)]),
        ]
    )
    can_freeze = plan.site.lines_can_freeze is not False
    return [*parts, *map(Paragraph, sentences.closing(plan.cautions, can_freeze))]


def not_kept(plan: SitePlan, card: Card, units: str) -> list[str]:
    """What neither the table nor the card can promise."""
    return [
        *hard_cautions(plan, units, coded=False),
        *words.broken_in_short(plan, card.judged.broken),
    ]


def how_to(
    plan: SitePlan, card: Card, visits: Sequence[Visit], *, coded: bool = False
) -> list[str]:
    """What to do at visits and between them, with a run to try the rounding by.

    `coded`: what to say in the site's file is told by its key.
    """
    programs = [program for visit in visits for program in visit.programs]
    every = has_intervals(visits)
    some = any(program.pattern.some_dates for program in programs)
    beside = any(visit.side_by_side() for visit in visits)
    months = {month for visit in visits for month in visit.months}
    hands = {run.month for run in card.by_hand}
    hands |= {fill.month for fill in card.judged.filled}
    by_hand = not hands.isdisjoint(months) or any(
        plantings.by_hand_on(group, visit.date)
        for group in plantings.programs(plan, card)
        for visit in visits
    )
    who = any(says_who_sets(key) for key, _ in plan.site.door)
    trial = _trial(plan)
    return words.how_to(plan, trial, every, beside, by_hand, some, not who, coded)


def has_intervals(visits: Sequence[Visit]) -> bool:
    """Whether a program waters every so many days."""
    return any(program.first_date for v in visits for program in v.programs)


def _trial(plan: SitePlan) -> tuple[float, float, float] | None:
    """A run, a percent and what it rounds to where a half goes up; None: none halves.

    Runs of some steps, and percents the nearest to a half first.
    """
    step = float(plan.site.controller.minute_step)
    every = float(plan.site.controller.percent_step)
    percents = [every * count for count in range(1, int(100 / every) + 1)]
    for percent in sorted(percents, key=lambda percent: abs(percent - _HALF)):
        for steps in range(_TRIED_STEPS, 3 * _TRIED_STEPS):
            exact = Fraction(steps) * Fraction(percent) / 100
            if exact.denominator == 2:
                return steps * step, percent, float(exact + Fraction(1, 2)) * step
    return None


def limits_of(plan: SitePlan, card: Card, visit: Visit, units: str) -> list[str]:
    """Limits that table and card do not keep in the months of a visit, a line each.

    What harms most comes first; what is not told by its harm, before all.
    """
    ranked = [(_harm(c), c) for c in plan.cautions if c.code in HARD_LIMITS]
    ranked += [(one.harm, _broken(plan, one)) for one in card.judged.broken]
    ranked.sort(key=lambda pair: -pair[0])
    mine = [c for _, c in ranked if c.month is None or c.month in visit.months]
    return sentences.grouped(mine, units, coded=False)


def _harm(caution: Caution) -> float:
    """Days in a hundred that a caution is over its limit; without end if no days."""
    if "dry_share" not in caution.values:
        return math.inf
    return 100 * float(caution.values["dry_share"] - caution.values["most_dry"])


def broken(plan: SitePlan, card: Card) -> tuple[Caution, ...]:
    """Limits of the table that the card does not keep."""
    return tuple(_broken(plan, one) for one in card.judged.broken)


def _broken(plan: SitePlan, one: Broken) -> Caution:
    zone, share = plan.site.zones.zone[one.zone], {"share_of_table": one.value}
    if one.what == "shallow":
        return Caution("card-shallow", zone, one.month, share)
    if one.what == "deep":
        return Caution("card-deep", zone, one.month, share)
    values = {"dry_share": one.value, "most_dry": one.limit}
    return Caution("card-dry", zone, one.month, values)


def hand_lines(
    plan: SitePlan, card: Card, months: Sequence[int], since: datetime.date
) -> list[str]:
    """What is started by hand in some months, with first dates `since` a date."""
    visit = next(v for v in card.visits if months[0] in v.months)
    told: list[str] = []
    to_come = {day.month for day in days_on(months, since)}
    for month in months:
        mine = [fill for fill in card.judged.filled if fill.month == month]
        if mine and month in to_come:
            found, wait = fillings(plan, visit, mine, months, since)
            dates = dates_of_fills(mine, found)
            late = {fill: fill.days - len(days) for fill, days in dates.items()}
            hours = {fill: fill_hours(plan, fill, since.year) for fill in mine}
            told += hands.fills(plan, month, found, late, hours, wait)
    by_hand = [hand for hand in card.by_hand if hand.month in months]
    starts = starts_by_hand(plan, visit, by_hand, since)
    return [*told, *hands.by_hand(plan, months, card.by_hand, since, starts)]


def visit_lines(plan: SitePlan, card: Card, visit: Visit) -> list[str]:
    """What a visit is told beside its programs: nights in common, midday, off."""
    return [
        *notes.not_this_month(visit),
        *notes.resumes(visit.programs),
        *notes.never_above(visit),
        *notes.meetings(visit),
        *notes.at_midday(visit),
        *off_zones(plan, card, visit),
    ]


def soon(card: Card) -> list[str]:
    """That the second visit is due within days of the first."""
    visit, *later = card.visits
    days = (later[0].date - visit.date) // ONE_DAY if later else 0
    if visit.date > card.today or not (visit.programs and 0 < days <= _SOON_DAYS):
        return []
    return [notes.due_soon(later[0], 2, days)]


def beside_table(plan: SitePlan, card: Card, units: str) -> Iterator[tuple[str, Table]]:
    """Minutes and depth of a watering day, and dry days, each beside the table's."""
    judged, zones = card.judged, plan.site.zones
    dry = np.round(100 * np.stack([judged.dry, judged.table_dry]))
    pairs: tuple[tuple[str, np.ndarray, np.ndarray, Callable[[float], str]], ...] = (
        (words.BESIDE, judged.minutes, judged.table_minutes,
         lambda minutes: shown.minutes(minutes) if minutes else ""),
        (words.depths(units), judged.depth_mm, judged.table_mm,
         lambda mm: shown.amount(mm, "depth", units) if mm else ""),
        (words.DRY, dry[0], dry[1], lambda percent: f"{percent:.0f}"),
    )  # fmt: skip
    column = words.COLUMNS.column
    for title, mine, table, text in pairs:
        # A row of the card, and the table's under it.
        values = np.stack([mine, table], axis=1).reshape(-1, 12)
        columns = [
            column("zone", [cell for zone in zones.zone for cell in (zone, "")]),
            column("of", [words.OF_CARD, words.OF_TABLE] * len(zones)),
        ]
        for month, label in enumerate(shown.MONTH_LABELS):
            cells = [_cell(value, text) for value in values[:, month]]
            columns.append(column(label.lower(), cells))
        yield title, Table(tuple(columns))


def _cell(value: float, text: Callable[[float], str]) -> str:
    return "" if np.isnan(value) else text(float(value))


def hard_cautions(plan: SitePlan, units: str, coded: bool = True) -> list[str]:
    """What the watering table cannot promise, and so no card can."""
    hard = [caution for caution in plan.cautions if caution.code in HARD_LIMITS]
    return sentences.grouped(hard, units, coded)


def _hidden(plan: SitePlan, units: str) -> list[str]:
    """Rows of a workbook that nobody saw, and that were read all the same."""
    hidden = [caution for caution in plan.cautions if caution.code == "rows-hidden"]
    return sentences.grouped(hidden, units)


def frost_lines(plan: SitePlan, units: str, coded: bool = True) -> list[str]:
    """All that is known of frost, and what to do about it."""
    cold = [c for c in plan.cautions if c.code in FROST_CODES]
    season, known = plan.frost_season, plan.site.lines_can_freeze
    told = frost.climate_lines(plan.months, units, pipes=known is not False)
    off = [c for c in cold if c.code == "frost-month"]
    if coded:
        told = [*sentences.grouped(off, units), *told]
    elif off:
        told = [frost.nothing_runs([c.month for c in off if c.month]), *told]
    told += frost.to_do(season, known, frost_waters(plan), units)
    return told if season is None or known is False else [*told, frost.FORECAST]


def decision(
    plan: SitePlan, card: Card, units: str, date: datetime.date | None = None
) -> list[str]:
    """What is to be done about lines before anything is keyed in: drain, or decide.

    To be decided where the site does not say whether they can freeze, and something
    runs in months whose nights may. It holds for a date, else for the card's day.
    """
    season, waters = plan.frost_season, frost_waters(plan)
    known = plan.site.lines_can_freeze
    if season is None or known is False:
        return []
    today = date or card.today
    begins, ends = season_on(season, today)
    if known:
        return [frost.empty(season, begins, ends, today, units)]
    if not waters:
        return []
    after = (ends + ONE_DAY).month
    row = next(row for row, v in enumerate(card.visits) if after in v.months)
    then = frost.visit_then(row + 1, len(card.visits), after)
    told = frost.decide(begins, ends, today, then, waters, units)
    new = any(new.established and new.established > today for new in plan.plantings)
    return [f"{told} {young.BY_BUCKET}" if new else told]


def _once(plan: SitePlan) -> list[str]:
    """Where to say whether lines can freeze, if that is asked."""
    asks = plan.site.lines_can_freeze is None and frost_waters(plan)
    return [frost.SAY_ONCE] if asks and plan.frost_season is not None else []


def off_until(card: Card) -> datetime.date | None:
    """Date until which there is nothing to key in; None: there is today."""
    date = card.visits[0].date
    return date if date > card.today and card.visits[0].programs else None


def frost_waters(plan: SitePlan) -> list[int]:
    """Months, 1 to 12, that water although some of their nights freeze."""
    return [c.month for c in plan.cautions if c.code == "frost-nights" and c.month]


def visit_title(plan: SitePlan, card: Card, row: int) -> str:
    """Heading of a visit: when, and for which months."""
    until = not row and off_until(card) is not None
    return words.visit_title(row + 1, len(card.visits), card.visits[row], until)


def program_title(
    plan: SitePlan, card: Card, program: Program, since: datetime.date | None = None
) -> str:
    """Heading of a program, with the date until which it carries steps."""
    title = words.program_title(program.name)
    for one in held.held(plan, card, since):
        if one.name == program.name and any(map(one.holds, program.percent)):
            return words.from_date(title, one.until)
    return title


def program_lines(
    plan: SitePlan, card: Card, visit: Visit, program: Program
) -> list[tuple[str, str]]:
    """Days, start times and percents of a program, each with its label.

    No percents where the controller has none to set.
    """
    lines = [
        (words.DAYS, days(plan, card, visit, program)),
        (words.STARTS, words.starts(program)),
    ]
    if plan.site.controller.percent_by == "none":
        return lines
    found = held.percents(plan, card, visit)
    row = found.get(program.name) or found[""]
    return [*lines, (words.PERCENT, words.percents(row))]


def ready(plan: SitePlan, card: Card, visit: Visit) -> dict[int, datetime.date]:
    """Months whose programs wait for fillings, and the day on which they go on."""
    return goes_on(plan, visit, card.judged.filled, visit.months, visit.date)


def days(plan: SitePlan, card: Card, visit: Visit, program: Program) -> str:
    """Watering days of a program, the first of them where they are easily misread."""
    since = ready(plan, card, visit).get(visit.date.month)
    if since is not None:
        program = counted_from(program, since)
    since = since or visit.date
    return words.days(program) + words.first_days(program, visit.months, since)


def off_zones(plan: SitePlan, card: Card, visit: Visit) -> list[str]:
    """A sentence on zones that are in no program until the next visit, if any."""
    zones = plan.site.zones
    runs = {row for program in visit.programs for row in program.zones}
    runs |= {hand.zone for hand in card.by_hand if hand.month in visit.months}
    runs |= {
        new.zone
        for new in plan.plantings
        for step in new.steps
        if step.last >= visit.date and step.first.month in visit.months
    }
    off = [
        shown.zone_label(zone, zones.name[row])
        for row, zone in enumerate(zones.zone)
        if row not in runs
    ]
    if not visit.programs:
        return [nothing_runs(plan, card, visit.months)]
    return [notes.off_zones(off)] if off else []


def nothing_runs(plan: SitePlan, card: Card, months: Sequence[int]) -> str:
    """That nothing runs in months, or nothing but the steps of new plantings."""
    steps = [one for one in held.held(plan, card) if any(map(one.holds, months))]
    if not steps:
        return words.NOTHING_RUNS
    last = max(one.until for one in steps)
    return words.only_steps([one.name for one in steps], last)


def run_times(plan: SitePlan, card: Card, program: Program) -> Table:
    """Run times of a program, a row for each of its zones, in the order they run.

    A zone that has steps of its own waits until they end.
    """
    waits = held.waiting(plan, card, program, _begins(card, program))
    zones, column = plan.site.zones, words.COLUMNS.column
    rows = list(program.zones)
    columns = [
        column("station", [int(zones.station[row]) for row in rows]),
        column("zone", [zones.zone[row] for row in rows]),
        column("name", [zones.name[row] for row in rows]),
        column("base_minutes",
               [words.not_before(base, waits[row])
                if row in waits else base
                for row, base in zip(rows, program.base_min, strict=True)],
               text=minutes_or_blank),
    ]  # fmt: skip
    if any(program.cycle_min):
        columns += [
            column("cycle_minutes", program.cycle_min, text=shown.minutes_or_blank),
            column("soak_minutes", program.soak_min, text=shown.minutes_or_blank),
        ]
    return Table(tuple(columns))


def _begins(card: Card, program: Program) -> datetime.date:
    """Date of the visit at which a program is keyed in."""
    return next(v.date for v in card.visits if any(p is program for p in v.programs))
