"""What is started by hand: fillings of dry ground, and runs that no program holds."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence

from scheduler.calendar import DAY_MIN, ONE_DAY
from scheduler.plan.card.after.fillings import Filling, Spans
from scheduler.plan.card.needs import Fill, Hand
from scheduler.plan.card.settings import dates_by_hand
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.counting import counted, listed
from scheduler.report.words.controller.card import OFF_UNTIL

_BY_HAND = "to fill the dry ground; in a pause others run."
_AS_PROGRAM = (
    "to fill the dry ground: start each line, or key it in as a program at 100 % that "
    "runs on its date alone (say every 30 days, first on that date), and clear it "
    "after."
)
_ANY_HOUR, _MIDNIGHT = "any hour", "24:00"
_WHILE_OFF = "Start it while no program runs."


def fills(
    plan: SitePlan,
    month: int,
    found: Sequence[Filling],
    late: Mapping[Fill, int],
    hours: Mapping[Fill, Spans],
    programs_wait: bool,
) -> Iterator[str]:
    """Fillings as a month, 1 to 12, begins: what waits for them, then a line each.

    `late` are days on which there is no room yet, by fillings.
    """
    wait = _WHILE_OFF
    if programs_wait and found:
        ready = shown.day_text(found[-1].date + ONE_DAY)
        wait = (
            "Until the last of them is over all programs wait, at 0 % or off; set the "
            f"month's percents on {ready}."
        )
        if plan.site.controller.percent_by == "none":
            wait = f"Until the last of them is over leave programs off, to {ready}."
    splits = plan.site.controller.soak_built_in and found
    how = _AS_PROGRAM if splits else _BY_HAND
    yield f"As {shown.MONTH_LABELS[month - 1]} begins, by hand, {how} {wait}"
    for one in found:
        runs = _runs_of(plan, one.fills, split=bool(splits))
        clock = f"{clock_text(one.start_min)}-{clock_text(one.end_min % DAY_MIN)}"
        yield f"{shown.day_text(one.date)}, {clock}: {runs}."
    for count in sorted({*late.values()} - {0}):
        mine = [fill for fill in late if late[fill] == count]
        more = any(fill in one.fills for one in found for fill in mine)
        what = "more permitted day" if more else "permitted day"
        yield f"On {counted(count, what)}{_at_hours(plan, mine, hours)}."


def _at_hours(
    plan: SitePlan, fills: Sequence[Fill], hours: Mapping[Fill, Spans]
) -> str:
    """Runs of a day by the hours that are permitted for them."""
    by_hours: dict[Spans, list[Fill]] = {}
    for fill in fills:
        by_hours.setdefault(hours[fill], []).append(fill)
    told = [f"{_spans(s)}: {_runs_of(plan, own)}" for s, own in by_hours.items()]
    return f", {'; '.join(told)}"


def _runs_of(plan: SitePlan, fills: Sequence[Fill], *, split: bool = False) -> str:
    """Runs one after another; `split`: as a controller takes cycle and soak."""
    alike: dict[str, list[int]] = {}
    for fill in fills:
        run = _keyed(fill) if split else cycles(fill)
        alike.setdefault(run, []).append(fill.zone)
    return "; ".join(
        f"{_stations(plan, rows)} for {run}" for run, rows in alike.items()
    )


def _keyed(run: Fill) -> str:
    """Run as it is keyed in: `144 min (cycle 36, soak 75)`."""
    minutes = shown.minutes(run.cycles * run.cycle_min)
    if run.cycles == 1:
        return f"{minutes} min"
    cycle, soak = shown.minutes(run.cycle_min), shown.minutes(run.soak_min)
    return f"{minutes} min (cycle {cycle}, soak {soak})"


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
    starts_min: Mapping[Hand, int | None],
) -> Iterator[str]:
    """Waterings of some months that are started by hand, a line for a zone.

    The first date of each zone is on `since` or after it, and before the next visit;
    `starts_min` are minutes of the day from which each has room, where one has.
    """
    zones = plan.site.zones
    mine = [hand for hand in hands if hand.month in months]
    for zone in dict.fromkeys(hand.zone for hand in mine):
        of_zone = [hand for hand in mine if hand.zone == zone]
        alike: dict[str, list[int]] = {}
        for hand in of_zone:
            run = f"{_runs(hand)}{_from(starts_min[hand])}"
            alike.setdefault(run, []).append(hand.month)
        told = "; ".join(f"{shown.months_text(m)} {run}" for run, m in alike.items())
        dates = dates_by_hand(of_zone, months, since)
        begins = OFF_UNTIL
        if dates:
            first, *later = dates
            begins = f"first on {shown.day_text(first)}"
            if later:
                begins += f", then {listed([shown.date_text(day) for day in later])}"
        label = shown.zone_label(str(int(zones.station[zone])), zones.name[zone])
        yield f"By hand, station {label}: {told}; {begins}."


def _from(start_min: int | None) -> str:
    if start_min is None:
        return ", while no program runs"
    return f", from {clock_text(start_min)}"


def _runs(hand: Hand) -> str:
    return f"{cycles(hand)}, {shown.days_text(hand.weekdays, 0, hand.every_days)}"


def cycles(run: Hand | Fill) -> str:
    """Cycles of a run by hand: `3 × 12 min, 45 min between`."""
    minutes = shown.minutes(run.cycle_min)
    if run.cycles == 1:
        return f"{minutes} min"
    soak = shown.minutes(run.soak_min)
    return f"{run.cycles} × {minutes} min, {soak} min between"
