"""New plantings in words: what was planted when, its steps, and what comes after."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence

from scheduler.calendar import DAY_MIN
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.plantings.steps import Planting, Step
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text, windows_in_force
from scheduler.report.counting import listed, named
from scheduler.report.frames import Headings
from scheduler.report.shown import (
    amount,
    date_text,
    days_text,
    hours_text,
    minutes,
    months_text,
    quantity,
    zone_title,
)

TITLE = "New plantings"
COLUMNS = Headings(
    {
        "from": "from",
        "to": "to",
        "days": "watering days",
        "starts": "starts",
        "minutes": "min a\nstart",
        "minutes_per_day": "min\na day",
        "apply_per_day": "apply\na day",
        "root_depth": "roots",
        "program": "program",
        "station": "station",
        "zone": "zone",
    }
)
OFF_FOR_FROST = "off: frost"
NO_DAYS, NONE_DUE = "not permitted", "none due"
AS_THE_TABLE = "as the table says"
BY_HAND = "by hand"
_PLANTED = {
    "seed": "seed sown",
    "sod": "sod laid",
    "plugs": "plugs set",
    "container": "container plants set",
    "bare-root": "bare-root plants set",
}
_WANTS = {
    "seed": "seed wants",
    "sod": "new sod wants",
    "plugs": "plugs want",
    "container": "new container plants want",
    "bare-root": "bare-root plants want",
}
_FIRST_DAY = {
    "seed": "Wet the seedbed through before it is sown, and keep its top moist",
    "sod": "Soak sod through on the day it is laid, into the ground under it",
    "plugs": "Soak plugs in on the day they are set",
    "container": "Soak the root balls in on the day of planting",
    "bare-root": "Soak the roots in at planting, and give little until leaves open",
}
_PERCENT = {
    "program": " at 100 %",
    "controller": " (at another percent than 100 key in 100 / percent times as much)",
    "none": "",
}
"""What the controller's percents do to steps, by what one applies to."""
_MOST_DATES = 6
BY_BUCKET = "New plants get their water by the bucket meanwhile."
RAIN = "Rain counts: leave a watering out while the ground is still wet."


def planted(stage: str, date: datetime.date) -> str:
    """What was planted, and when."""
    return f"{_PLANTED[stage]} {date_text(date)}"


def wants(stage: str) -> str:
    """What was planted, as one that wants something."""
    return _WANTS[stage]


def days(step: Step, since: datetime.date | None = None) -> str:
    """Watering days of a step; of an interval also the first from a day on."""
    if step.frost:
        return OFF_FOR_FROST
    if step.window is None or step.days is None:
        return NO_DAYS
    if not step.dates:
        short = (step.last - step.first).days + 1 < step.every_days
        return NONE_DUE if short else NO_DAYS
    told = days_text(step.days.weekdays, step.window.parity, step.days.every_days)
    if since is None or not step.days.every_days or not step.starts_min:
        return told
    # Who keys in does so by day: starts of that morning have gone by.
    morning = min(step.starts_min) < DAY_MIN // 2
    to_come = [
        day for day in step.dates if day > since or (day == since and not morning)
    ]
    return f"{told}, first on {_day(to_come[0])}" if to_come else told


def _day(date: datetime.date) -> str:
    return date_text(date).rpartition(" ")[0]


def starts(step: Step) -> str:
    """Starts of a watering day on the clock."""
    return " ".join(map(clock_text, step.starts_min))


def lead(planting: Planting) -> str:
    """That a zone is new, and until when its steps hold."""
    what = planted(planting.planted.stage, planting.planted.date)
    grown = date_text(planting.grown_in)
    if not planting.steps:
        return f"New planting: {what}; the table has held since {grown}."
    return (
        f"New planting: {what}. Until it has grown in these steps hold, the table "
        f"from {grown} on."
    )


def notes(plan: SitePlan, planting: Planting, units: str) -> Iterator[str]:
    """What is to be done beside the steps, and where they come from."""
    if planting.steps:
        first = f"{_FIRST_DAY[planting.planted.stage]}. "
        today = planting.steps[0].first == planting.planted.date
        yield first * today + RAIN
        yield f"Steps by {'; '.join(_sources(planting.steps))}."
    yield from after(plan, planting, units)
    if planting.planted.is_tree and planting.established is not None:
        yield (
            "The table can do so itself: with 7 as longest_gap_days of the zone until "
            "then, and nothing after it, it waters each week of the warm months."
        )


def after(plan: SitePlan, planting: Planting, units: str) -> Iterator[str]:
    """What holds from the end of the steps until plants stand on their own roots."""
    each = [step.l_per_plant for step in planting.steps if step.starts_min]
    if each and math.isfinite(each[0]):
        least = amount(min(each), "volume", units)
        most = quantity(max(each), "volume", units)
        told = most if most.startswith(f"{least} ") else f"{least} to {most}"
        yield f"Each plant gets {told} a watering."
    yield from rooting(plan, planting, units)


def rooting(plan: SitePlan, planting: Planting, units: str) -> Iterator[str]:
    """What a hand gives from the end of the steps until roots have grown."""
    stands, zones = planting.established, plan.site.zones
    if stands is None or stands <= planting.grown_in:
        return
    tree = planting.planted.is_tree
    span = f"From {date_text(planting.grown_in)} until about {date_text(stands)}"
    last = planting.final
    roots = f"{span} the {'trees' if tree else 'plants'} have few roots of their own"
    title = f"station {int(zones.station[planting.zone])}"
    if not tree:
        yield f"{roots}: look at them each week without rain, and soak what wilts."
    elif last is None:
        yield (
            f"{roots}: in each week without rain in which {title} does not run, soak "
            "them by hand."
        )
    else:
        depth = quantity(last.depth_mm, "catch", units)
        water = quantity(last.l_per_plant, "volume", units)
        yield (
            f"{roots}: in each week without rain in which {title} does not run, start "
            f"it by hand for {minutes(last.minutes_per_day)} min ({water} a plant, "
            f"{depth} deep){_permitted(plan, planting.zone)}."
        )


def _permitted(plan: SitePlan, zone: int) -> str:
    """Hours in which a zone may be started by hand, in any month."""
    kind = HEAD_KINDS[plan.site.zones.head_kind[zone]]
    hold = windows_in_force(plan.site.windows, [kind])
    return f", in permitted hours: {hours_text(hold)}" if hold else ""


def _sources(steps: Sequence[Step]) -> Iterator[str]:
    told = dict.fromkeys((s.leaflet.source, s.leaflet.status) for s in steps)
    for source, status in told:
        yield source if status == "read" else f"{source} ({status})"


def sheet(number: int, count: int) -> str:
    """Name of a workbook's sheet of steps, one of several."""
    return f"{TITLE} {number}" if count > 1 else TITLE


def in_short(plan: SitePlan, planting: Planting) -> str:
    """A zone's planting for the door and the calendar: what holds until when."""
    zones = plan.site.zones
    title = zone_title(zones.zone[planting.zone], zones.name[planting.zone])
    what = planted(planting.planted.stage, planting.planted.date)
    return f"{title} (station {int(zones.station[planting.zone])}), {what}"


def program(name: str, new: str) -> str:
    """Heading of the program of steps, or that they are started by hand."""
    by = f"Program {name}" if name else BY_HAND[:1].upper() + BY_HAND[1:]
    return f"{by}: {new}"


def step_line(step: Step, zone: str, since: datetime.date) -> str:
    """A step in one line, as it is keyed in on a date."""
    when = f"Zone {zone}, {date_text(step.first)} to {date_text(step.last)}"
    if not step.starts_min:
        return f"{when}: {days(step)}."
    each = " each" * (len(step.starts_min) > 1)
    told = f"{days(step, since)}, {starts(step)}"
    return f"{when}: {told}, {minutes(step.minutes)} min{each}."


def on_date(zone: str, step: Step, date: datetime.date) -> str:
    """What a new planting gets on a date."""
    if date not in step.dates or not step.starts_min:
        return f"zone {zone}: none on this date; {days(step)}"
    each = " each" * (len(step.starts_min) > 1)
    return f"zone {zone}: at {starts(step)}, {minutes(step.minutes)} min{each}"


def keyed(
    plan: SitePlan, zones: Sequence[int], program: str, until: datetime.date
) -> str:
    """How the steps of zones planted alike are keyed in."""
    told = named("station", [str(int(plan.site.zones.station[row])) for row in zones])
    date = date_text(until)
    leave = f"Until {date} leave {told} at 0 in every other program"
    if not program:
        return f"{leave}. No program is free for these steps: start them by hand."
    by = plan.site.controller.percent_by
    return (
        f"{leave}, and key each step into program {program}{_PERCENT[by]}, which "
        f"nothing else uses until then. On {date} clear it, and key in what the card "
        f"has for it and for {told} from then on."
    )


def all_held(zones: Sequence[str], months: Sequence[int], until: datetime.date) -> str:
    """What one percent for all holds in months (1 to 12) that are else off."""
    return (
        f"In {months_text(list(months))} all else is off: hold 100 % until "
        f"{date_text(until)}, with every station but {', '.join(zones)} at 0."
    )


def by_exception(windows: Sequence[Window], until: datetime.date) -> str:
    """Hours and days that new plantings alone may have, to the end of a step."""
    return (
        f"To {date_text(until)} the rule's exception for new plantings permits the "
        f"steps: {hours_text(windows)}."
    )


def runs_into(names: Sequence[str], dates: Sequence[datetime.date]) -> str:
    """Programs that may run at the hour of a step, and on which of its dates."""
    shown_dates = [*map(_day, dates[:_MOST_DATES])]
    if len(dates) > _MOST_DATES:
        shown_dates.append(f"{len(dates) - _MOST_DATES} more")
    return (
        f"{named('Program', names)} may run at the hour of the step on "
        f"{listed(shown_dates)}: see that one waits for the other, or start the step "
        "in permitted hours before it."
    )


def too_many_starts(starts: int) -> str:
    """A step with more starts than a program has."""
    return f"A program has {starts} starts: what comes after them is started by hand."


def has_grown_in(plan: SitePlan, planting: Planting) -> str:
    """Title of the day on which the table's own setting takes over."""
    return f"zone {plan.site.zones.zone[planting.zone]}: grown in, steps end"


def new_step(plan: SitePlan, planting: Planting) -> str:
    """Title of the day on which a step begins."""
    zone = plan.site.zones.zone[planting.zone]
    return f"zone {zone}: {planting.planted.stage}, next step"


def clear_on(program: str, grown: datetime.date) -> str:
    """What to key in when the steps end."""
    clear = f"Clear program {program}, and give" if program else "Give"
    return f"{clear} the zone its run time by the card from {date_text(grown)} on."


def hours(plan: SitePlan, planting: Planting, by_hand: bool) -> str:
    """When a new planting is watered, for its owner: dates, days and hours."""
    steps = [
        f"{date_text(step.first)} to {date_text(step.last)} {days(step)}"
        f"{' and'.join(f' {_span(step, start)}' for start in step.starts_min)}"
        for step in planting.steps
    ]
    who = ", started by hand" if by_hand else ""
    return f"{plan.site.zones.name[planting.zone]}, new{who}: {'; '.join(steps)}."


def _span(step: Step, start: int) -> str:
    return (
        f"{clock_text(start)}-{clock_text(math.ceil(start + step.run_min) % DAY_MIN)}"
    )


def keyed_on(dates: Sequence[datetime.date]) -> str:
    """Days on which steps of new plantings begin or end."""
    told = listed([date_text(date) for date in dates])
    return f"New plantings want another setting on {told}: agree who keys it in."


def grown_in_by(plan: SitePlan, since: datetime.date | None = None) -> str:
    """Date by which all that is new has grown in; "" where nothing is, or by then."""
    dates = [
        new.grown_in
        for new in plan.plantings
        if new.steps and (since is None or new.grown_in > since)
    ]
    return date_text(max(dates)) if dates else ""


def only_new(months: str) -> str:
    """Months in which nothing but new plantings is watered."""
    return f"In {months} new plantings alone are watered."


def has_grown(planted_on: datetime.date) -> str:
    """That a planting has grown in, for its owner."""
    return f"Planted {date_text(planted_on)}, it has grown in: it is watered as set."


def by_hand_weeks(station: int, weeks: Sequence[datetime.date]) -> str:
    """Weeks by their first days in which the card runs a station on no day."""
    if not weeks:
        return (
            f"By this card station {station} runs in every week until then: start it "
            "by hand only where that run was left out."
        )
    told = listed([date_text(first) for first in weeks])
    return (
        f"By this card station {station} does not run in the {_WEEKS[len(weeks) > 1]} "
        f"from {told}: start it by hand then, unless it rains."
    )


_WEEKS = "week", "weeks"


def has_rooted(plan: SitePlan, planting: Planting) -> str:
    """Title of the day from which plants stand on their own roots."""
    zone = plan.site.zones.zone[planting.zone]
    return f"zone {zone}: roots have grown, starts by hand end"


def for_owner(planting: Planting) -> str:
    """A new planting for its owner."""
    what = planted(planting.planted.stage, planting.planted.date)
    what = what[:1].upper() + what[1:]
    if not planting.steps:
        return f"{what}; it is still rooting."
    return (
        f"{what}: it is watered short and often while it grows in, and as this page "
        f"says from {date_text(planting.grown_in)} on."
    )
