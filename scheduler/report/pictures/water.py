"""A picture of a year's water by month, for a page: the plan, and what runs today."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.report import shown
from scheduler.report.pictures.look import (
    GREY,
    INK,
    PALE,
    WATER,
    inline_svg,
    look,
    new_figure,
    put_text,
)
from scheduler.report.pictures.month_rows import month_names
from scheduler.report.words.pages import pictures as words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE_IN = (5.2, 2.1)
_LEFT_IN, _RIGHT_IN, _FOOT_IN, _TOP_IN = 0.62, 0.05, 0.3, 0.48
_LETTERS = 12.5
_BAR = 0.74
_FEW = 2000
"""What is drawn in a unit is less than this; else the next larger one is taken."""
_THOUSANDS = ((1, ""), (1_000, "1,000 "), (1_000_000, "million "))


def water_picture(
    planned_l: NDArray[np.float64],
    today_l: NDArray[np.float64] | None,
    units: str,
    label: str,
) -> str:
    """The year's water as one `<svg>` element: bars for the plan, an outline for today.

    Letters are large, for a page shows it small on a phone. `label` says in words what
    is to be seen.
    """
    with look():
        return inline_svg(water_figure(planned_l, today_l, units), label)


def water_figure(
    planned_l: NDArray[np.float64], today_l: NDArray[np.float64] | None, units: str
) -> Figure:
    """The same as a figure; both arrays are (12,), January first."""
    known = [planned_l] if today_l is None else [planned_l, today_l]
    most_l = max(0.0, *(float(np.max(values)) for values in known))
    per_unit, unit = _unit(most_l, units)
    figure = new_figure(_SIZE_IN)
    wide, tall = _SIZE_IN
    axes = figure.add_axes(
        (_LEFT_IN / wide, _FOOT_IN / tall, (wide - _LEFT_IN - _RIGHT_IN) / wide,
         (tall - _FOOT_IN - _TOP_IN) / tall)
    )  # fmt: skip
    axes.set_axis_off()
    axes.set_xlim(0, 12)
    axes.set_ylim(0, most_l / per_unit or 1.0)
    _grid(axes)
    month_names(axes, 0.5, 1, -0.04, va="top", size=_LETTERS,
                transform=axes.get_xaxis_transform())  # fmt: skip
    axes.bar(np.arange(12) + 0.5, planned_l / per_unit, _BAR, color=WATER, lw=0,
             zorder=2, clip_on=False)  # fmt: skip
    if today_l is not None:
        for color, width in (("white", 4.5), (INK, 1.8)):
            axes.stairs(today_l / per_unit, np.arange(13), baseline=None, color=color,
                        lw=width, zorder=3, clip_on=False)  # fmt: skip
    _key(figure, known, per_unit, unit)
    return figure


def _unit(most_l: float, units: str) -> tuple[float, str]:
    """Liters in the unit that keeps labels short, and its name."""
    volume = DIMENSIONS["volume"]
    large = volume.unit("gal" if units == "us" else "m3")
    if units != "us" and most_l < _FEW * volume.si.factor:
        large = volume.si
    most = large.from_si(most_l)
    fitting = [step for step in _THOUSANDS if most < _FEW * step[0]]
    times, word = [*fitting, _THOUSANDS[-1]][0]
    return times * large.factor, f"{word}{large.symbol}"


def _grid(axes: Axes) -> None:
    """A few light lines, each with its number at the left."""
    from matplotlib.ticker import MaxNLocator

    low, high = axes.get_ylim()
    for at in MaxNLocator(4, steps=[1, 2, 5, 10]).tick_values(low, high):
        if at <= high:
            axes.plot([0, 12], [at, at], color=PALE, lw=0.8, zorder=1, clip_on=False)
            put_text(axes, -0.1, at, f"{at:,g}", size=_LETTERS, color=GREY, ha="right",
                     va="center")  # fmt: skip


def _key(
    figure: Figure, known: list[NDArray[np.float64]], per_unit: float, unit: str
) -> None:
    """The unit, then each mark with its name and its largest month."""
    wide, tall = _SIZE_IN
    line = 1 - 0.13 / tall
    put_text(figure, 0.02 / wide, line, unit, size=_LETTERS, color=GREY, va="center")
    right = wide - _RIGHT_IN
    marks: list[tuple[str, dict[str, Any]]] = [
        (words.PLAN, {"lw": 9.0, "color": WATER}),
        (words.OLD_SETTINGS, {"lw": 1.8, "color": INK}),
    ]
    for values, (name, style) in zip(known[::-1], marks[len(known) - 1 :: -1],
                                     strict=True):  # fmt: skip
        text = put_text(figure, right / wide, line, name + _largest(values / per_unit),
                        size=_LETTERS, ha="right", va="center")  # fmt: skip
        left = right - text.get_window_extent().width / figure.dpi
        _mark(figure, [left - 0.32, left - 0.08], tall * line, style)
        right = left - 0.5


def _mark(
    figure: Figure, across_in: list[float], up_in: float, style: dict[str, Any]
) -> None:
    from matplotlib.lines import Line2D

    wide, tall = _SIZE_IN
    figure.add_artist(
        Line2D([at / wide for at in across_in], [up_in / tall] * 2,
               solid_capstyle="butt", **style)
    )  # fmt: skip


def _largest(values: NDArray[np.float64]) -> str:
    """Largest month and its number, in brackets."""
    month = int(np.argmax(values))
    most = float(values[month])
    if most <= 0:
        return " (none)"
    digits = 1 if most < 100 else 0
    return f" ({shown.MONTH_LABELS[month]} {shown.number(most, digits)})"
