"""What would let a card keep its limits, each found by planning a card with it."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from scheduler.calendar import ALL_DATES, DAY_MIN, WEEKDAYS
from scheduler.inputs.site import Site, Window
from scheduler.plan.card.needs import DRY_OVER
from scheduler.plan.card.plan import Card, card_of_stretches
from scheduler.plan.site import SitePlan, plan_site
from scheduler.plan.times.windows import clock_minutes, clock_text

HOUR_MIN = 60
EARLIEST_OPEN_MIN, LATEST_CLOSE_MIN = 18 * HOUR_MIN, 9 * HOUR_MIN
"""Hours offered lie between: in the heat and wind of the day too much is lost."""
LESS_NEED = 0.8
"""Share of its need that a smaller plant, or a thinner planting, takes."""
MOST_TOLD = 3
LARGE = 12
_MENDED, _LEAST_HARM = 0.1, 1e-9
"""Share of the harm that is left by a card that keeps its limits but for rounding."""


@dataclass(frozen=True, slots=True)
class WayOut:
    """One change, and what the card would then still break.

    `kind` is opens, closes, days, dates, programs, at_once, starts, percent_by,
    intervals or need; `value` the clock time, count or share; `zones` (rows) those it
    is for, all where none is named. `left` is the harm left over as a share of today's.
    """

    kind: str
    value: str
    zones: tuple[int, ...]
    left: float


def ways_out(plan: SitePlan, card: Card, start: datetime.date) -> tuple[WayOut, ...]:
    """The changes that mend most, at most three; none where nothing is broken."""
    if not card.judged.broken:
        return ()
    stretches = [tuple(m - 1 for m in visit.months) for visit in card.visits]
    rows = sorted({broken.zone for broken in card.judged.broken})
    found = []
    harm = _harm(plan, card)
    large = len(plan.site.zones) > LARGE
    changes = _changes(plan.site, rows)
    # A large site is planned for seconds each time: the likeliest changes alone.
    for kind, value, zones, site in itertools.islice(changes, 2 if large else None):
        planned = plan_site(site)
        tried = card_of_stretches(planned, start, stretches)
        left = _harm(planned, tried) / max(harm, _LEAST_HARM)
        if tried.judged.harm <= _MENDED * card.judged.harm:
            left = 0.0
        if left < 1 - _MENDED:
            found.append(WayOut(kind, value, zones, left))
        if len([way for way in found if not way.left]) == MOST_TOLD:
            break
    return tuple(sorted(found, key=lambda way: way.left)[:MOST_TOLD])


def _harm(plan: SitePlan, card: Card) -> float:
    """What plants go short beyond their own limits, and depths too far off the table's.

    A table that has more hours or days asks for more, so what a card breaks of its own
    table tells nothing of two tables.
    """
    most = plan.inputs.valve.most_dry[:, None] + DRY_OVER
    over = np.maximum(np.nan_to_num(card.judged.dry - most), 0.0)
    return float(100 * over.sum()) + card.judged.harm_of_depths


_Change = tuple[str, str, tuple[int, ...], Site]


def _changes(site: Site, rows: Sequence[int]) -> Iterator[_Change]:
    """Changes to try, those that cost least first."""
    controller = site.controller
    yield from _more_days(site)
    yield from _longer(site)
    programs, starts = int(controller.programs), int(controller.starts)
    for more in (1, 2):
        yield ("programs", str(programs + more), (),
               _with(site, programs=float(programs + more)))  # fmt: skip
    at_once = int(controller.zones_at_once) + 1
    yield "at_once", str(at_once), (), _with(site, zones_at_once=float(at_once))
    yield "starts", str(starts + 2), (), _with(site, starts=float(starts + 2))
    if controller.percent_by != "program":
        yield "percent_by", "program", (), _with(site, percent_by="program")
    if not controller.intervals:
        yield "intervals", "yes", (), _with(site, intervals=True)
    density = site.zones.density_factor.copy()
    density[list(rows)] *= LESS_NEED
    zones = replace(site.zones, density_factor=density)
    yield (
        "need",
        f"{100 * (1 - LESS_NEED):.0f}",
        tuple(rows),
        replace(site, zones=zones),
    )


def _with(site: Site, **changes: Any) -> Site:
    return replace(site, controller=replace(site.controller, **changes))


def _longer(site: Site) -> Iterator[_Change]:
    """Every window an hour longer, in the evening or in the morning."""
    earlier = [_opens_earlier(window) for window in site.windows]
    if any(window is not None for window, _ in earlier):
        windows = tuple(new or old for (new, _), old in
                        zip(earlier, site.windows, strict=True))  # fmt: skip
        told = next(text for window, text in earlier if window is not None)
        yield "opens", told, (), replace(site, windows=windows)
    later = [_closes_later(window) for window in site.windows]
    if any(window is not None for window, _ in later):
        windows = tuple(new or old for (new, _), old in
                        zip(later, site.windows, strict=True))  # fmt: skip
        told = next(text for window, text in later if window is not None)
        yield "closes", told, (), replace(site, windows=windows)


def _opens_earlier(window: Window) -> tuple[Window | None, str]:
    opens = clock_minutes(window.opens) - HOUR_MIN
    if opens < EARLIEST_OPEN_MIN:
        return None, ""
    text = clock_text(opens)
    return replace(window, opens=text), text


def _closes_later(window: Window) -> tuple[Window | None, str]:
    if window.closes == "sunrise":
        return None, ""
    closes = clock_minutes(window.closes) + HOUR_MIN
    if closes > LATEST_CLOSE_MIN or closes > DAY_MIN:
        return None, ""
    text = clock_text(closes)
    return replace(window, closes=text), text


def _more_days(site: Site) -> Iterator[_Change]:
    """A day a week more in every window, or all dates for odd or even ones."""
    if any(window.parity != ALL_DATES for window in site.windows):
        windows = tuple(replace(w, parity=ALL_DATES) for w in site.windows)
        yield "dates", "all", (), replace(site, windows=windows)
    days = [len(w.weekdays) for w in site.windows]
    most = [min(w.most_days_a_week, len(w.weekdays)) for w in site.windows]
    if min([*days, *most], default=7) == 7:
        return
    windows = tuple(_a_day_more(window) for window in site.windows)
    fewest = int(np.min([min(w.most_days_a_week, len(w.weekdays)) for w in windows]))
    yield "days", str(fewest), (), replace(site, windows=windows)


def _a_day_more(window: Window) -> Window:
    """A window with the weekday more that lies farthest from its others."""
    most = window.most_days_a_week
    if most < len(window.weekdays):
        return replace(window, most_days_a_week=most + 1)
    missing = [day for day in WEEKDAYS if day not in window.weekdays]
    if not missing:
        return window
    rows = [WEEKDAYS.index(day) for day in window.weekdays]
    apart = {
        day: min((min((WEEKDAYS.index(day) - row) % 7, (row - WEEKDAYS.index(day)) % 7)
                  for row in rows), default=0)
        for day in missing
    }  # fmt: skip
    more = {*window.weekdays, max(missing, key=lambda day: apart[day])}
    days = tuple(day for day in WEEKDAYS if day in more)
    return replace(window, weekdays=days, most_days_a_week=min(most + 1, len(days)))
