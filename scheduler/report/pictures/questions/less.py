"""A picture of water against dry days, from the table down to nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.budget.less.less import Less, Rung, knee, mean_dry
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
from scheduler.report.words.questions import less as words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_SIZE_IN = (6.4, 4.2)
_PLACE = (0.1, 0.19, 0.84, 0.62)


def less_picture(
    found: Less, rungs: tuple[Rung, ...], units: str, suffix: str
) -> bytes:
    """The curve, with what was asked for and the knee marked."""
    with look():
        return picture_bytes(less_figure(found, rungs, units), suffix)


def less_figure(found: Less, rungs: tuple[Rung, ...], units: str) -> Figure:
    """The same as a figure."""
    figure = new_figure(_SIZE_IN)
    put_heading(
        figure,
        0.3,
        _SIZE_IN[1] - 0.32,
        _SIZE_IN[0] - 0.5,
        words.title(found),
        words.facts(found, "", units)[0],
    )
    axes = figure.add_axes(_PLACE)
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_xlim(0, 104)
    axes.set_ylim(0, 100)
    across = [100 * (1 - rung.saved) for rung in rungs]
    up = [100 * rung.dry_share for rung in rungs]
    axes.plot(across, up, color=WATER, lw=1.2, zorder=1)
    for x, y, rung in zip(across, up, rungs, strict=True):
        face = "white" if rung.turned_off else WATER
        axes.plot([x], [y], marker="o", ms=4, mfc=face, mec=WATER, zorder=2)
    at = knee(rungs)
    asked = float(found.after_l.sum() / max(found.before_l.sum(), 1e-9))
    for x, y, label, color in (
        (100 * (1 - at.saved), 100 * at.dry_share, words.KNEE, GREY),
        (100 * asked, 100 * mean_dry(found.after, found.dry_after), words.TARGET, INK),
    ):
        axes.plot([x], [y], marker="o", ms=9, mfc="none", mec=color, mew=1.4,
                  zorder=3)  # fmt: skip
        over = label == words.TARGET
        put_text(axes, x + (1 if over else -1), y + (4.5 if over else -8), label,
                 color=color, ha="left" if over else "right")  # fmt: skip
    axes.plot(across[:1], up[:1], marker="s", ms=5, color=OVER, mec=INK, zorder=3)
    put_text(axes, across[0] - 1, up[0] - 6, words.TABLE, color=INK, ha="right")
    put_text(axes, 0.5, -0.13, words.WATER_AXIS, color=GREY, ha="center",
             transform=axes.transAxes)  # fmt: skip
    put_text(axes, 0.0, 1.03, words.DRY_AXIS, color=GREY, transform=axes.transAxes)
    put_notes(figure, 0.3, words.PICTURE_NOTES)
    return figure
