"""A picture of the watering table: minutes a week, a row of twelve bars a zone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.pictures import month_rows as monthrows
from scheduler.report.pictures.look import (
    GREY,
    INK,
    NOTE_IN,
    PALE,
    SHADE,
    WATER,
    look,
    note_lines,
    paper,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
    put_zone,
    zone_column_in,
)
from scheduler.report.words import sentences
from scheduler.report.words.climate import method_words
from scheduler.report.words.pages import pictures as words
from scheduler.units import MIN_PER_H

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SHARE_IN = 0.55
_WIDE_IN = monthrows.RIGHT_IN + _SHARE_IN + monthrows.MARGIN_IN
_TOP_IN, _FOOT_IN, _TOTAL_IN = 0.95, 0.45, 0.75
_NUMBER_IN = 0.14
_ROWS_IN, _TALL_ROW_IN, _LOW_ROW_IN = 9.0, 0.62, 0.34
"""Rows share this height as long as they are neither too tall nor too low for it."""


def table_picture(plan: SitePlan, units: str, suffix: str) -> bytes:
    """Minutes a week by zone and month, and the hours of all zones at the bottom."""
    with look():
        return picture_bytes(table_figure(plan, units), suffix)


def table_figure(plan: SitePlan, units: str) -> Figure:
    """The same as a figure."""
    weekly = plan.plan.schedule.minutes_per_week
    row_in = float(np.clip(_ROWS_IN / len(weekly), _LOW_ROW_IN, _TALL_ROW_IN))
    notes = _notes(plan)
    room = _WIDE_IN - 2 * monthrows.MARGIN_IN
    foot = _FOOT_IN + NOTE_IN * len(note_lines(notes, room))
    tall = _TOP_IN + row_in * len(weekly) + _TOTAL_IN + foot
    figure, axes = paper((_WIDE_IN, tall))
    put_heading(figure, monthrows.MARGIN_IN, tall - 0.32, room,
                words.table(plan.site.name), _facts(plan, units))  # fmt: skip
    busiest = _busiest(weekly)
    _busy_month(axes, busiest, foot - 0.2, tall - _TOP_IN + 0.22)
    monthrows.month_axis(axes, tall - _TOP_IN + 0.1, busiest)
    put_text(axes, _WIDE_IN - monthrows.MARGIN_IN, tall - _TOP_IN + 0.1,
             "share", size=7, color=GREY, ha="right", va="center")  # fmt: skip
    _zones(axes, plan, tall - _TOP_IN, row_in)
    _all_zones(axes, weekly, foot)
    monthrows.month_axis(axes, foot - 0.1, busiest)
    put_notes(figure, monthrows.MARGIN_IN, notes)
    return figure


def _busiest(weekly: np.ndarray) -> tuple[int, ...]:
    """Month in which all zones together run longest; none where nothing runs."""
    together = weekly.sum(axis=0)
    return (int(np.argmax(together)),) if together.any() else ()


def _facts(plan: SitePlan, units: str) -> str:
    """What the picture shows at a glance, in words."""
    weekly = plan.plan.schedule.minutes_per_week
    if not weekly.any():
        return words.NOTHING_RUNS
    (month,) = _busiest(weekly)
    hours = shown.number(float(weekly[:, month].sum()) / MIN_PER_H, 1)
    total = shown.quantity(float(plan.plan.volume_l.sum()), "volume", units)
    return words.busiest(shown.MONTH_LABELS[month], hours, total)


def _notes(plan: SitePlan) -> list[str]:
    return [
        words.TABLE_SCALES,
        words.climate_of(plan.months.source, method_words(plan.months.method)),
        " ".join(sentences.WATCH),
    ]


def _busy_month(
    axes: Axes, busiest: tuple[int, ...], low_in: float, high_in: float
) -> None:
    """A light band behind the busiest month."""
    for month in busiest:
        left = monthrows.LEFT_IN + month * monthrows.MONTH_IN
        axes.bar(left, high_in - low_in, monthrows.MONTH_IN, low_in, align="edge",
                 color=SHADE, lw=0, zorder=0)  # fmt: skip


def _zones(axes: Axes, plan: SitePlan, top_in: float, row_in: float) -> None:
    """A row a zone: its name, its weeks, and its share of all minutes of the year."""
    zones = plan.site.zones
    weekly = plan.plan.schedule.minutes_per_week
    per_min = (row_in - _NUMBER_IN) / (weekly.max() or 1.0)
    year = weekly @ (DAYS_IN_MONTH / 7)
    shares = year / (year.sum() or 1.0)
    column = zone_column_in(zones.zone, 8)
    for row, minutes in enumerate(weekly):
        base = top_in - (row + 1) * row_in
        most = bool(year[row]) and year[row] == year.max()
        weight = "bold" if most else "normal"
        put_zone(axes, monthrows.MARGIN_IN, base + 0.03,
                 (zones.zone[row], zones.name[row]), monthrows.ROOM_IN, column,
                 weight, size=8)  # fmt: skip
        monthrows.month_bars(axes, base, per_min * minutes, WATER)
        _longest(axes, base, per_min, minutes)
        if minutes.any():
            put_text(axes, _WIDE_IN - monthrows.MARGIN_IN, base + 0.03,
                     _share(float(shares[row])), ha="right", weight=weight,
                     color=INK if most else GREY)  # fmt: skip


def _share(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.005 else "< 1 %"


def _longest(axes: Axes, base_in: float, per_min: float, minutes: np.ndarray) -> None:
    """Minutes of a zone's longest week, above its bar."""
    if not minutes.any():
        put_text(axes, monthrows.LEFT_IN + 0.08, base_in + 0.03, words.NEVER_RUNS,
                 size=7, color=GREY)  # fmt: skip
        return
    month = int(np.argmax(minutes))
    texts = [shown.number(m) if place == month else ""
             for place, m in enumerate(minutes)]  # fmt: skip
    up = base_in + per_min * minutes + 0.03
    monthrows.month_numbers(axes, up, texts, va="bottom")


def _all_zones(axes: Axes, weekly: np.ndarray, base_in: float) -> None:
    """Hours a week of all zones together, each month written out."""
    hours = weekly.sum(axis=0) / MIN_PER_H
    per_hour = (_TOTAL_IN - 0.3) / (hours.max() or 1.0)
    axes.plot([monthrows.MARGIN_IN, _WIDE_IN - monthrows.MARGIN_IN],
              [base_in + _TOTAL_IN - 0.07] * 2, color=PALE, lw=0.6)  # fmt: skip
    put_text(axes, monthrows.MARGIN_IN, base_in + 0.17, words.ALL_ZONES, size=8)
    put_text(axes, monthrows.MARGIN_IN, base_in + 0.03, words.HOURS_A_WEEK, size=7,
             color=GREY)  # fmt: skip
    monthrows.month_bars(axes, base_in, per_hour * hours, GREY)
    texts = [shown.number(hour, 1) if hour else "" for hour in hours]
    monthrows.month_numbers(axes, base_in + per_hour * hours + 0.03, texts,
                            va="bottom")  # fmt: skip
