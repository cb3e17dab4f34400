"""The plan view of a zone's coverage.

Light is dry and dark is wet, on a scale that is even to the eye, prints in grey, and
does not need red told from green. What can be said beside a thing is said there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.site import Heads, Site
from scheduler.rates.coverage.grid import Coverage, ZoneCoverage
from scheduler.rates.coverage.ground import polygon_area
from scheduler.report import shown
from scheduler.report.pictures.look import (
    GREY,
    INK,
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

SCALE = "viridis_r"

_MOST_NAMED = 24
_MARGIN_IN, _TITLE_IN, _BAR_IN, _FOOT_IN = 0.35, 0.66, 0.6, 0.4
_WIDE_IN, _HALF_IN, _TALLEST_IN = 6.6, 4.4, 6.6
_PAD_IN, _HEAD_IN = 0.3, 0.085
_FAINT = 0.03


def coverage_picture(site: Site, coverage: Coverage, units: str, suffix: str) -> bytes:
    """Plan view of each zone: rates, heads, arcs, outline and the driest spot."""
    with look():
        panels, size = _panels(coverage.zones)
        figure = new_figure(size)
        for zone, panel in zip(coverage.zones, panels, strict=True):
            _draw_zone(figure, size, panel, site, zone, units)
        put_notes(figure, _MARGIN_IN, [words.coverage(site.name, coverage.profile)])
        return picture_bytes(figure, suffix)


@dataclass(frozen=True, slots=True)
class _Panel:
    """Place of one plan on the paper, and what of the ground it shows.

    The plan is in the middle of a column that its title and scales fill.
    """

    column_in: float
    room_in: float
    left_in: float
    bottom_in: float
    width_in: float
    height_in: float
    west_m: float
    east_m: float
    south_m: float
    north_m: float

    @property
    def per_in(self) -> float:
        """Meters to an inch of paper."""
        return (self.east_m - self.west_m) / self.width_in

    @property
    def right_m(self) -> float:
        """East end of the column, in the plan's meters."""
        return self.west_m + self.per_in * (
            self.column_in + self.room_in - self.left_in
        )


def _panels(
    zones: Sequence[ZoneCoverage],
) -> tuple[list[_Panel], tuple[float, float]]:
    """Panels in one column or two, and the size of the paper."""
    columns = 1 if len(zones) == 1 else 2
    wide = _WIDE_IN if columns == 1 else _HALF_IN
    views = [_view(zone) for zone in zones]
    sizes = []
    for west, east, south, north in views:
        height = wide * (north - south) / (east - west)
        shrink = min(1.0, _TALLEST_IN / height)
        sizes.append((wide * shrink, height * shrink))
    lines = [
        range(i, min(i + columns, len(zones))) for i in range(0, len(zones), columns)
    ]
    tops = [max(sizes[i][1] for i in line) + _TITLE_IN + _BAR_IN for line in lines]
    total = sum(tops) + _FOOT_IN
    width = columns * wide + (columns + 1) * _MARGIN_IN
    panels = []
    top = total
    for line, height in zip(lines, tops, strict=True):
        for place, i in enumerate(line):
            column = _MARGIN_IN + place * (wide + _MARGIN_IN)
            left = column + (wide - sizes[i][0]) / 2
            bottom = top - _TITLE_IN - sizes[i][1]
            panels.append(_Panel(column, wide, left, bottom, *sizes[i], *views[i]))
        top -= height
    return panels, (width, total)


def _view(zone: ZoneCoverage) -> tuple[float, float, float, float]:
    """West, east, south and north end of what is worth seeing."""
    grid = zone.grid
    seen = (zone.rate_mm_h > _FAINT * zone.mean_mm_h) | (zone.ground_m2 > 0)
    rows, columns = (np.flatnonzero(seen.any(axis=axis)) for axis in (1, 0))
    x, y = grid.x_m[columns[[0, -1]]], grid.y_m[rows[[0, -1]]]
    across = max(float(np.ptp(x)) + grid.step_x_m, float(np.ptp(y)) + grid.step_y_m)
    pad = across * _PAD_IN / (_HALF_IN - 2 * _PAD_IN)
    return float(x[0] - pad), float(x[1] + pad), float(y[0] - pad), float(y[1] + pad)


def _draw_zone(
    figure: Figure,
    size_in: tuple[float, float],
    panel: _Panel,
    site: Site,
    zone: ZoneCoverage,
    units: str,
) -> None:
    width, height = size_in
    axes = figure.add_axes(
        (panel.left_in / width, panel.bottom_in / height,
         panel.width_in / width, panel.height_in / height)
    )  # fmt: skip
    axes.set_xlim(panel.west_m, panel.east_m)
    axes.set_ylim(panel.south_m, panel.north_m)
    axes.set_axis_off()
    image = _draw_rates(axes, zone, units)
    labels = _Labels(axes, panel.per_in)
    small = _size_of_heads(site.heads, zone, panel.per_in)
    _draw_heads(axes, site.heads, zone, small, labels)
    _mark_driest(axes, zone, units, panel.per_in, labels)
    if len(zone.heads) <= _MOST_NAMED:
        _name_heads(site.heads, zone, 2 * _HEAD_IN * panel.per_in, labels)
    _scale_bar(axes, panel, units)
    _north(axes, panel)
    _rate_bar(figure, size_in, panel, image, zone, units)
    _title(figure, panel, site, zone, units)


def _title(
    figure: Figure, panel: _Panel, site: Site, zone: ZoneCoverage, units: str
) -> None:
    title = shown.zone_title(site.zones.zone[zone.zone], site.zones.name[zone.zone])
    facts = words.evenness(
        shown.quantity(zone.mean_mm_h, "rate", units), zone.uniformity_lq,
        zone.christiansen_percent, zone.scheduling_coefficient,
        100 * zone.thrown_l_min / zone.flow_l_min,
    )  # fmt: skip
    top = panel.bottom_in + panel.height_in
    put_heading(figure, panel.column_in, top + 0.3, panel.room_in, title,
                facts)  # fmt: skip


def _draw_rates(axes: Axes, zone: ZoneCoverage, units: str) -> Any:
    """Rates on the ground in colour, what is thrown beyond it in grey."""
    from matplotlib.patches import PathPatch

    unit, grid = DIMENSIONS["rate"].shown(units), zone.grid
    place: dict[str, Any] = {
        "extent": (grid.west_m, grid.west_m + grid.columns * grid.step_x_m,
                   grid.south_m, grid.south_m + grid.rows * grid.step_y_m),
        "origin": "lower", "interpolation": "bilinear", "aspect": "auto",
    }  # fmt: skip
    ground, around = _outline_paths(axes, zone.corners_m)
    most = float(np.max(zone.ground_mm_h[zone.ground_m2 > 0])) or 1.0
    grey = np.empty((grid.rows, grid.columns, 4))
    grey[..., :3] = 0.35
    grey[..., 3] = np.clip(zone.rate_mm_h / most, 0, 1) * 0.75
    beyond = axes.imshow(grey, zorder=1, **place)
    beyond.set_clip_path(around, axes.transData)
    image = axes.imshow(
        unit.from_si(1.0) * _filled(zone.ground_mm_h), cmap=SCALE, vmin=0,
        vmax=unit.from_si(most), zorder=2, **place,
    )  # fmt: skip
    image.set_clip_path(ground, axes.transData)
    axes.add_patch(PathPatch(ground, fill=False, edgecolor=INK, lw=1.1, zorder=5))
    return image


def _filled(rate: np.ndarray) -> np.ndarray:
    """Rates with the cells next to the ground made alike, so that no edge blurs."""
    filled = rate.copy()
    for _ in range(2):
        padded = np.pad(filled, 1, constant_values=np.nan)
        beside = np.stack(
            [padded[:-2, 1:-1], padded[2:, 1:-1], padded[1:-1, :-2], padded[1:-1, 2:]]
        )
        known = np.isfinite(beside)
        mean = np.where(known, beside, 0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
        new = np.isnan(filled) & known.any(axis=0)
        filled = np.where(new, mean, filled)
    return np.nan_to_num(filled)


def _outline_paths(axes: Axes, corners_m: np.ndarray) -> tuple[Any, Any]:
    """Outline of the ground, and all that is around it."""
    from matplotlib.path import Path as Line

    (west, east), (south, north) = axes.get_xlim(), axes.get_ylim()
    frame = np.array([[west, south], [east, south], [east, north], [west, north]])
    turn = float(polygon_area(corners_m[:, 0], corners_m[:, 1]))
    hole = corners_m[::-1] if turn > 0 else corners_m
    parts = []
    for points in (frame, hole):
        closed = np.concatenate([points, points[:1]])
        codes = [Line.MOVETO, *[Line.LINETO] * (len(points) - 1), Line.CLOSEPOLY]
        parts.append(Line(closed, codes))
    return parts[1], Line.make_compound_path(*parts)


class _Labels:
    """Labels of one plan, none of which covers another or a head."""

    def __init__(self, axes: Axes, per_in: float) -> None:
        self._axes = axes
        self._per_in = per_in
        self._taken: list[tuple[float, float, float, float]] = []

    def keep_clear(self, x: float, y: float, reach: float) -> None:
        """Let no label cover a mark."""
        self._taken.append((x - reach, x + reach, y - reach, y + reach))

    def put(
        self,
        text: str,
        size: float,
        places: Sequence[tuple[float, float, str, str]],
        must: bool = False,
        **style: Any,
    ) -> None:
        """Write at the first of the places that is free; if none is, only what must."""
        wide = 0.0087 * size * len(text) * self._per_in
        tall = 0.0160 * size * self._per_in
        free = None
        for x, y, across, along in places:
            west = x - {"left": 0.0, "center": wide / 2, "right": wide}[across]
            south = y - {"bottom": 0.0, "top": tall}[along]
            box = west, west + wide, south, south + tall
            if free is None and not any(_meet(box, other) for other in self._taken):
                free = x, y, across, along
                self._taken.append(box)
        if free is None and must:
            free = places[0]
        if free is not None:
            x, y, across, along = free
            _halo(put_text(self._axes, x, y, text, size=size, ha=across, va=along,
                        zorder=9, **style))  # fmt: skip


def _meet(
    one: tuple[float, float, float, float], other: tuple[float, float, float, float]
) -> bool:
    return (
        one[0] < other[1] and other[0] < one[1]
        and one[2] < other[3] and other[2] < one[3]
    )  # fmt: skip


def _size_of_heads(heads: Heads, zone: ZoneCoverage, per_in: float) -> float:
    """Radius of a head's mark in m, less where heads stand close together."""
    places = np.column_stack([heads.x_m[zone.heads], heads.y_m[zone.heads]])
    gaps = np.hypot(*(places[:, None] - places[None, :]).transpose(2, 0, 1))
    usual = np.median(np.where(gaps > 0, gaps, np.inf).min(axis=1))
    return float(min(_HEAD_IN * per_in, 0.13 * usual))


def _draw_heads(
    axes: Axes, heads: Heads, zone: ZoneCoverage, small: float, labels: _Labels
) -> None:
    """Heads as small wedges that show where they face, with the reach of each arc."""
    from matplotlib.patches import Arc, Circle, Wedge

    ground, _ = _outline_paths(axes, zone.corners_m)
    for head in zone.heads.tolist():
        place = float(heads.x_m[head]), float(heads.y_m[head])
        arc, radius = float(heads.arc_deg[head]), float(heads.radius_m[head])
        facing = 90 - float(np.nan_to_num(heads.facing_deg[head]))
        first, last = facing - arc / 2, facing + arc / 2
        for color, order in ((GREY, 1.5), ("white", 4)):
            reach = Arc(place, 2 * radius, 2 * radius, theta1=first, theta2=last,
                        lw=0.6, color=color, alpha=0.8, zorder=order)  # fmt: skip
            axes.add_patch(reach)
            if color == "white":
                reach.set_clip_path(ground, axes.transData)
        mark: Circle | Wedge = Circle(place, small)
        if arc < 360:
            mark = Wedge(place, 1.5 * small, first, last)
        mark.set(facecolor="white", edgecolor=INK, linewidth=0.9, zorder=6)
        axes.add_patch(mark)
        labels.keep_clear(*place, small)


def _name_heads(heads: Heads, zone: ZoneCoverage, away: float, labels: _Labels) -> None:
    """Names of heads above or below them, and never out over the sides."""
    low, high = zone.corners_m.min(axis=0), zone.corners_m.max(axis=0)
    for head in zone.heads.tolist():
        x, y = float(heads.x_m[head]), float(heads.y_m[head])
        east, north = (np.array([x, y]) - low) / (high - low)
        side = "left" if east < 0.1 else "right" if east > 0.9 else "center"
        above, below = (x, y + away, side, "bottom"), (x, y - away, side, "top")
        name = heads.head[head]
        labels.put(
            name if len(name) <= 26 else name[:25] + "…", 6.5,
            [above, below] if north >= 0.5 else [below, above],
        )  # fmt: skip


def _halo(text: Any) -> None:
    from matplotlib.patheffects import withStroke

    text.set_path_effects([withStroke(linewidth=2.0, foreground="white")])


def _mark_driest(
    axes: Axes, zone: ZoneCoverage, units: str, per_in: float, labels: _Labels
) -> None:
    from matplotlib.patches import Circle

    x, y = zone.driest_x_m, zone.driest_y_m
    for color, width in (("white", 3.0), (INK, 1.3)):
        axes.add_patch(
            Circle((x, y), 0.1 * per_in, fill=False, edgecolor=color, lw=width,
                   zorder=7)
        )  # fmt: skip
    labels.keep_clear(x, y, 0.07 * per_in)
    middle = zone.corners_m.mean(axis=0)
    across, along = (1 if x < middle[0] else -1), (1 if y < middle[1] else -1)
    places = [
        (x + 0.1 * per_in * a, y + 0.1 * per_in * b,
         "left" if a > 0 else "right", "bottom" if b > 0 else "top")
        for b in (along, -along)
        for a in (across, -across)
    ]  # fmt: skip
    rate = shown.quantity(zone.driest_mm_h, "rate", units)
    labels.put(words.driest(rate), 7.5, places, must=True, weight="bold")


def _scale_bar(axes: Axes, panel: _Panel, units: str) -> None:
    """A bar of a round length under the plan, left of the arrow."""
    unit, per_in = DIMENSIONS["length"].shown(units), panel.per_in
    longest = unit.from_si(0.2 * panel.room_in * per_in)
    power = 10.0 ** math.floor(math.log10(longest))
    length = max(n * power for n in (1, 2, 5) if n * power <= longest)
    end, y = panel.right_m - 0.55 * per_in, panel.south_m - 0.24 * per_in
    start, tick = end - unit.to_si(length), 0.04 * per_in
    axes.plot(
        [start, start, end, end], [y + tick, y, y, y + tick], color=INK, lw=1.1,
        clip_on=False, solid_capstyle="butt", solid_joinstyle="miter",
    )  # fmt: skip
    put_text(axes, (start + end) / 2, y - 0.04 * per_in, f"{length:g} {unit.symbol}",
          size=7.5, ha="center", va="top")  # fmt: skip


def _north(axes: Axes, panel: _Panel) -> None:
    """An arrow under the plan's lower right corner."""
    per_in = panel.per_in
    x, y = panel.right_m - 0.25 * per_in, panel.south_m - 0.42 * per_in
    half, tall = 0.055 * per_in, 0.2 * per_in
    axes.fill([x - half, x, x + half, x], [y, y + tall, y, y + 0.25 * tall],
              color=INK, lw=0, clip_on=False)  # fmt: skip
    put_text(axes, x, y + 1.15 * tall, words.NORTH, size=7.5, ha="center", va="bottom")


def _rate_bar(
    figure: Figure,
    size_in: tuple[float, float],
    panel: _Panel,
    image: Any,
    zone: ZoneCoverage,
    units: str,
) -> None:
    """Scale of rates under a plan, with the zone's mean on it."""
    from matplotlib.ticker import MaxNLocator

    unit = DIMENSIONS["rate"].shown(units)
    left, bottom = panel.column_in, panel.bottom_in - 0.3
    width = min(3.2, 0.55 * panel.room_in)
    axes = figure.add_axes(
        (left / size_in[0], bottom / size_in[1], width / size_in[0], 0.1 / size_in[1])
    )
    bar = figure.colorbar(image, cax=axes, orientation="horizontal")
    bar.outline.set_visible(False)
    bar.locator = MaxNLocator(6)
    bar.update_ticks()
    axes.tick_params(length=2, width=0.6, labelsize=7, pad=1.5)
    mean = unit.from_si(zone.mean_mm_h)
    axes.plot([mean, mean], [0, 1.5], color=INK, lw=1.2, clip_on=False,
              transform=axes.get_xaxis_transform())  # fmt: skip
    put_text(axes, mean, 1.65, words.MEAN, size=7, ha="center", va="bottom",
          transform=axes.get_xaxis_transform())  # fmt: skip
    put_text(axes, 1.02, 0.5, unit.symbol, size=7.5, color=GREY, va="center",
          transform=axes.transAxes)  # fmt: skip
