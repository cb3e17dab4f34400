"""Twelve bars in a row, January first: what the pictures of a year have in common."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.report import shown
from scheduler.report.pictures.look import INK, PALE, put_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MARGIN_IN, LEFT_IN, MONTH_IN = 0.2, 2.15, 0.4
RIGHT_IN = LEFT_IN + 12 * MONTH_IN
"""Inches across the paper: its margin, where the months begin, and where they end."""
ROOM_IN = LEFT_IN - MARGIN_IN - 0.15
"""Room for the name of a row."""

_BAR = 0.74
_CENTERS_IN = LEFT_IN + MONTH_IN * (np.arange(12) + 0.5)


def month_names(
    axes: Axes,
    first: float,
    apart: float,
    up: float,
    bold: Sequence[int] = (),
    **style: Any,
) -> None:
    """Jan … Dec at a height, the first at some place and the rest as far apart."""
    for month, name in enumerate(shown.MONTH_LABELS):
        weight = "bold" if month in bold else "normal"
        put_text(axes, first + month * apart, up, name, ha="center",
                 weight=weight, **style)  # fmt: skip


def month_axis(axes: Axes, up_in: float, bold: Sequence[int] = ()) -> None:
    """The names of the months under, or over, the rows."""
    month_names(axes, _CENTERS_IN[0], MONTH_IN, up_in, bold, va="center", size=8)


def month_bars(
    axes: Axes, base_in: float, heights_in: np.ndarray, color: str, hollow: bool = False
) -> None:
    """Bars that stand on a thin line; hollow ones are drawn as outlines."""
    axes.plot([LEFT_IN, RIGHT_IN], [base_in] * 2, color=PALE, lw=0.6, zorder=1)
    style: dict[str, Any] = {"color": color, "lw": 0}
    if hollow:
        style = {"facecolor": "white", "edgecolor": color, "lw": 0.8}
    heights = np.nan_to_num(heights_in)
    bars = axes.bar(_CENTERS_IN, heights, _BAR * MONTH_IN, base_in, zorder=2, **style)
    for bar in bars:
        bar.set_visible(bar.get_height() > 0)


def month_marks(axes: Axes, base_in: float, heights_in: np.ndarray) -> None:
    """A short line across each bar, seen on dark and on white."""
    half = 0.46 * MONTH_IN
    for x, y in zip(_CENTERS_IN, base_in + heights_in, strict=True):
        for color, width in (("white", 3.0), (INK, 1.3)):
            axes.plot([x - half, x + half], [y, y], color=color, lw=width, zorder=3,
                      solid_capstyle="butt")  # fmt: skip


def month_numbers(
    axes: Axes, up_in: np.ndarray, texts: Sequence[str], **style: Any
) -> None:
    """Numbers of the months, each at its height; none where there is no text."""
    for x, y, text in zip(_CENTERS_IN, up_in, texts, strict=True):
        if text:
            put_text(axes, x, y, text, size=7, ha="center", **style)
