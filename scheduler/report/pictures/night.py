"""A picture of a watering night: zones as rows, time across."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from scheduler.calendar import S_PER_MIN
from scheduler.plan.night.earliest_end import Span, joined
from scheduler.plan.night.month import NightRun
from scheduler.plan.night.plan import NightPlan
from scheduler.report import shown
from scheduler.report.pictures.look import (
    GREY,
    INK,
    OVER,
    PALE,
    SHADE,
    WATER,
    look,
    new_figure,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
    put_zone,
    zone_column_in,
)
from scheduler.report.words.controller import night as words
from scheduler.report.words.pages import pictures as said

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HOUR_S = 3600
QUARTER_MIN = 15
IDLE_S = 3 * HOUR_S
"""Longer pauses are cut out of the picture."""
_WIDE_IN, _ROW_IN, _CUT_IN = 7.4, 0.24, 0.34
_LEFT_IN, _RIGHT_IN, _TOP_IN, _FOOT_IN = 2.0, 0.45, 0.95, 0.62
_MARGIN_IN, _GAP_IN, _LETTER_IN = 0.2, 0.1, 0.062
_LABEL = 7.5


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Part of the night that is drawn, and where it begins on the paper."""

    start_s: int
    end_s: int
    left_in: float


class _Scale:
    """Inches across the paper of each time; stretches with nothing to show left out."""

    def __init__(self, runs: Sequence[NightRun]) -> None:
        spans = joined(
            (run.start_s - IDLE_S // 2, run.end_s + IDLE_S // 2) for run in runs
        )
        ends = [
            _whole_hours(
                min(r.start_s for r in runs if start <= r.start_s < end),
                max(r.end_s for r in runs if start < r.end_s <= end),
            )
            for start, end in spans
        ]
        total = sum(end - start for start, end in ends)
        self.per_s = (_WIDE_IN - _CUT_IN * (len(ends) - 1)) / total
        self.stretches = []
        left = 0.0
        for start, end in ends:
            self.stretches.append(_Stretch(start, end, left))
            left += (end - start) * self.per_s + _CUT_IN

    def inch(self, seconds: float, stretch: _Stretch) -> float:
        """Place of a time in a stretch."""
        return stretch.left_in + (seconds - stretch.start_s) * self.per_s

    def bars(self, start_s: int, end_s: int) -> list[tuple[float, float]]:
        """Left end and width of a time span, in each stretch that it meets."""
        found = []
        for part in self.stretches:
            start, end = max(start_s, part.start_s), min(end_s, part.end_s)
            if start < end:
                found.append((self.inch(start, part), (end - start) * self.per_s))
        return found


def _whole_hours(start_s: int, end_s: int) -> Span:
    """A time span out to quarters of an hour that are off its ends."""
    quarter = HOUR_S // 4
    return (start_s // quarter) * quarter, -(-end_s // quarter) * quarter


def night_picture(found: NightPlan, suffix: str) -> bytes:
    """The night's runs as bars, a row for each zone, closed hours in grey."""
    with look():
        stations = found.plan.site.zones.station
        rows = sorted(found.night.hours, key=lambda row: int(stations[row]))
        height = _TOP_IN + _FOOT_IN + max(len(rows), 1) * _ROW_IN
        width = _LEFT_IN + _WIDE_IN + _RIGHT_IN
        figure = new_figure((width, height))
        _title(figure, (width, height), found)
        if found.night.runs:
            axes = figure.add_axes(
                (_LEFT_IN / width, _FOOT_IN / height, _WIDE_IN / width,
                 len(rows) * _ROW_IN / height)
            )  # fmt: skip
            axes.set_xlim(0, _WIDE_IN)
            axes.set_ylim(len(rows), 0)
            axes.set_axis_off()
            scale = _Scale(found.night.runs)
            for place, row in enumerate(rows):
                _hours(axes, scale, place, found.night.hours[row])
            _clock(axes, scale, found, len(rows))
            for place, row in enumerate(rows):
                _runs(axes, scale, place, found, row)
            _key(figure, found)
        return picture_bytes(figure, suffix)


def _title(figure: Any, size: tuple[float, float], found: NightPlan) -> None:
    title = f"{words.long_date(found.night.date)}: {found.plan.site.name}"
    put_heading(figure, _MARGIN_IN, size[1] - 0.32, size[0] - 2 * _MARGIN_IN, title,
                " ".join(words.facts(found)[:1]))  # fmt: skip


def _hours(axes: Axes, scale: _Scale, place: int, hours: Sequence[Span]) -> None:
    """Grey where the zone may not run, white where it may."""
    for part in scale.stretches:
        width = (part.end_s - part.start_s) * scale.per_s
        axes.barh(place + 0.5, width, 1.0, part.left_in, color=SHADE, lw=0, zorder=1)
    for opens, closes in hours:
        for left, width in scale.bars(opens, closes):
            axes.barh(place + 0.5, width, 1.0, left, color="white", lw=0, zorder=2)
    right = max(part.left_in + (part.end_s - part.start_s) * scale.per_s
                for part in scale.stretches)  # fmt: skip
    axes.plot([0, right], [place + 1] * 2, color=PALE, lw=0.4, zorder=3)


def _clock(axes: Axes, scale: _Scale, found: NightPlan, rows: int) -> None:
    """Hours above the rows, with the weekday at the start and at each midnight."""
    clock = found.planner.hours.clock
    step = _minutes_apart(scale)
    for part in scale.stretches:
        first = True
        # Clocks are set forward and back by whole quarters of an hour.
        apart = int(min(step, QUARTER_MIN) * S_PER_MIN)
        for tick in range(part.start_s, part.end_s + 1, apart):
            time = clock(tick)
            if (60 * time.hour + time.minute) % step:
                continue
            at = scale.inch(tick, part)
            midnight = not time.hour
            axes.plot([at, at], [0, rows], color=GREY if midnight else PALE,
                      lw=0.9 if midnight else 0.5, zorder=3.5)  # fmt: skip
            put_text(axes, at, -0.18, f"{time:%H:%M}", size=7, ha="center",
                     va="bottom", color=GREY)  # fmt: skip
            if first or midnight:
                day = words.clock(found, tick).split()[0]
                put_text(axes, at, -0.75, day, size=7.5, ha="center", va="bottom",
                         weight="bold")  # fmt: skip
            first = False
    for before, after in pairwise(scale.stretches):
        end = before.left_in + (before.end_s - before.start_s) * scale.per_s
        middle = (end + after.left_in) / 2
        put_text(axes, middle, rows / 2, said.PAUSE, size=7, color=GREY,
                 rotation=90, ha="center", va="center")  # fmt: skip


def _minutes_apart(scale: _Scale) -> int:
    """Minutes between two marks, such that their labels keep apart.

    Less than an hour only where that leaves them room: on short nights.
    """
    for step in (5, QUARTER_MIN, 30, 60, 120, 180, 240, 360):
        if step * S_PER_MIN * scale.per_s >= (0.4 if step >= 60 else 0.7):
            return step
    return 720


def _runs(axes: Axes, scale: _Scale, place: int, found: NightPlan, row: int) -> None:
    zones = found.plan.site.zones
    names = zones.zone[row], zones.name[row]
    put_zone(axes, _MARGIN_IN - _LEFT_IN, place + 0.5, names,
             _LEFT_IN - _GAP_IN - _MARGIN_IN, zone_column_in(zones.zone, _LABEL),
             va="center", size=_LABEL)  # fmt: skip
    runs = [run for run in found.night.runs if run.zone == row]
    for one, after in pairwise(runs):
        for left, width in scale.bars(one.end_s, after.start_s):
            axes.plot([left, left + width], [place + 0.5] * 2, color=WATER, lw=0.8,
                      zorder=4, solid_capstyle="butt")  # fmt: skip
    for run in runs:
        color, letters, edge = WATER, "white", 0.0
        if run.over_s:
            color, letters, edge = OVER, INK, 0.6
        for left, width in scale.bars(run.start_s, run.end_s):
            axes.barh(place + 0.5, max(width, 0.015), 0.62, left, facecolor=color,
                      edgecolor=INK, lw=edge, zorder=5)  # fmt: skip
            minutes = shown.minutes(round((run.end_s - run.start_s) / S_PER_MIN, 1))
            if width >= _LETTER_IN * (len(minutes) + 0.6):
                put_text(axes, left + width / 2, place + 0.52, minutes, size=6.5,
                         color=letters, ha="center", va="center", zorder=6)  # fmt: skip
    end = runs[-1]
    for left, width in scale.bars(end.start_s, end.end_s):
        until = words.clock(found, end.end_s).split()[1]
        put_text(axes, left + width + 0.05, place + 0.52, until, size=6.5,
                 color=INK, ha="left", va="center", zorder=6)  # fmt: skip


def _any_closed(found: NightPlan) -> bool:
    """Whether some zone may not run at a time that is drawn, so that grey is seen."""
    drawn = [(part.start_s, part.end_s) for part in _Scale(found.night.runs).stretches]
    return any(
        not any(opens <= start and end <= closes for opens, closes in joined(hours))
        for hours in found.night.hours.values()
        for start, end in drawn
    )


def _key(figure: Any, found: NightPlan) -> None:
    parts = [said.night_key(_any_closed(found))]
    if not found.night.fits:
        parts.append(said.too_long(words.duration(found.night.over_s)))
    parts.append(said.times_of(found.planner.hours.timezone))
    put_notes(figure, _MARGIN_IN, parts)
