"""The plan view of a zone's coverage.

Ground in five steps of its share of the mean, each with its number on it, so that it is
read in gray too; what is dry is hatched. What can be said beside a thing is said there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.site import Heads, Site
from scheduler.rates.coverage.grid import BANDS, Coverage, ZoneCoverage
from scheduler.rates.coverage.ground import polygon_area
from scheduler.rates.coverage.wind import Wind
from scheduler.report import shown
from scheduler.report.pictures.labels import Labels
from scheduler.report.pictures.look import (
    GREY,
    INK,
    SHADE,
    look,
    new_figure,
    picture_bytes,
    put_heading,
    put_notes,
    put_text,
)
from scheduler.report.words.heads.coverage import wind_told
from scheduler.report.words.pages import pictures as words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

STEPS = ("#f7ecd2", "#e9d9a8", "#b2c7a6", "#86acb0", "#5b8d9e")
"""Dry to wet: straw, sand, leaf, pond, slate; each darker than the one before."""
HATCH = "////"

_MOST_NAMED = 24
_MARGIN_IN, _TITLE_IN, _BAR_IN, _FOOT_IN = 0.35, 0.66, 0.72, 0.56
_WIDE_IN, _HALF_IN, _TALLEST_IN = 6.6, 4.4, 6.6
_PAD_IN, _HEAD_IN = 0.3, 0.05
_FAINT = 0.03
_BEYOND = 0.1
_EVEN = BANDS[1]
_SMALLEST_LABELLED, _MOST_OF_A_BAND = 0.012, 3


def coverage_picture(site: Site, coverage: Coverage, units: str, suffix: str) -> bytes:
    """Plan view of each zone: bands, heads, arcs, outline and the driest patch."""
    with look():
        panels, size = _panels(coverage.zones)
        figure = new_figure(size)
        for zone, panel in zip(coverage.zones, panels, strict=True):
            _draw_zone(figure, size, panel, site, zone, units)
            if coverage.wind is not None:
                _wind_arrow(figure, size, panel, coverage.wind, units)
        air = words.STILL_AIR
        if coverage.wind is not None:
            air = wind_told(coverage.wind, units)
        notes = words.coverage(site.name, coverage.profile, air)
        put_notes(figure, _MARGIN_IN, notes)
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
    share = _draw_bands(axes, zone)
    labels = Labels(axes, panel.per_in)
    _draw_heads(axes, site.heads, zone, _HEAD_IN * panel.per_in, labels)
    _mark_patch(axes, zone, panel.per_in, labels)
    _number_bands(zone, share, panel.per_in, labels)
    if len(zone.heads) <= _MOST_NAMED:
        _name_heads(site.heads, zone, 0.1 * panel.per_in, labels)
    _scale_bar(axes, panel, units)
    _north(axes, panel)
    _key(figure, size_in, panel, zone)
    _title(figure, panel, site, zone, units)


def _title(
    figure: Figure, panel: _Panel, site: Site, zone: ZoneCoverage, units: str
) -> None:
    title = shown.zone_title(site.zones.zone[zone.zone], site.zones.name[zone.zone])
    facts = words.evenness(
        shown.quantity(zone.mean_mm_h, "rate", units), zone.uniformity_lq,
        zone.christiansen_percent,
        100 * zone.thrown_l_min / zone.flow_l_min,
    )  # fmt: skip
    top = panel.bottom_in + panel.height_in
    put_heading(figure, panel.column_in, top + 0.3, panel.room_in, title,
                facts)  # fmt: skip


def _draw_bands(axes: Axes, zone: ZoneCoverage) -> np.ndarray:
    """Bands of the ground with their edges, and in grey what is thrown beyond it.

    Comes back: each cell's share of the mean, made alike next to the ground.
    """
    from matplotlib.patches import PathPatch

    ground, around = _outline_paths(axes, zone.corners_m)
    mean = zone.mean_mm_h or 1.0
    x, y, rates = _rimmed(zone, zone.rate_mm_h / mean)
    beyond = axes.contourf(x, y, rates, [_BEYOND, np.inf], colors=[SHADE], zorder=1)
    beyond.set_clip_path(around, axes.transData)
    share = _filled(zone.ground_mm_h / mean)
    x, y, shares = _rimmed(zone, share)
    edges = [-1.0, *BANDS, np.inf]
    bands = axes.contourf(x, y, shares, edges, colors=STEPS, zorder=2)
    dry = axes.contourf(x, y, shares, edges[:2], colors="none", hatches=[HATCH],
                        zorder=2.2)  # fmt: skip
    lines = axes.contour(x, y, shares, BANDS, colors=INK, linewidths=0.7, zorder=2.5)
    dry.set(edgecolor=GREY, linewidth=0)
    for drawn in (bands, dry, lines):
        drawn.set_clip_path(ground, axes.transData)
    axes.add_patch(PathPatch(ground, fill=False, edgecolor=INK, lw=1.3, zorder=5))
    return share


def _rimmed(
    zone: ZoneCoverage, values: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Columns, rows and values with a rim more, so that no half of a cell is blank."""
    grid = zone.grid
    x, y = grid.x_m, grid.y_m
    return (
        np.concatenate([[x[0] - grid.step_x_m], x, [x[-1] + grid.step_x_m]]),
        np.concatenate([[y[0] - grid.step_y_m], y, [y[-1] + grid.step_y_m]]),
        np.pad(values, 1, mode="edge"),
    )


def _number_bands(
    zone: ZoneCoverage, share: np.ndarray, per_in: float, labels: Labels
) -> None:
    """The number of each band on its largest pieces, where they are widest."""
    from scipy import ndimage

    on_ground = zone.ground_m2 > 0
    band = np.where(on_ground, np.searchsorted(BANDS, share, "right"), -1)
    for row in range(len(STEPS)):
        pieces, count = ndimage.label(band == row)
        sizes = np.bincount(pieces.ravel(), zone.ground_m2.ravel())[1:]
        for piece in np.argsort(-sizes, kind="stable")[:_MOST_OF_A_BAND].tolist():
            if count and sizes[piece] >= _SMALLEST_LABELLED * zone.area_m2:
                _number_piece(zone, pieces == piece + 1, row, per_in, labels)


def _number_piece(
    zone: ZoneCoverage, piece: np.ndarray, band: int, per_in: float, labels: Labels
) -> None:
    """A number in a piece of ground: where it is widest, or next best that is free."""
    from scipy import ndimage

    room = ndimage.distance_transform_edt(np.pad(piece, 1))[1:-1, 1:-1]
    places = []
    down = 0.04 * per_in
    for _ in range(12):
        row, column = np.unravel_index(int(np.argmax(room)), room.shape)
        if room[row, column] * zone.grid.step_x_m < 0.07 * per_in:
            break
        places.append(
            (
                float(zone.grid.x_m[column]),
                float(zone.grid.y_m[row]) - down,
                "center",
                "bottom",
            )
        )
        near = max(2, round(0.15 * per_in / zone.grid.step_x_m))
        room[max(row - near, 0) : row + near + 1,
             max(column - near, 0) : column + near + 1] = 0  # fmt: skip
    if places:
        labels.put(_band_label(band), 6.5, places, weight="bold")


def _band_label(band: int) -> str:
    edges = [None, *(100 * edge for edge in BANDS), None]
    return words.band(edges[band], edges[band + 1])


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


def _draw_heads(
    axes: Axes, heads: Heads, zone: ZoneCoverage, small: float, labels: Labels
) -> None:
    """Heads as dots, with the reach of each arc as a thin line."""
    from matplotlib.patches import Arc, Circle

    for head in zone.heads.tolist():
        place = float(heads.x_m[head]), float(heads.y_m[head])
        arc, radius = float(heads.arc_deg[head]), float(heads.radius_m[head])
        facing = 90 - float(np.nan_to_num(heads.facing_deg[head]))
        axes.add_patch(
            Arc(place, 2 * radius, 2 * radius, theta1=facing - arc / 2,
                theta2=facing + arc / 2, lw=0.45, color=GREY, zorder=4)
        )  # fmt: skip
        axes.add_patch(
            Circle(place, small, facecolor=INK, edgecolor="white", lw=0.8, zorder=6)
        )
        labels.keep_clear(*place, small)


def _name_heads(heads: Heads, zone: ZoneCoverage, away: float, labels: Labels) -> None:
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


def _mark_patch(axes: Axes, zone: ZoneCoverage, per_in: float, labels: Labels) -> None:
    """Dashes around the driest patch, with its share of the mean, if it is drier."""
    from matplotlib.patches import Rectangle

    patch = zone.patch
    if patch.share >= _EVEN:
        return
    x, y, half = patch.x_m, patch.y_m, patch.half_m
    low, high = zone.corners_m.min(axis=0), zone.corners_m.max(axis=0)
    west, south = np.maximum([x - half, y - half], low)
    east, north = np.minimum([x + half, y + half], high)
    for color, width, style in (("white", 2.6, "-"), (INK, 1.3, (0, (3, 2)))):
        axes.add_patch(
            Rectangle((west, south), east - west, north - south, fill=False,
                      edgecolor=color, lw=width, linestyle=style, zorder=5.5)
        )  # fmt: skip
    gap = 0.05 * per_in
    labels.keep_edges_clear(west, east, south, north, 0.4 * gap)
    inward = [(south - gap, "top"), (north + gap, "bottom")]
    if y < zone.corners_m[:, 1].mean():
        inward.reverse()
    places = [
        (place, up, across, along)
        for up, along in inward
        for place, across in ((x, "center"), (west, "left"), (east, "right"))
    ]
    labels.put(words.driest(patch.share), 7.5, places, must=True, weight="bold")


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


def _key(
    figure: Figure, size_in: tuple[float, float], panel: _Panel, zone: ZoneCoverage
) -> None:
    """The five bands under a plan, and how much of the ground each has."""
    from matplotlib.patches import Rectangle

    width, height = min(3.0, 0.68 * panel.room_in), 0.16
    axes = figure.add_axes(
        (panel.column_in / size_in[0], (panel.bottom_in - 0.42) / size_in[1],
         width / size_in[0], height / size_in[1])
    )  # fmt: skip
    axes.set_xlim(0, len(STEPS) + 1)
    axes.set_ylim(0, 1)
    axes.set_axis_off()
    for band, (color, share) in enumerate(zip(STEPS, zone.band_shares, strict=True)):
        axes.add_patch(Rectangle((band, 0), 1, 1, facecolor=color, lw=0))
        if band == 0:
            axes.add_patch(
                Rectangle((0, 0), 1, 1, fill=False, hatch=HATCH, edgecolor=GREY, lw=0)
            )
        axes.add_patch(Rectangle((band, 0), 1, 1, fill=False, edgecolor=INK, lw=0.7))
        for up, text, along, color in (
            (1.2, _band_label(band), "bottom", INK),
            (-0.25, f"{100 * share:.0f} %", "top", GREY),
        ):
            put_text(axes, band + 0.5, up, text, size=6.5, ha="center", va=along,
                     color=color)  # fmt: skip
    for up, text, along in (
        (1.2, words.OF_MEAN, "bottom"), (-0.25, words.OF_GROUND, "top"),
    ):  # fmt: skip
        put_text(axes, len(STEPS) + 0.1, up, text, size=6.5, va=along, color=GREY)


def _wind_arrow(
    figure: Figure, size_in: tuple[float, float], panel: _Panel, wind: Wind, units: str
) -> None:
    """An arrow the way the wind blows, over the plan's right corner."""
    width, height = size_in
    x = panel.column_in + panel.room_in - 0.2
    y = panel.bottom_in + panel.height_in + 0.34
    toward = math.radians(wind.from_deg + 180)
    east, north = 0.16 * math.sin(toward), 0.16 * math.cos(toward)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    axes.set_axis_off()
    axes.annotate(
        "", (x + east, y + north), (x - east, y - north),
        arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.3},
    )  # fmt: skip
    speed = words.wind(shown.quantity(wind.speed_m_s, "wind", units))
    put_text(axes, x - 0.24, y, speed, size=7.5, ha="right", va="center")
