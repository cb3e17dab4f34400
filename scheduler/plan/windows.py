"""Permitted hours of a date: a window's pieces, and the sunrise that ends it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from scheduler.inputs.fields import WEEKDAYS
from scheduler.inputs.site import Window

DAY_MIN = 1440


@dataclass(frozen=True, slots=True)
class Piece:
    """Stretch of permitted time, minutes from midnight of its date; may pass 1440."""

    opens_min: int
    closes_min: int

    @property
    def minutes(self) -> int:
        """Length of the stretch."""
        return self.closes_min - self.opens_min


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


def earliest_sunrise_min(
    latitude_deg: float, longitude_deg: float, timezone: str, year: int, month: int
) -> int | None:
    """Earliest sunrise of a month in minutes after midnight; None without one."""
    import pandas as pd
    from pvlib import solarposition

    days = pd.date_range(f"{year}-{month:02d}-01", periods=31, freq="D", tz=timezone)
    days = days[days.month == month]
    sun = solarposition.sun_rise_set_transit_spa(days, latitude_deg, longitude_deg)
    rise = sun["sunrise"].dropna()
    if rise.empty:
        return None
    return int(min(time.hour * 60 + time.minute for time in rise))


def pieces_of_date(
    window: Window,
    sunrise_min: int | None,
    day_before: bool,
    day_after: bool,
) -> tuple[Piece, ...]:
    """Pieces in which the watering of a permitted date may run.

    `day_before` and `day_after` say whether the neighbours are permitted. A window
    across midnight is one night where the next date is permitted; else it is the
    evening of the date up to midnight. Where the date before is not permitted, the
    small hours of the date itself are a piece too. Where the sun does not rise, a
    window to sunrise closes at noon.
    """
    opens = clock_minutes(window.opens)
    closes = (
        clock_minutes(window.closes)
        if window.closes != "sunrise"
        else (DAY_MIN // 2 if sunrise_min is None else sunrise_min)
    )
    if opens < closes:
        return (Piece(opens, closes),)
    pieces = [] if day_before or closes == 0 else [Piece(0, closes)]
    pieces.append(Piece(opens, DAY_MIN + closes if day_after else DAY_MIN))
    return tuple(pieces)


def is_permitted(window: Window, date: datetime.date) -> bool:
    """Whether a window's weekdays and parity permit a date."""
    if WEEKDAYS[date.weekday()] not in window.weekdays:
        return False
    return not window.parity or (date.day % 2 == 1) == (window.parity == "odd")
