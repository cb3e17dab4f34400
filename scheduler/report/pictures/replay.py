"""A picture of one year of one zone: depletion with its limit, rain and watering."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scheduler.balance.day import WETTER, dry_limit
from scheduler.budget.replay import Replay, median_year, year_label
from scheduler.calendar import DAYS_IN_MONTH, DAYS_IN_YEAR
from scheduler.inputs.forms.dimensions import DIMENSIONS
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
)
from scheduler.report.words import replay as words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE_IN = (8.0, 4.9)
_LEFT_IN, _RIGHT_IN = 0.55, 0.4
_STRIPS_IN = {"rain": (3.35, 0.75), "ground": (1.6, 1.5), "water": (0.72, 0.63)}
"""Foot and height of the three strips."""
_LETTERS = 7.5


def replay_picture(
    replay: Replay, part: int, year: int | None, units: str, suffix: str
) -> bytes:
    """A year of the table on a zone; `year` is a row, None the one in the middle."""
    with look():
        return picture_bytes(replay_figure(replay, part, year, units), suffix)


def replay_figure(replay: Replay, part: int, year: int | None, units: str) -> Figure:
    """The same as a figure."""
    stage, way = replay.stage, replay.way("table")
    row = median_year(way, part) if year is None else year
    plan, played = stage.plan, way.played
    valve = int(plan.inputs.ground.valve[part])
    unit = DIMENSIONS["depth"].shown(units)
    dry = played.dry[part, row][:, WETTER].any(axis=1) & stage.warm
    figure = new_figure(_SIZE_IN)
    zones = plan.site.zones
    put_heading(
        figure, 0.2, _SIZE_IN[1] - 0.32, _SIZE_IN[0] - 0.4,
        words.picture_title(
            words.zone(zones.zone[valve], zones.name[valve], plan.stands_on.name[part]),
            plan.site.name,
        ),
        words.picture_facts(
            replay, year_label(stage.years, row), year is not None, int(dry.sum())
        ),
    )  # fmt: skip
    strips = {name: _strip(figure, name, stage.warm) for name in _STRIPS_IN}
    day = np.arange(DAYS_IN_YEAR) + 0.5
    per = unit.factor
    water = way.waterings.water_mm[valve, row] / per
    for name, depth, up in (
        ("rain", stage.years.rain_mm[row] / per, False), ("water", water, True)
    ):  # fmt: skip
        strips[name].bar(day, depth, 1.0, color=WATER, lw=0)
        _scale(strips[name], float(depth.max(initial=0.0)), up, unit.symbol)
    depletion = played.depletion_mm[part, row].mean(axis=1) / per
    allowed = np.broadcast_to(stage.store.allowed_depletion_mm[part], DAYS_IN_YEAR)
    limit = dry_limit(allowed, stage.store.need_mm[part, row]) / per
    _ground(strips["ground"], day, depletion, limit, dry)
    _scale(
        strips["ground"], float(max(depletion.max(), limit.max())), False, unit.symbol
    )
    for name, label in (("rain", words.RAIN), ("ground", words.MEAN_DEPLETION),
                        ("water", words.WATERING)):  # fmt: skip
        foot, tall = _STRIPS_IN[name]
        put_text(figure, _LEFT_IN / _SIZE_IN[0], (foot + tall + 0.05) / _SIZE_IN[1],
                 label, size=_LETTERS, color=GREY, va="bottom")  # fmt: skip
    _months(strips["water"])
    put_notes(figure, 0.2, words.PICTURE_NOTES)
    return figure


def _strip(figure: Figure, name: str, warm: np.ndarray) -> Axes:
    """Axes over the days of a year; months of frost are shaded."""
    wide, high = _SIZE_IN
    foot, tall = _STRIPS_IN[name]
    axes = figure.add_axes(
        (_LEFT_IN / wide, foot / high, (wide - _LEFT_IN - _RIGHT_IN) / wide,
         tall / high)
    )  # fmt: skip
    axes.set_xlim(0, DAYS_IN_YEAR)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.set_xticks([])
    starts = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH
    for start, length in zip(starts.tolist(), DAYS_IN_MONTH.tolist(), strict=True):
        if not warm[start]:
            axes.axvspan(start, start + length, color=SHADE, lw=0, zorder=0)
        if start:
            axes.axvline(start, color=PALE, lw=0.4, zorder=0.5)
    return axes


def _ground(
    axes: Axes,
    day: np.ndarray,
    depletion: np.ndarray,
    limit: np.ndarray,
    dry: np.ndarray,
) -> None:
    """Depletion downward from field capacity, with the limit and the dry days."""
    for at in np.flatnonzero(dry).tolist():
        axes.axvspan(at, at + 1, color=OVER, lw=0, zorder=1)
    axes.plot(day, limit, color=GREY, lw=0.8, dashes=(4, 2), zorder=2)
    put_text(axes, DAYS_IN_YEAR + 3, limit[-1], words.DRY_LIMIT, size=_LETTERS,
             color=GREY, va="center")  # fmt: skip
    axes.plot(day, depletion, color=INK, lw=0.9, zorder=3)


def _scale(axes: Axes, most: float, up: bool, symbol: str) -> None:
    """Ends of a strip, and a few numbers at the left, the last one with its unit."""
    from matplotlib.ticker import MaxNLocator

    top = 1.05 * most or 1.0
    axes.set_ylim((0, top) if up else (top, 0))
    ticks = [
        at for at in MaxNLocator(3, steps=[1, 2, 5, 10]).tick_values(0, top)
        if 0 <= at <= top
    ]  # fmt: skip
    axes.set_yticks(ticks, [])
    axes.tick_params(axis="y", length=2, color=PALE)
    for at in ticks:
        label = f"{at:g} {symbol}" if at == ticks[-1] else f"{at:g}"
        put_text(axes, -4, at, label, size=_LETTERS, color=GREY, ha="right",
                 va="center")  # fmt: skip


def _months(axes: Axes) -> None:
    middles = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH / 2
    for middle, name in zip(middles.tolist(), shown.MONTH_LABELS, strict=True):
        put_text(axes, middle, -0.06, name, size=_LETTERS, color=GREY, ha="center",
                 va="top", transform=axes.get_xaxis_transform())  # fmt: skip
