"""A picture of the supply's curve, with the operating point of every zone on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.plan.site import SitePlan
from scheduler.rates.curve import pressure_left
from scheduler.report import shown
from scheduler.report.pictures.look import (
    GREY,
    INK,
    PALE,
    WATER,
    look,
    new_figure,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
)
from scheduler.report.words.pages import pictures as words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SIZE_IN = (7.2, 4.8)
_LEFT_IN, _RIGHT_IN, _FOOT_IN, _TOP_IN = 0.65, 0.35, 0.85, 0.95
_STEPS = 200
_ROOM = 1.12
"""Width and height of the picture over the farthest and the highest point."""


def points_picture(plan: SitePlan, units: str, suffix: str) -> bytes:
    """Picture file of a site's operating points."""
    with look():
        return picture_bytes(points_figure(plan, units), suffix)


def points_figure(plan: SitePlan, units: str) -> Figure:
    """The same as a figure."""
    figure = new_figure(_SIZE_IN)
    wide, tall = _SIZE_IN
    title, facts = words.points(plan.site.name, plan.points.curve is not None)
    put_heading(figure, _LEFT_IN, tall - 0.3, wide - _LEFT_IN - 0.2, title, facts)
    put_notes(figure, _LEFT_IN, [words.POINTS_KEY])
    axes = figure.add_axes(
        (_LEFT_IN / wide, _FOOT_IN / tall, (wide - _LEFT_IN - _RIGHT_IN) / wide,
         (tall - _FOOT_IN - _TOP_IN) / tall)
    )  # fmt: skip
    axes.spines[["top", "right"]].set_visible(False)
    flow_unit, pressure_unit = (
        shown.symbol(dimension, units) for dimension in ("flow", "pressure")
    )
    put_text(axes, 0.5, -0.14, words.flow_axis(flow_unit), color=GREY, ha="center",
             transform=axes.transAxes)  # fmt: skip
    put_text(axes, 0.0, 1.03, words.pressure_axis(pressure_unit), color=GREY,
             transform=axes.transAxes)  # fmt: skip
    _draw(axes, plan, units)
    return figure


def _draw(axes: Axes, plan: SitePlan, units: str) -> None:
    points, curve = plan.points, plan.points.curve
    known = np.isfinite(points.pressure_kpa)
    pressure = np.where(known, points.pressure_kpa, points.demand.chart_kpa)
    flow_kpa = np.nan_to_num(pressure)
    design = plan.supply.design_flow_l_min or 0.0
    across = max(float(np.nanmax(plan.rates.flow_l_min)), design, 1.0) * _ROOM
    up = float(flow_kpa.max(initial=100.0))
    if curve is not None:
        up = max(up, curve.most_kpa)
    up *= _ROOM
    flow_of, pressure_of = (
        DIMENSIONS[name].shown(units).from_si for name in ("flow", "pressure")
    )
    axes.set_xlim(0, flow_of(across))
    axes.set_ylim(0, pressure_of(up))
    if curve is not None:
        flows = np.linspace(0, across, _STEPS)
        left = pressure_left(curve, flows)
        flows, left = flows[left >= 0], left[left >= 0]
        axes.plot([flow_of(x) for x in flows], [pressure_of(y) for y in left],
                  color=WATER, lw=1.4, zorder=1)  # fmt: skip
    for flow, name in ((design, words.DESIGN_FLOW),
                       (points.most_flow_l_min, words.BUCKET)):  # fmt: skip
        if 0 < flow <= across:
            axes.plot([flow_of(flow)] * 2, [0, 0.97 * pressure_of(up)], color=PALE,
                      lw=0.8, ls=(0, (4, 3)), zorder=0)  # fmt: skip
            put_text(axes, flow_of(flow), 0.985 * pressure_of(up), name, color=GREY,
                     ha="center")  # fmt: skip
    low = points.pressure_kpa < points.demand.least_kpa * (1 - 1e-9)
    for row in np.flatnonzero(np.isfinite(pressure)).tolist():
        x, y = flow_of(plan.rates.flow_l_min[row]), pressure_of(pressure[row])
        marker = "X" if low[row] else "o"
        axes.plot([x], [y], marker=marker, ms=7 if low[row] else 5,
                  mfc=WATER if known[row] else "none", mec=INK, mew=0.8, zorder=3,
                  clip_on=False)  # fmt: skip
    _labels(axes, plan, pressure, units)


def _labels(axes: Axes, plan: SitePlan, pressure: np.ndarray, units: str) -> None:
    """Numbers of the zones beside their points; of points that meet, in one label."""
    flow_of, pressure_of = (
        DIMENSIONS[name].shown(units).from_si for name in ("flow", "pressure")
    )
    wide, tall = axes.get_xlim()[1], axes.get_ylim()[1]
    placed: list[tuple[float, float, list[str]]] = []
    for row in np.flatnonzero(np.isfinite(pressure)).tolist():
        x, y = flow_of(plan.rates.flow_l_min[row]), pressure_of(pressure[row])
        for near_x, near_y, names in placed:
            if abs(x - near_x) < 0.03 * wide and abs(y - near_y) < 0.05 * tall:
                names.append(plan.site.zones.zone[row])
                break
        else:
            placed.append((x, y, [plan.site.zones.zone[row]]))
    for x, y, names in placed:
        put_text(axes, x, y + 0.025 * tall, ", ".join(names), color=INK, size=7,
                 ha="center", va="bottom", zorder=4)  # fmt: skip
