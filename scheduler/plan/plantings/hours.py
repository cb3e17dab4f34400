"""Starts of new plantings on the clock: by day, within the permitted hours."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

from scheduler.calendar import DAY_MIN
from scheduler.inputs.site import Site, Window
from scheduler.plan.times.windows import (
    clock_minutes,
    closes_min_of,
    crosses_midnight,
    earliest_sunrise_min,
    local_timezone,
    window_of,
)

Span = tuple[int, int]
"""Minutes after midnight, from and to."""

WANTED_MIN = {
    1: (480,),
    2: (480, 840),
    3: (480, 690, 900),
    4: (480, 630, 780, 930),
}
"""Starts of a day from 08:00 on, when the surface dries (common practice)."""
MOVED_MIN = 180
"""A start farther off than that from where it is wanted does not do its work."""
_APART_MIN, _TRIED_MIN = 60, 5


def window_for(
    site: Site, kind: str, stage: str, date: datetime.date, age_days: int
) -> Window | None:
    """Window that holds for a new planting on a date; its exceptions come first."""
    for window in site.exceptions:
        lasts = window.stage_days is None or age_days < window.stage_days
        fits = date.month in window.months and kind in window.head_kinds
        if lasts and fits and stage in window.stages:
            return window
    return window_of(site.windows, kind, date.month)


def spans_of(site: Site, window: Window, date: datetime.date) -> tuple[Span, ...]:
    """Hours of a permitted date, whatever the dates before and after it permit."""
    sunrise = None
    if window.closes == "sunrise":
        timezone = local_timezone(site.timezone, site.longitude)
        place = site.latitude, site.longitude, timezone
        sunrise = earliest_sunrise_min(*place, date.year, date.month)
    opens, closes = clock_minutes(window.opens), closes_min_of(window, sunrise)
    if crosses_midnight(window, closes):
        return (opens, DAY_MIN), (0, closes)
    return ((opens, max(opens, closes)),)


def place_starts(
    wanted_min: Sequence[int],
    length_min: float,
    spans: Sequence[Span],
    taken: Iterable[Span] = (),
) -> tuple[tuple[int, ...], int]:
    """Starts of a day, each of a length, and how many of them lie where wanted.

    Each is the nearest to where it is wanted that lies within the hours, clear of what
    is `taken` and an hour from the one before. Fewer are given where no more go in.
    """
    used = list(taken)
    found: list[int] = []
    near = 0
    edges = [int(closes - length_min) for _, closes in spans]
    tried = sorted(
        {*range(0, DAY_MIN, _TRIED_MIN), *edges, *(span[0] for span in spans)}
    )
    free = [
        start
        for start in tried
        if any(a <= start and start + length_min <= b for a, b in spans)
    ]
    for wanted in wanted_min:
        clear = [
            start
            for start in free
            if all(start >= b or start + length_min <= a for a, b in used)
        ]
        if not clear:
            break
        start = min(clear, key=lambda start: (abs(start - wanted), start))
        near += abs(start - wanted) <= MOVED_MIN
        found.append(start)
        used.append((start - _APART_MIN, int(start + length_min) + _APART_MIN))
    return tuple(sorted(found)), near
