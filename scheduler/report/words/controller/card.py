"""The controller card in words: what to key in, and what it gives."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Mapping, Sequence
from typing import Protocol

from scheduler.calendar import ALL_WEEK, PARITIES
from scheduler.plan.card.judged import Broken
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, Visit, first_dates
from scheduler.plan.card.ways_out import WayOut
from scheduler.plan.site import SitePlan
from scheduler.plan.times.patterns import Pattern
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.counting import counted, listed, named, of_hundred, spelled
from scheduler.report.frames import Headings


class Percent(Protocol):
    """A percent of a month; where steps end in it, `until` when, and what is `then`."""

    @property
    def percent(self) -> float:
        """What holds, until that date if there is one."""

    @property
    def until(self) -> datetime.date | None:
        """Date on which another percent is set; None: it holds all month."""

    @property
    def then(self) -> float:
        """What is set on that date."""


COLUMNS = Headings(
    {
        "visit": "visit",
        "months": "months",
        "program": "program",
        "days": "days",
        "parity": "parity",
        "every_days": "every days",
        "first_date": "first date",
        "starts": "starts",
        "station": "station",
        "zone": "zone",
        "of": "",
        "name": "name",
        "base_minutes": "run min",
        "cycle_minutes": "cycle min",
        "soak_minutes": "soak min",
        **{f"{month.lower()}_percent": f"{month} %" for month in shown.MONTH_LABELS},
        "from": "from",
        "then_percent": "then %",
        "asked": "asked",
        **{month.lower(): month for month in shown.MONTH_LABELS},
    }
)
OF_CARD, OF_TABLE = "card", "table"
OF_ZONES = Headings({"zone": "zone", "card": "card", "table": "table"})
WATER_SHEET, ALL_ZONES = "Water of a year", "all zones"
BESIDE = "Minutes of a watering day, by card and table"
DRY = "Dry days of a hundred, by card and table"
NOT_KEPT = "What this card does not keep"
WAYS_OUT = "Ways out, each of them tried"
BROKEN = "Some limits are not kept: see the end."
BY_HAND, FILL_BY_HAND = "by hand", "fill by hand"
"""What stands for the program of a zone that is started by hand, and that is filled."""
OFF_UNTIL = "off until the next visit"
_TRIFLE_PERCENT = 0.05
_MOST_LATER = 6
_FIRST_DAYS = 3
_MOST_LEFT_OUT = 3
"""Weekdays that are named as left out; where more are, those that water are named."""
"""Dates of an interval after the first that are all told."""
DAYS, STARTS, PERCENT = "Days", "Starts", "Percent"
"""Labels of what is keyed into a program."""
NOTHING_RUNS = "Nothing runs: turn the controller off, and on at the next visit."


def title(site: str) -> str:
    """Heading of the card."""
    return f"Controller card: {site}"


def program_title(name: str) -> str:
    """Heading of a program."""
    return f"Program {name}"


_FEWER = {
    "limits": "With more, a limit would be broken that is kept so.",
    "trifle": "More would save next to nothing.",
    "hand": "With more, more dry ground would have to be filled by hand.",
}
"""Why a card has fewer visits than were asked for."""


def facts(plan: SitePlan, card: Card, units: str) -> str:
    """What the card gives beside the table, in a few sentences."""
    judged = card.judged
    visits = spelled(len(card.visits), "visit")
    fewer = f" {_FEWER[card.fewer]}" if card.fewer else ""
    water = shown.quantity(float(judged.water_l.sum()), "volume", units)
    lines = [
        f"{visits[:1].upper()}{visits[1:]} a year.{fewer} The zones get {water}, "
        f"{_beside(judged.extra_water_percent)} by the table.",
        f"Plants go short on {of_hundred(judged.dry_days_percent() / 100)} (by the "
        f"table {judged.dry_days_percent(of_table=True):.0f})"
        f"{_driest(plan, card)}.",
    ]
    if judged.shallowest is not None:
        zone, month, share = judged.shallowest
        lines.append(
            f"The shallowest watering lays down {share:.2f} of the table's depth (zone "
            f"{plan.site.zones.zone[zone]} in {shown.MONTH_LABELS[month - 1]})."
        )
    if judged.shortest_run_min is not None:
        lines.append(
            f"The shortest run is {shown.minutes(judged.shortest_run_min)} min."
        )
    if judged.broken:
        return " ".join([*lines, BROKEN])
    if card.gap_percent < _TRIFLE_PERCENT:
        return " ".join([*lines, "No card with as many visits does better."])
    lines.append(
        "No card with as many visits does better by more than "
        f"{card.gap_percent:.1f} % of the table's water."
    )
    return " ".join(lines)


def _driest(plan: SitePlan, card: Card) -> str:
    """Zone and month that the card keeps the driest."""
    judged = card.judged
    if judged.driest is None:
        return ""
    zone, month, share = judged.driest
    of_table = float(judged.table_dry[zone, month - 1])
    return (
        f", the most in zone {plan.site.zones.zone[zone]} in "
        f"{shown.MONTH_LABELS[month - 1]}, {100 * share:.0f} (by the table "
        f"{100 * of_table:.0f})"
    )


def _beside(extra_percent: float) -> str:
    """Water beside the table's in words."""
    if abs(extra_percent) < _TRIFLE_PERCENT:
        return "as much as"
    more = "more than" if extra_percent > 0 else "less than"
    return f"{abs(extra_percent):.1f} % {more}"


def how_to(
    plan: SitePlan,
    trial: tuple[float, float, float] | None = None,
    intervals: bool = False,
    side_by_side: bool = False,
    by_hand: bool = False,
    some_dates: bool = False,
    open_who: bool = True,
    coded: bool = True,
) -> list[str]:
    """What to do at a visit, and between visits.

    `trial` is a run, a percent and what becomes of the run where a half goes up;
    `intervals` is whether a program waters every so many days, `side_by_side` whether
    programs run while others do, `by_hand` whether something is started by hand,
    `some_dates` whether a program waters on some weekdays of odd or even dates,
    `open_who` whether nobody is named yet who sets the percents, `coded` whether the
    key is told by which the site's file says what a controller does.
    """
    by = plan.site.controller.percent_by
    step = plan.site.controller.minute_step
    at = "" if by == "none" else " at 100 %"
    splits = plan.site.controller.soak_built_in
    kept = " Cycle and soak stay as keyed at any percent." if splits and at else ""
    if splits:
        kept += " Where they are blank a run is not split: clear what stands there."
    whole = "minute" if step == 1 else f"{shown.minutes(step)} min"
    now = "" if by == "none" else _NOW
    alone = _ALONE if by == "none" else _ALONE_AT
    lines = [
        _made_for(plan),
        "At a visit: clear every program, then key in its block below, top to bottom."
        f"{now}",
        f"Run times are those of one start{at}; a start runs all zones in order.{kept}",
        "Clock times count from 00:00, midnight as the day begins. "
        + (_beside_others(plan) if side_by_side else alone)
        + " controllers then keep it for later or leave it out.",
    ]
    if some_dates:
        lines.append(
            "The card counts on a controller that leaves weekdays out on odd or even "
            "dates: see that it does, before you key anything in; else ask for a card "
            f"made for that{' (weekdays_on_odd_even = false)' * coded}."
        )
    if splits:
        lines.append(
            "Cycle and soak: the card counts on a controller that goes through the "
            "zones in order, a cycle each, and round again: others run in a zone's "
            "soak. Try it with two zones. One that ends each zone first takes longer "
            "than told here: ask for a card made for that"
            f"{' (soak_built_in = false)' * coded}."
        )
    if intervals:
        off = (
            "In a month at 0 % nothing runs on it. At 0 % or off" if at else "When off"
        )
        lines.append(
            "Every so many days: key in the first date, or the days to it (tomorrow is "
            "1); where you come so early that it is over an interval away, an interval "
            f"less. {off} some controllers count on, some begin anew: after that, look "
            "which day is next, and key in the next date again."
        )
    if by == "none":
        return lines
    all_ = " (one for the whole controller)" if by == "controller" else ""
    return [
        *lines,
        "On the first of each month until the next visit, or the evening before: set "
        f"the percents{all_}{_AND_BY_HAND if by_hand else ''}, nothing else"
        f"{_BUT_DATES if intervals else ''}.{_AGREE if open_who else ''}",
        "The card counts on a controller that rounds a run at a percent to the nearest "
        f"{whole}.{'' if trial is None else _tried(*trial)}",
    ]


def _made_for(plan: SitePlan) -> str:
    """What the card counts on in a controller."""
    controller = plan.site.controller
    has = [
        counted(int(controller.programs), "program"),
        f"{counted(int(controller.starts), 'start')} in each",
    ]
    if controller.percent_by != "none":
        whose = "each program" if controller.percent_by == "program" else "all programs"
        has.append(f"a percent for {whose} in steps of {controller.percent_step:g} %")
    if controller.gap_s:
        has.append(f"{controller.gap_s:g} s between valves")
    return f"Made for a controller of {listed(has)}; for another have it made anew."


_BUT_DATES = " but a next date that is no longer right"
_AGREE = " Agree with the owner who does it."
_AND_BY_HAND = ", and start by hand what the visit says for that month"
_NOW = (
    " Set the percents of the month it is; where you come some days before the visit's "
    "first month, those of that month."
)
_ALONE = "No start here falls into a run; after a start by hand one may, and"
_ALONE_AT = (
    "No start here falls into a run at the percents named; at higher ones, or after a "
    "start by hand, one may, and"
)


def _beside_others(plan: SitePlan) -> str:
    at_once = f"{plan.site.controller.zones_at_once:g}"
    return (
        f"Programs run side by side here, at most {at_once} zones at once: set the "
        f"controller to that, else a start falls into a run, and"
    )


def _tried(base_min: float, percent: float, run_min: float) -> str:
    """How to see whether a controller rounds a half up."""
    exact = shown.minutes(base_min * percent / 100)
    return (
        f" Try it: key in {shown.minutes(base_min)} min, set {percent:g} % and start "
        f"it: {exact} min are to run as {shown.minutes(run_min)}. One that cuts off "
        "waters that much less a start: no harm to long runs."
    )


def visit_title(number: int, visits: int, visit: Visit, off_until: bool = False) -> str:
    """Heading of a visit: its number, when, and for which months.

    `off_until`: nothing runs until then.
    """
    told = shown.months_text(list(visit.months))
    date = shown.date_text(visit.date)
    when = f"key in today, {date}" if number == 1 else f"by {date}"
    until = "; until then nothing to key in, controller off" if off_until else ""
    if off_until:
        when = f"on {date}"
    return f"Visit {number} of {visits}: {when}, for {told}{until}"


def starts(program: Program) -> str:
    """Start times of a program, and how long each may take."""
    told = ", ".join(clock_text(start) for start in program.starts_min)
    return f"{told} (each takes up to {program.minutes} min)"


def first_days(program: Program, months: Sequence[int], since: datetime.date) -> str:
    """The first dates of a program on some weekdays of odd or even dates."""
    if not program.pattern.some_dates:
        return ""
    found = [*itertools.islice(first_dates(program, months, since), _FIRST_DAYS)]
    return f", first on {shown.days_named(found)}" if found else ""


def days(program: Program, *, later: bool = True) -> str:
    """Watering days of a program; of an interval its first date, and `later` ones."""
    pattern = program.pattern
    if pattern.every_days:
        begins = OFF_UNTIL
        if program.first_date is not None:
            begins = f"first on {shown.day_text(program.first_date)}"
            if not program.waters(program.first_date):
                begins += " (at 0 %)"
            begins += _later(program) if later else ""
            runs = [day for day in program.interval_dates() if program.waters(day)]
            if not later and runs:
                begins = f"first on {shown.day_text(runs[0])}"
        return f"every {pattern.every_days} days, {begins}"
    if pattern.some_dates:
        return _some_dates(pattern)
    return shown.days_text(pattern.weekdays, pattern.parity, 0)


def _some_dates(pattern: Pattern) -> str:
    """Odd or even dates of some weekdays: those left out, where they are fewer."""
    dates = f"{PARITIES[pattern.parity]} dates"
    left_out = ALL_WEEK & ~pattern.weekdays
    if left_out.bit_count() <= _MOST_LEFT_OUT:
        return f"{dates}, not on {shown.days_text(left_out, 0, 0)}"
    *more, last = shown.days_text(pattern.weekdays, 0, 0).split()
    names = f"{', '.join(more)} or {last}" if more else last
    return f"{dates} that are {names}"


def _later(program: Program) -> str:
    """Dates after the first that it runs on: all where few, else each month's first."""
    first, *_ = dates = program.interval_dates()
    later = [day for day in dates[1:] if program.percent[day.month]]
    more = ""
    if len(later) > _MOST_LATER:
        more = " …"
        opening = [
            day
            for before, day in itertools.pairwise([first, *later])
            if day.month != before.month
        ]
        later = sorted({later[0], *opening})
    told = [
        f"{listed([str(day.day) for day in days])} {shown.MONTH_LABELS[month]}{more}"
        for month, days in itertools.groupby(later, lambda day: day.month - 1)
    ]
    return f", then {', '.join(told)}" if told else ""


def percents(found: Mapping[int, Percent]) -> str:
    """Month percents in the order of the months; months that are off together."""
    parts = []
    for off, months in itertools.groupby(found, lambda m: not found[m].percent):
        if off:
            parts.append(f"{shown.months_text(list(months))} 0 % (off)")
        else:
            parts += [f"{shown.MONTH_LABELS[month - 1]} {_percent(found[month])}"
                      for month in months]  # fmt: skip
    return ", ".join(parts)


def _percent(one: Percent) -> str:
    at = f"{one.percent:g} %"
    return at if one.until is None else f"{at} {until(one)}"


def until(one: Percent) -> str:
    """Until when the steps of new plantings hold a percent, and what comes then."""
    then = f"{one.then:g} %" if one.then else "off"
    date = "" if one.until is None else shown.date_text(one.until)
    return f"until {date}, then {then}"


def holds(name: str, one: Percent) -> str:
    """That steps hold a percent, beside a table of percents."""
    whose = name or "Every program"
    return f"* {whose} {one.percent:g} {until(one)}: the steps of new plantings."


def not_before(base_min: float, date: datetime.date) -> str:
    """Run time of a zone that has its steps until a date."""
    return f"0 until {shown.date_text(date)}, then {shown.minutes(base_min)}"


def from_date(title: str, date: datetime.date) -> str:
    """Heading of a program that carries steps until a date."""
    return f"{title}, from {shown.date_text(date)}; until then its steps"


def only_steps(names: Sequence[str], date: datetime.date) -> str:
    """That steps of new plantings alone run, where nothing else does."""
    return (
        f"Nothing runs but the steps of new plantings in {named('program', names)}: "
        f"leave the controller on until {shown.date_text(date)}, then turn it off, and "
        "on at the next visit."
    )


def depths(units: str) -> str:
    """Heading of the depths of a watering."""
    unit = shown.symbol("depth", units)
    return f"Depth of a watering day ({unit}), by card and table"


def broken_in_short(plan: SitePlan, broken: Sequence[Broken]) -> list[str]:
    """That the controller cannot water as planned, in a sentence; none if it can."""
    rows = sorted({one.zone for one in broken})
    zones = named("zone", [plan.site.zones.zone[row] for row in rows])
    if not rows:
        return []
    return [
        f"The controller cannot water {zones} as planned; its pages say when and how "
        "much. Watch for wilting, and ask for the ways out that card lists."
    ]


def way_out(plan: SitePlan, way: WayOut) -> str:
    """A change that was tried, and what it leaves."""
    zones = [plan.site.zones.zone[row] for row in way.zones]
    what = {
        "opens": f"windows that open at {way.value} already",
        "closes": f"windows that close at {way.value}",
        "dates": "all dates, in place of odd or even ones",
        "days": f"a day a week more ({way.value} days)",
        "programs": f"a controller with {way.value} programs",
        "at_once": f"{way.value} zones running at once, where the supply has the flow",
        "starts": f"a controller with {way.value} starts a program",
        "percent_by": "a controller with a percent for each program",
        "intervals": "a controller that takes intervals in days",
        "need": f"plants that need {way.value} % less, or fewer of them, on "
        f"{named('zone', zones)}",
    }[way.kind]
    if not way.left:
        return f"With {what} all limits are kept."
    return f"With {what} {100 * (1 - way.left):.0f} % of what is not kept goes away."
