"""What is started by hand: fillings of dry ground, and runs that no program holds."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence

from scheduler.calendar import DAY_MIN, ONE_DAY
from scheduler.plan.card.needs import Fill, Hand
from scheduler.plan.card.settings import days_on
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.counting import counted, listed
from scheduler.report.words.controller.card import OFF_UNTIL

_IN_THE_PAUSE = "In a pause others may run."
_ANY_HOUR, _MIDNIGHT = "any hour", "24:00"
_WHILE_OFF = "Start it while no program runs."

Spans = tuple[tuple[int, int], ...]
"""Hours of a day: from one minute after midnight to another."""


def fills(
    plan: SitePlan,
    month: int,
    dates: Mapping[Fill, Sequence[datetime.date]],
    hours: Mapping[Fill, Spans],
    programs_wait: bool,
) -> Iterator[str]:
    """Fillings as a month, 1 to 12, begins: what waits for them, then a line a date."""
    own = sorted({day for days in dates.values() for day in days})
    wait = _WHILE_OFF
    if programs_wait and own:
        wait = (
            "Until the last of these dates is over all programs wait, at 0 % or off; "
            f"set the month's percents on {shown.day_text(own[-1] + ONE_DAY)}."
        )
    pauses = f" {_IN_THE_PAUSE}" if any(fill.cycles > 1 for fill in dates) else ""
    yield (
        f"As {shown.MONTH_LABELS[month - 1]} begins, by hand, to fill the dry ground. "
        f"{wait}{pauses}"
    )
    for day in own:
        mine = [fill for fill, days in dates.items() if day in days]
        yield f"{shown.day_text(day)}{_at_hours(plan, mine, hours)}."
    late = [fill for fill, days in dates.items() if len(days) < fill.days]
    for count in sorted({fill.days - len(dates[fill]) for fill in late}):
        mine = [fill for fill in late if fill.days - len(dates[fill]) == count]
        what = "more permitted day" if any(map(dates.get, mine)) else "permitted day"
        yield f"On {counted(count, what)}{_at_hours(plan, mine, hours)}."


def _at_hours(
    plan: SitePlan, fills: Sequence[Fill], hours: Mapping[Fill, Spans]
) -> str:
    """Runs of a day by the hours that are permitted for them."""
    by_hours: dict[Spans, dict[str, list[int]]] = {}
    for fill in fills:
        alike = by_hours.setdefault(hours[fill], {})
        alike.setdefault(cycles(fill), []).append(fill.zone)
    told = []
    for spans, alike in by_hours.items():
        runs = [f"{_stations(plan, rows)} for {run}" for run, rows in alike.items()]
        told.append(f"{_spans(spans)}: {'; '.join(runs)}")
    return f", {'; '.join(told)}"


def _spans(spans: Spans) -> str:
    """Hours of a day: `00:00-07:00 or 20:00-24:00`."""
    if spans == ((0, DAY_MIN),):
        return _ANY_HOUR
    ends = (f"{clock_text(a)}-{_MIDNIGHT if b == DAY_MIN else clock_text(b)}"
            for a, b in spans)  # fmt: skip
    return " or ".join(ends)


def _stations(plan: SitePlan, rows: Sequence[int]) -> str:
    zones = plan.site.zones
    if len(rows) == 1:
        return f"station {int(zones.station[rows[0]])} {zones.name[rows[0]]}"
    return f"stations {listed([str(int(zones.station[row])) for row in rows])}"


def by_hand(
    plan: SitePlan,
    months: Sequence[int],
    hands: Sequence[Hand],
    since: datetime.date,
) -> Iterator[str]:
    """Waterings of some months that are started by hand, a line for a zone.

    The first date of each zone is on `since` or after it, and before the next visit.
    """
    zones = plan.site.zones
    mine = [hand for hand in hands if hand.month in months]
    for zone in dict.fromkeys(hand.zone for hand in mine):
        of_zone = [hand for hand in mine if hand.zone == zone]
        alike: dict[str, list[int]] = {}
        for hand in of_zone:
            alike.setdefault(_runs(hand), []).append(hand.month)
        told = "; ".join(f"{shown.months_text(m)} {run}" for run, m in alike.items())
        first = next(
            (
                day
                for day in days_on(months, since)
                for hand in of_zone
                if day.month == hand.month and hand.weekdays >> day.weekday() & 1
            ),
            None,
        )
        begins = OFF_UNTIL if first is None else f"first on {shown.day_text(first)}"
        label = shown.zone_label(zones.zone[zone], zones.name[zone])
        yield f"By hand, zone {label}: {told}; {begins}."


def _runs(hand: Hand) -> str:
    return f"{cycles(hand)}, {shown.days_text(hand.weekdays, 0, hand.every_days)}"


def cycles(run: Hand | Fill) -> str:
    """Cycles of a run by hand: `3 × 12 min, 45 min between`."""
    minutes = shown.minutes(run.cycle_min)
    if run.cycles == 1:
        return f"{minutes} min"
    soak = shown.minutes(run.soak_min)
    return f"{run.cycles} × {minutes} min, {soak} min between"
