"""A picture of a climate: ET0, rain and what is left to water, month by month."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.report import shown
from scheduler.report.frames import REFERENCE_STORE_MM
from scheduler.report.pictures import month_rows as monthrows
from scheduler.report.pictures.look import (
    GREY,
    INK,
    NOTE_IN,
    WATER,
    look,
    note_lines,
    paper,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
)
from scheduler.report.views.climate import (
    ClimateView,
    effective_rain_of_grass,
    shown_year,
)
from scheduler.report.words.climate import method_words
from scheduler.report.words.pages import pictures as words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDE_IN = monthrows.RIGHT_IN + monthrows.MARGIN_IN
_TOP_IN, _FOOT_IN = 0.8, 0.32
_TALLEST_IN, _LOWEST_IN, _NUMBERS_IN, _GAP_IN = 1.3, 0.42, 0.2, 0.16
_UNITS = {"us": "inches", "metric": "millimeters"}


@dataclass(frozen=True, slots=True, eq=False)
class _Row:
    """Twelve depths: of all, of the part that is filled, and of a dry year."""

    name: str
    told: tuple[str, ...]
    color: str
    all_mm: np.ndarray
    filled_mm: np.ndarray
    dry_mm: np.ndarray | None


def climate_picture(view: ClimateView, units: str, suffix: str) -> bytes:
    """ET0, rain and net need of reference grass, a row of bars each, to one scale."""
    with look():
        return picture_bytes(climate_figure(view, units), suffix)


def climate_figure(view: ClimateView, units: str) -> Figure:
    """The same as a figure."""
    rows = _rows(view)
    most = max(float(np.nanmax(_tops(row), initial=0.0)) for row in rows) or 1.0
    per_mm = _TALLEST_IN / most
    bodies = [
        max(_LOWEST_IN, per_mm * float(np.nanmax(_tops(row), initial=0.0)))
        for row in rows
    ]
    notes = _notes(view, units)
    foot = (
        _FOOT_IN
        + 0.15 * any(view.months.frost)
        + NOTE_IN * len(note_lines(notes, _WIDE_IN - 2 * monthrows.MARGIN_IN))
    )
    tall = _TOP_IN + foot + sum(bodies) + len(rows) * (_NUMBERS_IN + _GAP_IN)
    figure, axes = paper((_WIDE_IN, tall))
    put_heading(
        figure, monthrows.MARGIN_IN, tall - 0.32, _WIDE_IN - 2 * monthrows.MARGIN_IN,
        *words.climate(view.name, _UNITS[units]),
    )  # fmt: skip
    base = tall - _TOP_IN
    for row, body in zip(rows, bodies, strict=True):
        base -= body
        _draw(axes, base, per_mm, row, units)
        base -= _NUMBERS_IN + _GAP_IN
    monthrows.month_axis(axes, base + 0.05)
    frosts = [words.FROST if frost else "" for frost in view.months.frost]
    monthrows.month_numbers(axes, np.full(12, base - 0.1), frosts, color=GREY,
                            va="center")  # fmt: skip
    put_notes(figure, monthrows.MARGIN_IN, notes)
    return figure


def _rows(view: ClimateView) -> tuple[_Row, ...]:
    months, series = view.months, view.months.series
    et0, rain = shown_year(months)
    need = et0 * DAYS_IN_MONTH
    usable = effective_rain_of_grass(need, rain)
    net, dry_net = need - usable, None
    told: tuple[str, ...] = words.NET_NEED[1]
    if series is not None and len(series.years) > 1:
        dry_need = series.dry_et0_mm_day * DAYS_IN_MONTH
        dry_net = dry_need - effective_rain_of_grass(dry_need, series.dry_rain_mm)
        told = (*told, words.DRY_YEAR_LINES)
    return (
        _Row(*words.ET0, GREY, need, need, None),
        _Row(*words.RAIN, WATER, rain, usable, None),
        _Row(words.NET_NEED[0], told, WATER, net, net, dry_net),
    )  # fmt: skip


def _tops(row: _Row) -> np.ndarray:
    return row.all_mm if row.dry_mm is None else np.fmax(row.all_mm, row.dry_mm)


def _draw(axes: Axes, base_in: float, per_mm: float, row: _Row, units: str) -> None:
    """Bars of a row, its name at the left, its numbers underneath."""
    if row.filled_mm is not row.all_mm:
        monthrows.month_bars(axes, base_in, per_mm * row.all_mm, row.color, hollow=True)
    monthrows.month_bars(axes, base_in, per_mm * row.filled_mm, row.color)
    if row.dry_mm is not None:
        monthrows.month_marks(axes, base_in, per_mm * row.dry_mm)
    numbers = [shown.amount(depth, "depth", units) for depth in row.all_mm]
    monthrows.month_numbers(axes, np.full(12, base_in - 0.05), numbers, va="top")
    total = float(row.all_mm.sum())
    year = words.UNKNOWN
    if np.isfinite(total):
        year = words.a_year(shown.quantity(total, "depth", units))
    lines = [(row.name, 9.0, INK, "bold"), (year, 8.0, INK, "normal"),
             *((line, 7.0, GREY, "normal") for line in row.told)]  # fmt: skip
    up = base_in + 0.15 * (len(lines) - 1) - 0.12
    for text, size, color, weight in lines:
        put_text(axes, monthrows.MARGIN_IN, up, text, size=size, color=color,
                 weight=weight, va="baseline")  # fmt: skip
        up -= 0.15


def _notes(view: ClimateView, units: str) -> list[str]:
    months, series = view.months, view.months.series
    source = "" if view.name == months.source else months.source
    store = shown.quantity(REFERENCE_STORE_MM, "depth", units)
    notes = []
    if series is not None and len(series.years) > 1:
        notes.append(
            words.means(series.years[0], series.years[-1], series.dry_percentile)
        )
    return [
        *notes,
        words.reference_grass(source, method_words(months.method), store),
    ]
