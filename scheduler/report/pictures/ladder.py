"""A picture of a month's ladder: water against dry days, the choice marked."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.plan.ladder import Ladder, Rung, ladder_of
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.pictures.look import (
    GREY,
    INK,
    NOTE_IN,
    PALE,
    WATER,
    look,
    new_figure,
    note_lines,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
)
from scheduler.report.words.ladder import days_of_rung, reason
from scheduler.report.words.pages import pictures as words
from scheduler.report.words.workings import BY_DAYS_KEY

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE_IN = (7.2, 4.6)
_LEFT_IN, _RIGHT_IN, _FOOT_IN, _TOP_IN = 0.65, 1.75, 0.65, 0.75
_MOST_DRY = 30.0
"""Percent of dry days that the picture reaches at least."""
_ROOM = 0.05
"""Room of a label, as a share of the height."""


def draw(plan: SitePlan, row: int, month: int, units: str, suffix: str) -> bytes:
    """Picture file of a zone's month, 1 to 12; refused for a table by months."""
    if plan.settings is None:
        raise InputError(
            [Problem(plan.site.names.place("site.toml"), None, "--picture",
                     words.NO_LADDER, BY_DAYS_KEY)]
        )  # fmt: skip
    found = ladder_of(plan.inputs, plan.settings, row, month - 1, whole=True)
    zones = plan.site.zones
    title = words.ladder(zones.zone[row], zones.name[row], month)
    with look():
        return picture_bytes(ladder_figure(title, found, units), suffix)


def ladder_figure(title: str, found: Ladder, units: str) -> Figure:
    """The same as a figure."""
    figure = new_figure(_SIZE_IN)
    wide, tall = _SIZE_IN
    put_heading(figure, _LEFT_IN, tall - 0.3, wide - _LEFT_IN - 0.2, title, "")
    notes = [reason(found, units)]
    put_notes(figure, _LEFT_IN, notes)
    foot = _FOOT_IN + NOTE_IN * len(note_lines(notes, wide - 2 * _LEFT_IN))
    axes = figure.add_axes(
        (_LEFT_IN / wide, foot / tall, (wide - _LEFT_IN - _RIGHT_IN) / wide,
         (tall - foot - _TOP_IN) / tall)
    )  # fmt: skip
    axes.spines[["top", "right"]].set_visible(False)
    limit = 100 * found.limit if found.rungs else 0.0
    reach = min(100.0, max(_MOST_DRY, 3 * limit))
    axes.set_xlim(0, reach)
    unit = shown.symbol("depth", units)
    put_text(axes, 0.5, -0.12, words.DRY_DAYS, color=GREY, ha="center",
             transform=axes.transAxes)  # fmt: skip
    put_text(axes, 0.0, 1.03, words.water_of_month(unit), color=GREY,
             transform=axes.transAxes)  # fmt: skip
    if not found.rungs:
        return figure
    curves = [
        [rung for rung in part if 100 * rung.dry <= reach]
        for _, part in itertools.groupby(found.rungs, lambda rung: rung.pattern)
    ]
    curves = [curve for curve in curves if curve]
    most = max((_water(r, units) for curve in curves for r in curve), default=0.0)
    axes.set_ylim(0, 1.08 * most or 1.0)
    axes.plot([limit, limit], [0, 1.02 * (most or 1.0)], color=INK, lw=0.8,
              ls=(0, (4, 3)), zorder=1)  # fmt: skip
    put_text(axes, limit + reach / 80, 1.04 * (most or 1.0), words.DRY_LIMIT, color=INK)
    _curves(axes, curves, units)
    return figure


def _water(rung: Rung, units: str) -> float:
    return float(DIMENSIONS["depth"].shown(units).from_si(rung.water_mm))


def _curves(axes: Axes, curves: list[list[Rung]], units: str) -> None:
    """A line of dots for each pattern, its name at the right, and the choice."""
    reach, top = axes.get_xlim()[1], axes.get_ylim()[1]
    used = -1.0
    for curve in sorted(curves, key=lambda part: _water(part[0], units)):
        kept = [rung for rung in curve if rung.kept]
        across = [100 * rung.dry for rung in curve]
        up = [_water(rung, units) for rung in curve]
        color = WATER if kept else GREY
        axes.plot(across, up, color=color, lw=1.0, marker="o", ms=2.5, zorder=2)
        for rung in kept:
            axes.plot([100 * rung.dry], [_water(rung, units)], marker="o", ms=9,
                      mfc="none", mec=INK, mew=1.4, zorder=3,
                      clip_on=False)  # fmt: skip
        place = max(up[0], used + _ROOM * top)
        used = place
        axes.plot([across[0], reach * 1.015], [up[0], place], color=PALE, lw=0.6,
                  zorder=0, clip_on=False)  # fmt: skip
        label = days_of_rung(curve[0])
        if kept and kept[0].minutes:
            label = words.kept(label, kept[0].minutes)
        put_text(axes, reach * 1.025, place, label, color=INK if kept else GREY,
                 weight="bold" if kept else "normal", va="center")  # fmt: skip
