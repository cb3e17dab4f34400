"""What this week's percent says, in sentences."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

import numpy as np

from scheduler.balance.day import dry_limit
from scheduler.budget.adjust import Adjusted, over_mm
from scheduler.budget.weekly import LEAST_OF_NEEDIEST, LEAST_PERCENT
from scheduler.calendar import FULL_MONTHS, FULL_WEEKDAYS, WEEK
from scheduler.report import shown
from scheduler.report.counting import counted, named
from scheduler.report.frames import Headings
from scheduler.report.words.climate import assumption_sentence, method_words
from scheduler.report.words.replay import WAYS, years_text

OF_ZONES = Headings(
    {
        "zone": "zone",
        "name": "name",
        "date": "week from",
        "percent": "percent",
        "key_percent": "key in",
        "runs": "key in",
        "cycles": "cycles",
        "cycle_minutes": "cycle minutes",
        "skip_until": "skip until",
        "dry_from": "dry from",
        "deficit": "lacking",
        "usual": "usual\nthen",
        "allowed": "may\nlack",
    }
)
OF_WEEKS = Headings(
    {
        "from": "from",
        "et0": "ET0",
        "need": "need",
        "taken": "taken\nup",
        "rain": "rain",
        "watered": "watered",
        "drained": "drained",
        "lacking": "lacking\nat the end",
    }
)
WHAT_GOES_WITH_IT, WEATHER = "What goes with it", "The weather"
START_COUNTS_MM = 2.0
"""Spread of what is left of the ground's start that is worth telling."""
_MOST_DATES = 6
_EPS = 1e-9


def date_text(date: datetime.date) -> str:
    """Date for people, as `Mon 13 July`."""
    weekday, month = FULL_WEEKDAYS[date.weekday()][:3], FULL_MONTHS[date.month - 1]
    return f"{weekday.capitalize()} {date.day} {month.capitalize()}"


def title(site: str) -> str:
    """Heading of the week's percents."""
    return f"Adjust: {site}"


def percent_text(percent: float) -> str:
    """Percent of the setting; a dash where nothing would run."""
    if np.isnan(percent):
        return "-"
    return "off" if percent == 0 else f"{percent:.0f} %"


def run_text(percent: float, cycles: float, minutes: float) -> str:
    """Minutes to key in, in so many cycles; else why there are none."""
    run = f"{shown.minutes(minutes)} min"
    runs = run if cycles == 1 else f"{cycles:.0f} × {run}"
    return runs if percent > 0 else percent_text(percent)


def facts(found: Adjusted, units: str) -> list[str]:
    """Which week, whose settings, and on what weather."""
    lately = found.lately
    month = FULL_MONTHS[found.date.month - 1].capitalize()
    whose = {"table": "this table's", "card": "the card's", "today": "today's"}
    weather = f"Weather of {lately.source}, " if lately.source else "Weather of "
    last = lately.date - datetime.timedelta(days=1)
    et0, rain = (
        shown.quantity(float(values.sum()), "depth", units)
        for values in (lately.et0_mm, lately.rain_mm)
    )
    return [
        f"Week from {date_text(found.date)} {found.date.year}; percents are of "
        f"{whose[found.of]} {month} setting.",
        f"{weather}{date_text(lately.first)} to {date_text(last)} "
        f"({counted(len(lately.days), 'day')}): ET0 {et0}, rain {rain}.",
    ]


def said(found: Adjusted, units: str) -> list[str]:
    """What is to be done besides, or is not as it seems."""
    zones = found.stage.plan.site.zones.zone
    lines, by_hand = [], set()
    for row, dry in enumerate(found.dry_from):
        if dry is not None and found.cycles[row] > 0:
            by_hand.add(row)
            minutes = shown.minutes(float(found.cycles[row] * found.cycle_min[row]))
            lines.append(
                f"Zone {zones[row]} goes short by {date_text(dry)}, before its next "
                f"watering: run it once by hand before that, {minutes} min in "
                f"{counted(int(found.cycles[row]), 'cycle')}."
            )
    idle = [zones[row] for row in _dry_and_off(found) if row not in by_hand]
    if idle:
        lines.append(
            f"{named('zone', idle).capitalize()}: nothing is set to run this week, yet "
            "the ground lacks more than it may. Look at the plants; water once by hand "
            "if they ask for it."
        )
    plan = found.stage.plan
    longest_min = plan.inputs.valve.longest_run_min
    runs_off = plan.plan.runoff_limit_min[plan.decides[:, 0]] < longest_min
    whole = np.flatnonzero(found.held_by_runoff & ~runs_off).tolist()
    if whole:
        most_min = shown.minutes(float(longest_min[whole].min()))
        lines.append(
            f"{named('zone', [zones[row] for row in whole]).capitalize()}: the ground "
            f"asks for more, but {most_min} min is the controller's longest run "
            "(longest_run_min); give the rest as another start."
        )
    held = [zones[row] for row in np.flatnonzero(found.held_by_runoff & runs_off)]
    if held:
        lines.append(
            f"{named('zone', held).capitalize()}: the ground asks for more, but a "
            "longer run would flow off; give the rest as another start."
        )
    lines += _bound(found)
    if any(day is not None for day in found.skip_until):
        lines.append(
            "Skip until: turn the zone, or its program, off until that date's "
            "watering; the percent is for the waterings from then on."
        )
    return [*lines, *_shared(found), *_start(found, units)]


def _bound(found: Adjusted) -> list[str]:
    """Zones that get the most that can be keyed in, and lack more."""
    plan, month = found.stage.plan, found.date.month - 1
    key = found.take.most_percent[:, month] * found.take.base_percent[:, month] / 100
    by_key: dict[float, list[str]] = {}
    for row in np.flatnonzero(found.held_by_controller).tolist():
        by_key.setdefault(round(float(key[row]), 6), []).append(
            plan.site.zones.zone[row]
        )
    lines = []
    for most, names in by_key.items():
        why = f"{most:g} % is the most that is keyed in (percent_most)"
        if most < plan.site.controller.percent_most:
            why = f"the card has no room for its runs above {most:g} %"
        lines.append(
            f"{named('zone', names).capitalize()}: the ground asks for more, but "
            f"{why}; run it once by hand besides."
        )
    return lines


def _dry_and_off(found: Adjusted) -> list[int]:
    """Valves without a watering this week whose ground is dry, but not in frost."""
    ground, month = found.stage.plan.inputs.ground, found.date.month - 1
    allowed = np.broadcast_to(ground.allowed_depletion_mm, (len(ground), 12))
    dry = found.ground.deficit_mm > dry_limit(allowed[:, month], 0.0)
    dry &= ~found.stage.season.frost[month]
    off = np.isnan(found.percent)
    return sorted({int(row) for row in ground.valve[dry] if off[row]})


def _shared(found: Adjusted) -> list[str]:
    """Which zones have one percent in common."""
    zones = found.stage.plan.site.zones.zone
    group = found.take.group[:, found.date.month - 1]
    runs = np.isfinite(found.percent)
    lines = []
    for one in dict.fromkeys(group.tolist()):
        rows = np.flatnonzero((group == one) & runs).tolist()
        if len(rows) > 1:
            lines.append(
                f"{named('Zone', [zones[row] for row in rows])} share one percent and "
                f"the days left out{_held_back(found, rows)}."
            )
    return lines


def _held_back(found: Adjusted, rows: Sequence[int]) -> str:
    """Which zones hold a shared percent under what others ask for."""
    own, percent = found.week.own_percent[:, 0], found.percent
    zones = found.stage.plan.site.zones.zone
    held = [zones[row] for row in rows if found.held_by_runoff[row]]
    if not held or all(own[row] <= percent[row] + _EPS for row in rows):
        return ""
    return f", and no more than {named('zone', held)} can take at once"


def _start(found: Adjusted, units: str) -> list[str]:
    """Where the weather begins so late that the ground's start still counts."""
    span, valve = found.ground.span_mm, found.stage.plan.inputs.ground.valve
    zones = found.stage.plan.site.zones.zone
    parts = np.flatnonzero(span[:, 1] - span[:, 0] > START_COUNTS_MM)
    if not parts.size:
        return []
    widest = parts[np.argmax((span[:, 1] - span[:, 0])[parts])]
    low, high = (shown.quantity(float(v), "depth", units) for v in span[widest])
    names = list(dict.fromkeys(zones[valve[part]] for part in parts))
    return [
        f"The weather begins so late that how the ground began still counts in "
        f"{named('zone', names)}; zone {zones[valve[widest]]} may lack from {low} to "
        f"{high}. It is taken to have begun as usual; more days of weather settle it."
    ]


def weather_notes(found: Adjusted) -> list[str]:
    """What was missing in the weather, and where its ET0 comes from."""
    lately = found.lately
    lines = []
    count = int(lately.filled.sum())
    if count:
        lines.append(
            f"{counted(count, 'day')} without ET0 ({_dates(found, lately.filled)}): "
            "the month's usual ET0 is taken, and rain only where it is told."
        )
    dry = ~lately.rain_told & ~lately.filled
    if not lately.rain_told.any():
        lines.append("The weather tells no rain: none is taken. Add it if it rained.")
    elif dry.any():
        lines.append(
            f"{counted(int(dry.sum()), 'day')} without rain in the file "
            f"({_dates(found, dry)}): none is taken."
        )
    if lately.source:
        lines.append(f"ET0: {method_words(lately.method)}.")
    else:
        lines.append("The week's ET0 and rain are spread evenly over its seven days.")
    return [*lines, *(assumption_sentence(one) for one in lately.assumptions)]


def _dates(found: Adjusted, days: np.ndarray) -> str:
    """Some dates, the last ones first named."""
    rows = np.flatnonzero(days).tolist()
    first = found.lately.first
    told = [date_text(first + datetime.timedelta(days=row)) for row in rows]
    more = len(told) - _MOST_DATES
    listed = ", ".join(told[-_MOST_DATES:])
    return f"{more} earlier and {listed}" if more > 0 else listed


def notes(found: Adjusted) -> list[str]:
    """How the percent is found."""
    lines = [
        "The ground begins as it usually is on that date under "
        f"{WAYS[found.of]}, mean of {years_text(found.stage.years)}, and is "
        "played to the date. Lacking: what the root zone lacks of full, mean of the "
        "ground.",
        "A zone gets the least water that carries its ground, but for the quarter that "
        "heads water least, to the first watering after the week, at the usual need "
        "and without rain: waterings left out at the beginning, and a percent for the "
        "others.",
        f"Over 100 % it gets no more than it lacks beyond the usual, and never under "
        f"{LEAST_PERCENT:g} %, for light waterings keep roots shallow.",
    ]
    group = found.take.group[:, found.date.month - 1]
    if len(np.unique(group)) < len(group):
        lines.append(
            "A shared percent is that of the zone in most need, lowered by up to "
            f"{100 * (1 - LEAST_OF_NEEDIEST):.0f} % of it where it would more than "
            "refill another; waterings are left out that all can miss."
        )
    if found.stage.plan.site.controller.percent_by != "none":
        lines.append(
            "A higher percent makes the night longer: see that it still ends within "
            f"the window. Ask again in {WEEK} days, and on the first of a month."
        )
    return lines


def working(found: Adjusted, row: int, units: str) -> list[str]:
    """Why a zone gets its percent."""
    part = int(np.flatnonzero(found.stage.plan.inputs.ground.valve == row)[0])
    lacks, usual = (
        shown.quantity(float(values[part]), "depth", units)
        for values in (found.ground.deficit_mm, found.usual_mm)
    )
    lines = [f"It lacks {lacks} on {date_text(found.date)}; usual then is {usual}."]
    wetted = float(found.stage.plan.inputs.ground.wetted_share[part])
    if wetted < 1:
        lines.append(
            f"That is the {100 * wetted:.0f} % of its ground that emitters wet, with "
            "its rain and what is asked of it; rain between them is drunk besides. "
            "Depths are spread over all of the ground."
        )
    own, until = float(found.week.own_percent[row, 0]), found.skip_until[row]
    if np.isnan(own):
        return [*lines, "Nothing would run in this week."]
    if own == 0:
        lines.append(
            "It lasts without water: all waterings of the week are left out."
            if until is None
            else "It lasts without water to the watering on "
            f"{date_text(until)}: all of the week are left out."
        )
        return lines
    step = found.take.step_percent * 100 / found.take.base_percent[
        row, found.date.month - 1]  # fmt: skip
    for percent in (own - step, own):
        lines.append(_margin(found, row, percent, units))
    top = float(found.week.top_percent[row, 0])
    if top > 100:
        lines.append(
            f"By what it lacks beyond the usual it may have up to {top:.0f} % of the "
            "setting."
        )
    if found.percent[row] != own:
        lines.append(
            f"Alone it would have {own:.0f} %; it shares {found.percent[row]:.0f} %."
        )
    return lines


def _margin(found: Adjusted, row: int, percent: float, units: str) -> str:
    """How the week ends at a percent."""
    over = over_mm(found, row, percent)
    by = shown.quantity(abs(over), "depth", units, 2 if units == "us" else 1)
    if over > 0:
        return (
            f"At {percent:.0f} % some of the ground would pass what it may lack "
            f"by {by} before the first watering after the week."
        )
    return (
        f"At {percent:.0f} % the ground stays within what it may lack, the nearest by "
        f"{by}."
    )
