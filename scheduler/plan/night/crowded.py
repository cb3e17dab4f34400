"""Months whose runs no order of the nights can fit into the permitted hours."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from scheduler.calendar import DAY_MIN, WEEK, WEEKDAYS, weekday_rows
from scheduler.cautions import Caution
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import (
    Piece,
    clock_minutes,
    closes_min_of,
    pieces_of_date,
    window_of,
)
from scheduler.rounding import TOLERANCE

_MOST_OF_A_PARITY = 16 / 31
"""Largest share of a month's dates that is odd, or even."""


def months_too_short(plan: SitePlan) -> Iterator[Caution]:
    """Months whose weeks hold more minutes of water than permitted hours.

    A plain sum, so a month that it passes may still be too short: soak, pauses, the
    supply and the choice of nights are left out, and a window to sunrise counts as open
    all day. What it says of a month holds for every order.
    """
    site = plan.site
    week_min = plan.plan.schedule.minutes_per_week / site.controller.zones_at_once
    for month in range(12):
        windows = [
            window_of(site.windows, HEAD_KINDS[kind], month + 1)
            for kind in site.zones.head_kind.tolist()
        ]
        worst: Caution | None = None
        for members in _classes(windows):
            rows = [r for r, w in enumerate(windows) if w in members]
            open_min = _open_min(members)
            over = float(week_min[rows, month].sum()) - open_min
            if over > 1e-6 and (worst is None or over > worst.values["minutes_over"]):
                values = {
                    "minutes_over": over,
                    "open_min": open_min,
                    "zones": tuple(site.zones.zone[row] for row in rows),
                }
                worst = Caution("window-too-short", None, month + 1, values)
        if worst is not None:
            yield worst


def days_too_short(plan: SitePlan) -> Iterator[Caution]:
    """Zones whose cycles and soak no watering day of a month holds, were they alone.

    The worst of the days that they water on counts. A window to sunrise counts as open
    till noon, so what it says holds whenever the sun rises.
    """
    site, schedule = plan.site, plan.plan.schedule
    for row, month in np.argwhere(schedule.cycles > 0).tolist():
        window = window_of(
            site.windows, HEAD_KINDS[site.zones.head_kind[row]], month + 1
        )
        if window is None:
            continue
        cycles = int(schedule.cycles[row, month])
        cycle_min = float(schedule.cycle_min[row, month])
        soak_min = float(schedule.soak_min[row, month])
        days = _day_pieces(window, int(schedule.weekdays[row, month]))
        fits, day_min = min(
            (
                (
                    sum(
                        _cycles_in(piece.minutes, cycle_min, soak_min) for piece in day
                    ),
                    sum(piece.minutes for piece in day),
                )
                for day in days
            ),
            default=(cycles, 0),
        )
        if fits < cycles:
            zone = site.zones.zone[row]
            values = {
                "minutes_over": (cycles - fits) * cycle_min,
                "zones": (zone,),
                "cycles": cycles,
                "day_min": float(day_min),
            }
            yield Caution("window-too-short", zone, month + 1, values)


def _day_pieces(window: Window, weekdays: int) -> Iterator[tuple[Piece, ...]]:
    """Pieces of each kind of date that a zone waters on, by its weekdays as bits."""
    closes = closes_min_of(window, None)
    permitted = [WEEKDAYS.index(day) for day in window.weekdays]
    for day in weekday_rows(weekdays):
        # A date of one parity mostly lies between two of the other.
        before, after = (
            not window.parity and (day + step) % WEEK in permitted for step in (-1, 1)
        )
        # Its own small hours count, though the night before may run into them.
        yield pieces_of_date(
            window, closes, before and after, closes if after else None
        )


def _cycles_in(minutes: float, cycle_min: float, soak_min: float) -> int:
    """Cycles that a stretch holds, with soak between them."""
    return math.floor((minutes + soak_min) / (cycle_min + soak_min) + TOLERANCE)


def _classes(windows: Sequence[Window | None]) -> list[tuple[Window, ...]]:
    """Each window alone, and all together."""
    known = tuple(dict.fromkeys(w for w in windows if w is not None))
    classes: list[tuple[Window, ...]] = [(window,) for window in known]
    return [*classes, known] if len(known) > 1 else classes


def _open_min(windows: Sequence[Window]) -> float:
    """Minutes of a week in which one window or another is open, at the most."""
    open_ = np.zeros((len(WEEKDAYS), DAY_MIN))
    for window in windows:
        hours = np.ones(DAY_MIN, dtype=bool)
        if window.closes != "sunrise":
            opens, closes = clock_minutes(window.opens), clock_minutes(window.closes)
            minute = (np.arange(DAY_MIN) - opens) % DAY_MIN
            hours = minute < ((closes - opens) % DAY_MIN or DAY_MIN)
        days = [WEEKDAYS.index(day) for day in window.weekdays]
        share = _MOST_OF_A_PARITY if window.parity else 1.0
        open_[days] = np.minimum(open_[days] + share * hours, 1.0)
    return float(open_.sum())
