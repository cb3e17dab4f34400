"""So many watering days a week for a whole site: the same ones for all its windows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from scheduler.calendar import ALL_DATES, weekday_bits, weekday_names
from scheduler.inputs.site import Window
from scheduler.plan.times.days import DayRule
from scheduler.plan.times.patterns import Pattern, patterns
from scheduler.plan.times.windows import window_of

YEAR = tuple(range(1, 13))
_NO_DAY = (99, 9801)
"""Longest gap and squared gaps where a window has none of the days."""


@dataclass(frozen=True, slots=True)
class CommonDays:
    """Days of some months that a whole site waters on, and no other.

    `parity` is that of the days themselves; where it is none, a window keeps its own
    odd or even dates, of which only those on these weekdays are left. `without` are
    kinds of head whose window permits none of the days.
    """

    months: tuple[int, ...]
    weekdays: int
    parity: int
    without: tuple[str, ...]


@cache
def common_days(
    windows: tuple[Window, ...], head_kinds: tuple[str, ...], most_days: int
) -> tuple[CommonDays, ...]:
    """Most even days, so many a week, that all windows in force permit together.

    The same all year where every window has one of them then, else month by month. Of
    all sets it is the one whose largest gap is smallest, then as in a window alone.
    """
    whole = _best(windows, head_kinds, YEAR, most_days)
    if whole is None or not whole.without:
        return () if whole is None else (whole,)
    found: dict[tuple[object, ...], CommonDays] = {}
    for month in YEAR:
        one = _best(windows, head_kinds, (month,), most_days)
        if one is not None:
            key = (one.weekdays, one.parity, one.without)
            before = found[key].months if key in found else ()
            found[key] = replace(one, months=(*before, month))
    return tuple(found.values())


def with_common_days(
    windows: tuple[Window, ...], head_kinds: tuple[str, ...], most_days: int
) -> tuple[Window, ...]:
    """The windows, each cut down to the days that the site has in common."""
    return tuple(
        _cut(window, days, most_days)
        for window in windows
        for days in common_days(windows, head_kinds, most_days)
        if set(window.months) & set(days.months)
    )


def _cut(window: Window, days: CommonDays, most_days: int) -> Window:
    apart = ALL_DATES not in (window.parity, days.parity)
    none = apart and window.parity != days.parity
    left = 0 if none else weekday_bits(window.weekdays) & days.weekdays
    return replace(
        window,
        months=tuple(month for month in window.months if month in days.months),
        weekdays=weekday_names(left),
        parity=window.parity or days.parity,
        most_days_a_week=min(most_days, window.most_days_a_week),
    )


def _best(
    windows: tuple[Window, ...],
    head_kinds: tuple[str, ...],
    months: Sequence[int],
    most_days: int,
) -> CommonDays | None:
    """Common days of some months; None where nothing is permitted in them anyway."""
    kinds: dict[Window, list[str]] = {}
    for kind in head_kinds:
        for month in months:
            window = window_of(windows, kind, month)
            if window is not None and kind not in kinds.setdefault(window, []):
                kinds[window].append(kind)
    any_of = 0
    for window in kinds:
        any_of |= weekday_bits(window.weekdays)
    tried = [
        CommonDays(tuple(months), pattern.weekdays, pattern.parity, ())
        for parity in {ALL_DATES, *(window.parity for window in kinds)}
        for pattern in patterns(parity, False)
        if pattern.within(any_of, most_days)
    ]
    if not tried:
        return None

    def worst_first(days: CommonDays) -> tuple[object, ...]:
        gaps = [_gaps(_cut(window, days, most_days)) for window in kinds]
        own = _as_pattern(days).order()
        return gaps.count(_NO_DAY), sorted(gaps, reverse=True), days.parity, own

    best = min(tried, key=worst_first)
    without = [
        kind
        for window, of_window in kinds.items()
        if _gaps(_cut(window, best, most_days)) == _NO_DAY
        for kind in of_window
    ]
    return replace(best, without=tuple(without))


def _as_pattern(days: CommonDays) -> Pattern:
    same = (p for p in patterns(days.parity, False) if p.weekdays == days.weekdays)
    return next(same)


def _gaps(window: Window) -> tuple[int, int]:
    """Longest gap and squared gaps of the most even days that a window permits."""
    return _gaps_of(DayRule.of_window(window))


@cache
def _gaps_of(rule: DayRule) -> tuple[int, int]:
    permitted = (
        (pattern.longest_gap, pattern.squared_gaps)
        for pattern in patterns(rule.parity, False)
        if pattern.within(rule.weekdays, rule.most_days)
    )
    return min(permitted, default=_NO_DAY)
