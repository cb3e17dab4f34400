"""A picture of what the answer hangs on: a bar for each input, the longest on top."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.findings.doubt import Doubts
from scheduler.report.pictures.look import (
    GREY,
    INK,
    OVER,
    WATER,
    look,
    new_figure,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
)
from scheduler.report.words.questions import doubt as words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDE_IN, _ROW_IN, _TOP_IN, _FOOT_IN, _LEFT_IN = 7.2, 0.21, 0.8, 0.95, 2.5
MOST_BARS = 20


def doubt_picture(found: Doubts, suffix: str) -> bytes:
    """Bars of water by input and zone."""
    with look():
        return picture_bytes(doubt_figure(found), suffix)


def doubt_figure(found: Doubts) -> Figure:
    """The same as a figure."""
    rows = found.rows[:MOST_BARS]
    tall = _TOP_IN + _FOOT_IN + _ROW_IN * max(len(rows), 1)
    figure = new_figure((_WIDE_IN, tall))
    put_heading(
        figure,
        0.3,
        tall - 0.32,
        _WIDE_IN - 0.5,
        words.title(found.plan.site.name),
        words.said(found)[0],
    )
    axes = figure.add_axes(
        (_LEFT_IN / _WIDE_IN, _FOOT_IN / tall, 1 - (_LEFT_IN + 0.3) / _WIDE_IN,
         _ROW_IN * max(len(rows), 1) / tall)
    )  # fmt: skip
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.set_yticks([])
    axes.set_ylim(len(rows) - 0.4, -0.6)
    for place, row in enumerate(rows):
        whole = found.water_l.sum() if row.zone is None else found.water_l[row.zone]
        ends = sorted((100 * row.water_low_l / whole, 100 * row.water_high_l / whole))
        stake = 100 * row.wrong_l / whole
        if ends[1] - ends[0] < stake:  # The same water, laid down wrongly.
            ends = [100 - stake, 100 + stake]
        axes.barh(
            place,
            ends[1] - ends[0],
            left=ends[0],
            height=0.62,
            color=WATER if row.measure not in ("season", "climate") else OVER,
        )
        label = f"{words.zone_of(row, found)}  {words.NAMES[row.field]}"
        put_text(axes, -0.01, place, label, color=INK, ha="right", va="center",
                 transform=axes.get_yaxis_transform())  # fmt: skip
    axes.margins(x=0.03)
    axes.axvline(100, color=INK, lw=0.8)
    put_text(axes, 0.5, -0.33 / (_ROW_IN * max(len(rows), 1)), words.BAR_AXIS,
             color=GREY, ha="center", va="top", transform=axes.transAxes)  # fmt: skip
    put_notes(figure, 0.3, words.PICTURE_NOTES)
    return figure
