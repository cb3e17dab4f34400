"""What would make the nights of a month fit, each found by planning with it."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import ALL_DATES, DAY_MIN, WEEKDAYS
from scheduler.cautions import HARD_LIMITS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Site, Window
from scheduler.plan.night.month import NightPlanner
from scheduler.plan.night.spread import MonthNights, spread_month
from scheduler.plan.site import SitePlan, plan_site
from scheduler.plan.times.windows import (
    clock_minutes,
    clock_text,
    closes_min_of,
    crosses_midnight,
    window_of,
)

LONGER_MIN = (15, 30, 45, 60, 90, 120, 180, 240, 360, 480)
"""Minutes by which a window is tried longer, at one end."""
MOST_AT_ONCE = 3


@dataclass(frozen=True, slots=True)
class WayOut:
    """One change after which every night of the month fits.

    `kind` is opens, closes, weekday, dates, at-once or rate; `value` the clock time,
    weekday, number of zones or share of the rate; `zones` those that it is for.
    """

    kind: str
    value: str
    zones: tuple[str, ...] = ()


def ways_out(
    plan: SitePlan,
    nights: MonthNights,
    year: int,
    month: int,
    counted_from: datetime.date | None,
) -> tuple[WayOut, ...]:
    """Changes that would do, the smallest of each kind; none where all nights fit."""
    if not nights.too_short:
        return ()
    rows = sorted(
        {run.zone for night in nights.too_short for run in night.runs if run.over_s}
    )
    trial = _Trial(plan, year, month, counted_from)
    found = []
    for changes in (
        _longer(plan, trial, rows, "opens", _opens_earlier),
        _longer(plan, trial, rows, "closes", _closes_later),
        _other_days(plan, rows),
        _at_once(plan),
        _lower_rate(plan, rows, month),
    ):
        for site, way in changes:
            if trial.fits(site):
                found.append(way)
                break
    return tuple(found)


class _Trial:
    """Planning of a month with a site as it might be."""

    def __init__(
        self,
        plan: SitePlan,
        year: int,
        month: int,
        counted_from: datetime.date | None,
    ) -> None:
        self.year, self.month, self.counted_from = year, month, counted_from
        self.hours = NightPlanner(plan, counted_from).hours
        self.known = _hard_limits(plan)

    def closes_min(self, window: Window) -> int:
        """When a window closes in the month."""
        sunrise = self.hours.sunrise_min(self.year, self.month)
        return closes_min_of(window, sunrise)

    def fits(self, site: Site) -> bool:
        """Whether every night of the month fits, and the table meets all it did."""
        plan = plan_site(site)
        if not _hard_limits(plan) <= self.known:
            return False
        planner = NightPlanner(plan, self.counted_from)
        return not spread_month(planner, self.year, self.month).too_short


def _hard_limits(plan: SitePlan) -> set[tuple[str, str | None, int | None]]:
    return {(c.code, c.zone, c.month) for c in plan.cautions if c.code in HARD_LIMITS}


_Changes = Iterator[tuple[Site, WayOut]]


def _windows_of(site: Site, rows: Sequence[int], month: int) -> set[int]:
    """Windows that the zones are under in a month, as places in the site's list."""
    kinds = {HEAD_KINDS[site.zones.head_kind[row]] for row in rows}
    fitting = (window_of(site.windows, kind, month) for kind in kinds)
    return {site.windows.index(window) for window in fitting if window is not None}


def _longer(
    plan: SitePlan,
    trial: _Trial,
    rows: Sequence[int],
    kind: str,
    change: Callable[[Window, int, int], tuple[Window, str] | None],
) -> _Changes:
    """The zones' windows by more and more minutes, as far as the clock has them."""
    site = plan.site
    places = sorted(_windows_of(site, rows, trial.month))
    for longer in LONGER_MIN:
        windows, said = list(site.windows), []
        for place in places:
            window = windows[place]
            changed = change(window, trial.closes_min(window), longer)
            if changed is None:
                return
            windows[place], text = changed
            said.append(text)
        text = "; ".join(dict.fromkeys(said))
        yield replace(site, windows=tuple(windows)), WayOut(kind, text)


def _opens_earlier(
    window: Window, closes_min: int, longer_min: int
) -> tuple[Window, str] | None:
    """A window that opens earlier, in words too; None where it would be all day."""
    opens = clock_minutes(window.opens)
    crosses = crosses_midnight(window, closes_min)
    # One to sunrise that opens when the sun is up has hours only before sunrise.
    earlier = (opens if crosses else min(opens, closes_min)) - longer_min
    if earlier < 0 or (crosses and earlier <= closes_min):
        return None
    text = clock_text(earlier)
    return replace(window, opens=text), f"{text}, not {window.opens}"


def _closes_later(
    window: Window, closes_min: int, longer_min: int
) -> tuple[Window, str] | None:
    """A window that closes later, in words too; None where it would be all day."""
    opens = clock_minutes(window.opens)
    crosses = crosses_midnight(window, closes_min)
    later = (closes_min if crosses else max(opens, closes_min)) + longer_min
    if later > DAY_MIN or (crosses and later >= opens):
        return None
    text = _clock(later)
    return replace(window, closes=text), f"{text}, not {_clock(closes_min)}"


def _clock(minutes: int) -> str:
    return "24:00" if minutes == DAY_MIN else clock_text(minutes)


def _other_days(plan: SitePlan, rows: Sequence[int]) -> _Changes:
    """Another permitted weekday, or all dates in place of the odd or the even ones."""
    site = plan.site
    month = range(1, 13)
    places = set().union(*(_windows_of(site, rows, m) for m in month))
    if any(site.windows[place].parity for place in places):
        windows = [
            replace(w, parity=ALL_DATES) if place in places else w
            for place, w in enumerate(site.windows)
        ]
        yield replace(site, windows=tuple(windows)), WayOut("dates", "any")
    for day in WEEKDAYS:
        windows, more = list(site.windows), False
        for place in sorted(places):
            window = windows[place]
            if day not in window.weekdays:
                days = tuple(d for d in WEEKDAYS if d in (*window.weekdays, day))
                windows[place] = replace(window, weekdays=days)
                more = True
        if more:
            yield replace(site, windows=tuple(windows)), WayOut("weekday", day)


def _at_once(plan: SitePlan) -> _Changes:
    """More zones at once, where it is known that the supply carries them."""
    site = plan.site
    now = int(site.controller.zones_at_once)
    if site.supply.design_flow_l_min is None:
        return
    for count in range(now + 1, MOST_AT_ONCE + 1):
        controller = replace(site.controller, zones_at_once=float(count))
        yield replace(site, controller=controller), WayOut("at-once", str(count))


def _lower_rate(plan: SitePlan, rows: Sequence[int], month: int) -> _Changes:
    """Half the precipitation rate for zones that have to soak."""
    site, schedule = plan.site, plan.plan.schedule
    soaking = [row for row in rows if schedule.soak_min[row, month - 1] > 0]
    if not soaking:
        return
    half = np.ones(len(site.zones))
    half[soaking] = 0.5
    zones = replace(
        site.zones,
        flow_l_min=site.zones.flow_l_min * half,
        rate_mm_h=site.zones.rate_mm_h * half,
        emitter_flow_l_min=site.zones.emitter_flow_l_min * half,
    )
    heads = replace(
        site.heads, flow_l_min=site.heads.flow_l_min * half[site.heads.zone]
    )
    names = tuple(site.zones.zone[row] for row in soaking)
    yield replace(site, zones=zones, heads=heads), WayOut("rate", "half", names)
