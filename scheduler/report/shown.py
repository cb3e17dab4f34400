"""SI values as people are shown them: unit by system, digits by quantity."""

from __future__ import annotations

import datetime
import itertools
import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from scheduler.calendar import (
    ALL_WEEK,
    MONTHS,
    PARITIES,
    weekday_bits,
    weekday_names,
    weekday_rows,
)
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window, Zones
from scheduler.report.counting import listed as listed

MONTH_LABELS = tuple(month.capitalize() for month in MONTHS)
_DAY_LABELS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")

_CODES = re.compile(r"(?!\r\n)[\x00-\x08\x0b-\x1f\x7f-\x9f]")
"""Control codes but tab and line end."""
_SIGNS = {code: chr(0x2400 + code) for code in range(32)} | {127: "\u2421"}
"""Unicode's pictures of the first control codes, and of delete."""
_MARKUP = re.compile(r"[\\`*~|<]|(?<!\w)_|_(?!\w)|\](?=[(\[:])")

_DIGITS = {
    ("depth", "us"): 2, ("depth", "metric"): 0,
    ("catch", "us"): 3, ("catch", "metric"): 1,
    ("depth_day", "us"): 2, ("depth_day", "metric"): 1,
    ("rate", "us"): 2, ("rate", "metric"): 1,
    ("length", "us"): 1, ("length", "metric"): 1,
    ("flow", "us"): 1, ("flow", "metric"): 1,
    ("temperature", "us"): 0, ("temperature", "metric"): 1,
    ("wind", "us"): 0, ("wind", "metric"): 1,
    ("storage", "us"): 2, ("storage", "metric"): 0,
}  # fmt: skip


def number(value: float | None, digits: int = 0) -> str:
    """Number with thousands set off, "" for nothing to show."""
    if value is None or not math.isfinite(value):
        return ""
    return f"{value:,.{digits}f}"


def minutes(value: float) -> str:
    """Minutes without a needless decimal."""
    return f"{round(value, 2):g}"


def share(value: float) -> str:
    """Share of 0 to 1 in whole percent, "" for nothing to show."""
    return f"{100 * value:.0f} %" if math.isfinite(value) else ""


def minutes_or_blank(value: float) -> str:
    """Minutes, "" for none."""
    return minutes(value) if value else ""


def symbol(dimension: str, units: str) -> str:
    """Unit symbol of a dimension, as `gpm`."""
    return DIMENSIONS[dimension].shown(units).symbol


def amount(
    value_si: float | None, dimension: str, units: str, digits: int | None = None
) -> str:
    """Value in the reader's unit, without the unit."""
    if value_si is None or not math.isfinite(value_si):
        return ""
    shown = DIMENSIONS[dimension].shown(units).from_si(value_si)
    usual = _DIGITS.get((dimension, units), 0)
    if dimension == "flow" and abs(shown) < 10:
        usual += 1
    return number(shown, usual if digits is None else digits)


def quantity(
    value_si: float | None, dimension: str, units: str, digits: int | None = None
) -> str:
    """Value in the reader's unit, with the unit."""
    text = amount(value_si, dimension, units, digits)
    return f"{text} {symbol(dimension, units)}" if text else "unknown"


def price(amount: Decimal, currency: str) -> str:
    """Price with as many decimals as it is given with, and two at least."""
    exponent = amount.normalize().as_tuple().exponent
    return money(
        amount, currency, max(-exponent if isinstance(exponent, int) else 0, 2)
    )


def money(amount: Decimal, currency: str, digits: int = 2) -> str:
    """Amount with its sign before it, or its code or word after it."""
    figures = f"{abs(amount):,.{digits}f}"
    minus = "-" if amount < 0 else ""
    if any(unicodedata.category(letter) == "Sc" for letter in currency):
        return f"{minus}{currency}{figures}"
    return f"{minus}{figures} {currency}".rstrip()


def days_text(weekdays: int, parity: int, every_days: int) -> str:
    """Watering days in words, short enough for a column."""
    if not weekdays:
        return ""
    names = " ".join(_DAY_LABELS[row] for row in weekday_rows(weekdays))
    if every_days:
        every = f"every {every_days} days"
        return every if weekdays == ALL_WEEK else f"{names}, {every}"
    if parity:
        dates = f"{PARITIES[parity]} dates"
        return dates if weekdays == ALL_WEEK else f"{PARITIES[parity]} {names}"
    return "every day" if weekdays == ALL_WEEK else names


def window_text(window: Window) -> str:
    """A window's days and hours, and for which heads and months, if not for all."""
    days = days_text(weekday_bits(window.weekdays), window.parity, 0)
    only = [] if window.head_kinds == HEAD_KINDS else [listed(window.head_kinds)]
    if len(window.months) < len(MONTH_LABELS):
        only.append(months_text(list(window.months)))
    told = f"{days} {window.opens}-{window.closes}"
    return f"{told} ({', '.join(only)})" if only else told


def hours_text(windows: Iterable[Window]) -> str:
    """Days and hours of windows, where it is told apart whose they are."""
    alone = (replace(window, head_kinds=HEAD_KINDS) for window in windows)
    return "; ".join(map(window_text, alone))


def own_name(zone: str, name: str) -> str:
    """What people call a zone; "" where that says no more than its number."""
    return "" if name in (zone, f"Zone {zone}") else name


def zone_title(zone: str, name: str) -> str:
    """Heading of a zone: its number, and its name where it has one."""
    own = own_name(zone, name)
    return f"Zone {zone}: {own}" if own else f"Zone {zone}"


def months_text(months: list[int]) -> str:
    """Months as runs, around the turn of the year: `Nov-Feb, May`."""
    if len(months) == 12:
        return "all months"
    wanted = set(months)
    starts = [month for month in sorted(wanted) if (month - 2) % 12 + 1 not in wanted]
    runs = []
    for first in starts:
        last = first
        while last % 12 + 1 in wanted:
            last = last % 12 + 1
        label = MONTH_LABELS[first - 1]
        runs.append(label if first == last else f"{label}-{MONTH_LABELS[last - 1]}")
    return ", ".join(runs)


def date_text(date: datetime.date) -> str:
    """Date with its year, as it is read: `26 Nov 2026`."""
    return f"{date.day} {MONTH_LABELS[date.month - 1]} {date.year}"


def day_text(date: datetime.date) -> str:
    """A date with its weekday: `Mon 30 Nov 2026`."""
    return f"{weekday_text(date)} {date_text(date)}"


def days_named(days: Sequence[datetime.date]) -> str:
    """Dates with their weekdays: `Thu 29 Apr, Mon 3 and Wed 5 May 2027`."""
    told = [
        f"{weekday_text(day)} {day.day}"
        + f" {MONTH_LABELS[day.month - 1]}" * (day.month != then.month)
        for day, then in itertools.pairwise(days)
    ]
    return listed([*told, day_text(days[-1])])


def weekday_text(date: datetime.date) -> str:
    """Weekday of a date: `Mon`."""
    return weekday_names(1 << date.weekday())[0].capitalize()


def cut(text: str, most: int) -> str:
    """Text of at most so many letters, with an ellipsis where some are left out.

    They are left out of the middle: names that begin alike mostly end differently.
    """
    if len(text) <= most:
        return text
    tail = (most - 1) // 3
    return f"{text[: most - 1 - tail].rstrip()}…{text[len(text) - tail :].lstrip()}"


def zone_label(zone: str, name: str) -> str:
    """Zone with its name, where the name says more."""
    return f"{zone} {own_name(zone, name)}".rstrip()


def zone_labels(zones: Zones, most_letters: int = 0) -> list[str]:
    """Labels of all zones, cut to so many letters; 0: in full."""
    told = map(zone_label, zones.zone, zones.name)
    return [cut(label, most_letters) if most_letters else label for label in told]


def visible(text: str) -> str:
    """Text in which no code reaches a terminal: each shows as a sign of its own."""
    return _CODES.sub(lambda code: _SIGNS.get(ord(code[0]), "\ufffd"), text)


def for_markdown(text: str) -> str:
    """Text that markdown, its tables and a browser show as it stands.

    No tag, link, code or emphasis begins in it.
    """
    return _MARKUP.sub(r"\\\g<0>", visible(text))


def value_text(value: Any) -> str:
    """Default value of a field in words."""
    if value is True or value is False:
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
