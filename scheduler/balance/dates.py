"""Days of a month on which a setting waters, in years of days."""

from __future__ import annotations

import numpy as np

from scheduler.calendar import Days, of_parity

NEVER = 10_000
"""Days since the last watering of what has not been watered."""


def watering_days(
    weekdays: np.ndarray,
    parity: np.ndarray,
    every_days: np.ndarray,
    days: Days,
    since: np.ndarray,
) -> np.ndarray:
    """Whether a setting waters on a day, (setting, year, day).

    `weekdays`, `parity` and `every_days` are (setting,), rows as in a Schedule; `days`
    holds the days of one month in every year, (year, day); `since` (setting, year)
    counts days from the last watering to the month's first day. An interval goes on
    from the last watering; where that falls on a day that is not permitted, the
    watering moves to the next one that is.
    """
    # Settings share their days, but for the turn of an interval.
    kinds, kind = np.unique(np.stack([weekdays, parity]), axis=1, return_inverse=True)
    of_week, among = kinds[..., None, None]
    kind = kind.reshape(-1)
    on = (of_week >> days.weekday & 1).astype(bool) & of_parity(days.of_month, among)
    found = on[kind]
    rows = np.flatnonzero(every_days)
    if rows.size:
        found[rows] = _in_turn(on, kind[rows], every_days[rows], since[rows])
    return found


def _in_turn(
    on: np.ndarray, kind: np.ndarray, every_days: np.ndarray, since: np.ndarray
) -> np.ndarray:
    """Days that an interval falls on, moved to the next permitted one.

    `on` (kind, year, day) are the permitted days, `kind` (setting,) its row.
    """
    length = on.shape[-1]
    every = every_days[:, None, None]
    first = np.maximum(every_days[:, None] - since, 0)[..., None]
    # First permitted day on or after each day; `length` where the month has none left.
    places = np.where(on, np.arange(length), length)
    ahead = np.full((*on.shape[:-1], length + 1), length)
    ahead[..., :length] = np.minimum.accumulate(places[..., ::-1], axis=-1)[..., ::-1]
    turn = first + every * np.arange(-(-length // int(every_days.min())))
    year = np.arange(on.shape[1])[:, None]
    moved = ahead[kind[:, None, None], year, np.minimum(turn, length)]
    found = np.zeros((*moved.shape[:-1], length + 1), dtype=bool)
    np.put_along_axis(found, moved, True, axis=-1)
    return found[..., :length]


def days_since(waters: np.ndarray, since: np.ndarray) -> np.ndarray:
    """Days from the last watering to the first day after a month, (setting, year).

    `waters` is (setting, year, day), `since` as at the month's first day.
    """
    length = waters.shape[-1]
    last = length - 1 - np.argmax(waters[..., ::-1], axis=-1)
    return np.where(
        waters.any(axis=-1), length - last, np.minimum(since + length, NEVER)
    )
