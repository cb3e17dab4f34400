"""Permitted hours of a site's dates, in seconds since 1970, by its own clock."""

from __future__ import annotations

import datetime
import zoneinfo

from scheduler.calendar import ONE_DAY
from scheduler.inputs.site import Site, Window
from scheduler.plan.night.earliest_end import Span
from scheduler.plan.times.windows import (
    closes_min_of,
    crosses_midnight,
    earliest_sunrise_min,
    instant_s,
    is_permitted,
    local_timezone,
    pieces_of_date,
    window_of,
)


class SiteHours:
    """Hours in which the watering of a date may run, by kind of head."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.timezone = local_timezone(site.timezone, site.longitude)
        self.zone = zoneinfo.ZoneInfo(self.timezone)
        self._spans: dict[tuple[str, datetime.date, bool], tuple[Span, ...]] = {}

    def sunrise_min(self, year: int, month: int) -> int | None:
        """Earliest sunrise of a month, minutes after midnight; None without one."""
        return earliest_sunrise_min(
            self.site.latitude, self.site.longitude, self.timezone, year, month
        )

    def window(self, head_kind: str, date: datetime.date) -> Window | None:
        """Window that permits a date; None where none does."""
        window = window_of(self.site.windows, head_kind, date.month)
        return window if window is not None and is_permitted(window, date) else None

    def closes_min(self, window: Window, date: datetime.date) -> int:
        """Minute at which a window closes on a date."""
        sunrise = None
        if window.closes == "sunrise":
            sunrise = self.sunrise_min(date.year, date.month)
        return closes_min_of(window, sunrise)

    def _small_hours_min(self, head_kind: str, date: datetime.date) -> int | None:
        """When the small hours of a date close; None where they are not permitted."""
        window = self.window(head_kind, date)
        if window is None:
            return None
        closes = self.closes_min(window, date)
        return closes if crosses_midnight(window, closes) else None

    def spans(
        self, head_kind: str, date: datetime.date, wide: bool = False
    ) -> tuple[Span, ...]:
        """Pieces in which the watering of a date may run; none if not permitted.

        Where the next date is not permitted, `wide` adds the small hours of the date,
        though the night of the date before may run into them.
        """
        key = head_kind, date, wide
        if key not in self._spans:
            self._spans[key] = self._spans_of(head_kind, date, wide)
        return self._spans[key]

    def _spans_of(
        self, head_kind: str, date: datetime.date, wide: bool
    ) -> tuple[Span, ...]:
        window = self.window(head_kind, date)
        if window is None:
            return ()
        next_closes = self._small_hours_min(head_kind, date + ONE_DAY)
        before = self._small_hours_min(head_kind, date - ONE_DAY) is not None
        pieces = pieces_of_date(
            window,
            self.closes_min(window, date),
            before and not (wide and next_closes is None),
            next_closes,
        )
        spans = []
        for piece in pieces:
            opens = instant_s(date, piece.opens_min, self.zone, opens=True)
            closes = instant_s(date, piece.closes_min, self.zone, opens=False)
            spans.append((opens, max(opens, closes)))
        return tuple(spans)

    def clock(self, seconds: int) -> datetime.datetime:
        """What the site's clock shows."""
        return datetime.datetime.fromtimestamp(seconds, self.zone)
