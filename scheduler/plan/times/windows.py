"""Permitted hours of a date: a window's pieces, and the sunrise that ends it."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from scheduler.calendar import DAY_MIN, WEEKDAYS, of_parity
from scheduler.inputs.site import Window

if TYPE_CHECKING:
    import pandas as pd

SUNRISE_ZENITH_DEG = 90.833
"""Of the sun's middle when its upper edge is seen on the horizon, air bending light."""
_COMMON_SUNRISE_MIN = 6 * 60
"""Sunrise where only hours well before or after it are asked for."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Stretch of permitted time, minutes from midnight of its date; may pass 1440."""

    opens_min: int
    closes_min: int

    @property
    def minutes(self) -> int:
        """Length of the stretch."""
        return self.closes_min - self.opens_min


def window_of(windows: tuple[Window, ...], head_kind: str, month: int) -> Window | None:
    """First window that fits a kind of head and a month; None: not permitted.

    Exceptions for new plantings are none of grown-in ones.
    """
    for window in windows:
        fits = month in window.months and head_kind in window.head_kinds
        if fits and not window.stages:
            return window
    return None


def windows_in_force(
    windows: tuple[Window, ...], head_kinds: Collection[str]
) -> tuple[Window, ...]:
    """Windows that some of these kinds of heads keep to in some month, in their order.

    One that stands after another for the same heads and months holds for none of them,
    and exceptions for new plantings for no grown-in ones.
    """
    months = range(1, 13)
    found = [window_of(windows, kind, month) for kind in head_kinds for month in months]
    return tuple(window for window in windows if any(window is one for one in found))


def is_open_between(window: Window, first_min: int, last_min: int) -> bool:
    """Whether a window holds some of these minutes of a day, which do not pass 1440.

    Sunrise is taken for 6:00.
    """
    closes = closes_min_of(window, _COMMON_SUNRISE_MIN)
    return any(
        piece.minutes and piece.opens_min < last_min and piece.closes_min > first_min
        for piece in pieces_of_date(window, closes, False, closes)
    )


@cache
def clock_minutes(clock: str) -> int:
    """Minutes after midnight of a clock time such as 21:30."""
    hours, _, minutes = clock.partition(":")
    return int(hours) * 60 + int(minutes)


def clock_text(minutes: float) -> str:
    """Clock time of minutes after midnight, of whatever day."""
    whole = int(minutes) % DAY_MIN
    return f"{whole // 60:02d}:{whole % 60:02d}"


def local_timezone(timezone: str, longitude_deg: float) -> str:
    """Time zone of a site: as given, else whole hours by longitude, without DST."""
    hours = round(longitude_deg / 15)
    return timezone or f"Etc/GMT{-hours:+d}"


@lru_cache(maxsize=256)
def earliest_sunrise_min(
    latitude_deg: float, longitude_deg: float, timezone: str, year: int, month: int
) -> int | None:
    """Earliest sunrise of a month in minutes after midnight; None without one.

    By the clock of the time zone, so daylight saving counts where it holds.
    """
    import pandas as pd
    from pvlib import solarposition

    # Sunrises are by dates of UTC, so a month here may take in one more at either end.
    first = pd.Timestamp(year=year, month=month, day=1)
    days = pd.date_range(first - pd.Timedelta(days=2), periods=35, freq="D", tz="UTC")
    sun = solarposition.sun_rise_set_transit_spa(days, latitude_deg, longitude_deg)
    found = pd.DatetimeIndex(pd.to_datetime(sun["sunrise"], utc=True).dropna())
    if found.empty:
        return None
    rise = _on_its_date(found, latitude_deg, longitude_deg).tz_convert(timezone)
    rise = rise[rise.month == month]
    if rise.empty:
        return None
    return int(min(time.hour * 60 + time.minute for time in rise))


def _on_its_date(
    found: pd.DatetimeIndex, latitude_deg: float, longitude_deg: float
) -> pd.DatetimeIndex:
    """Sunrises on the date that they belong to.

    Where the sun rises before midnight UTC, pvlib gives the sunrise of a date with the
    date after it, or the other way round; the height of the sun tells which it is.
    """
    import pandas as pd
    from pvlib import solarposition

    def off_deg(tried: pd.DatetimeIndex) -> np.ndarray:
        sun = solarposition.get_solarposition(
            tried, latitude_deg, longitude_deg, altitude=0
        )
        return np.abs(sun["zenith"].to_numpy() - SUNRISE_ZENITH_DEG)

    best, least = found, off_deg(found)
    for days in (-1, 1):
        tried = found + pd.Timedelta(days=days)
        off = off_deg(tried)
        best, least = best.where(off >= least, tried), np.minimum(off, least)
    return best


def closes_min_of(window: Window, sunrise_min: int | None) -> int:
    """Minute after midnight at which a window closes; noon where no sun rises."""
    if window.closes != "sunrise":
        return clock_minutes(window.closes)
    return DAY_MIN // 2 if sunrise_min is None else sunrise_min


def crosses_midnight(window: Window, closes_min: int) -> bool:
    """Whether a window opens on one date and closes on the next.

    One to sunrise that opens before noon does not: if the sun is up by then, it has no
    hours at all.
    """
    opens = clock_minutes(window.opens)
    if window.closes == "sunrise" and opens < DAY_MIN // 2:
        return False
    return opens >= closes_min


def pieces_of_date(
    window: Window,
    closes_min: int,
    day_before: bool,
    next_closes_min: int | None,
) -> tuple[Piece, ...]:
    """Pieces in which the watering of a permitted date may run.

    `day_before` says whether the night of the date before takes in the small hours of
    this one; `next_closes_min` is when those of the next date close, None where it is
    not permitted. A window across midnight is one night where the next date is
    permitted; else it is the evening of the date up to midnight. Where the date before
    is not permitted, the small hours of the date itself are a piece too.
    """
    opens = clock_minutes(window.opens)
    if not crosses_midnight(window, closes_min):
        return (Piece(opens, max(opens, closes_min)),)
    pieces = [] if day_before or closes_min == 0 else [Piece(0, closes_min)]
    if opens < DAY_MIN or next_closes_min:
        pieces.append(Piece(opens, DAY_MIN + (next_closes_min or 0)))
    return tuple(pieces)


def permits_dates_in_a_row(window: Window) -> bool:
    """Whether a date and the next may both be permitted, month after month.

    Odd dates that meet, the 31st and the 1st, do not count.
    """
    rows = {WEEKDAYS.index(day) for day in window.weekdays}
    in_a_row = any((row + 1) % len(WEEKDAYS) in rows for row in rows)
    return not window.parity and in_a_row


def is_permitted(window: Window, date: datetime.date) -> bool:
    """Whether a window's weekdays and parity permit a date."""
    if WEEKDAYS[date.weekday()] not in window.weekdays:
        return False
    return bool(of_parity(date.day, window.parity))


def instant_s(
    date: datetime.date, minutes: int, zone: datetime.tzinfo, opens: bool
) -> int:
    """Seconds since 1970 in UTC when a clock shows so many minutes after midnight.

    A time that the clock skips is the moment of the change. One that it shows twice is
    the second where a window opens and the first where it closes, so that what lies
    between is permitted by either reading.
    """
    midnight = datetime.datetime.combine(date, datetime.time(), zone)
    wall = midnight + datetime.timedelta(minutes=minutes)
    first, second = (int(wall.replace(fold=fold).timestamp()) for fold in (0, 1))
    if first <= second:
        return second if opens else first
    # Skipped: `second` is before the change and `first` after it.
    before = _offset(second, zone)
    while first - second > 1:
        middle = (first + second) // 2
        if _offset(middle, zone) == before:
            second = middle
        else:
            first = middle
    return first


def _offset(instant: int, zone: datetime.tzinfo) -> datetime.timedelta | None:
    return datetime.datetime.fromtimestamp(instant, zone).utcoffset()
