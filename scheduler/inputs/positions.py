"""Where heads stand, and outline.csv: the corners of each zone's ground."""

from __future__ import annotations

import math

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.site import Heads, Zones
from scheduler.inputs.sources.reading import Reading
from scheduler.inputs.zones import table_rows, zone_rows
from scheduler.units import M_S_PER_MPH

MOST_ACROSS_M = 1000.0
"""No valve waters ground wider than this; places beyond it are slips of the pen."""
MOST_CORNERS = 500
"""More corners than a tape can measure."""
SMALLEST_CELL_M = 0.05
LARGEST_CELL_M = 2.0
MOST_WIND_M_S = 20 * M_S_PER_MPH
"""More wind than anybody waters in."""


def check_positions(
    reading: Reading,
    zones: tuple[Zones, csvfiles.Rows] | None,
    heads: tuple[Heads, csvfiles.Rows | None],
) -> None:
    """A place is x and y of one head, near the other heads of its zone."""
    head, rows = heads
    if rows is None or zones is None or not len(head):
        return
    placed = np.isfinite(head.x_m) & np.isfinite(head.y_m)
    half = np.isfinite(head.x_m) != np.isfinite(head.y_m)
    for row in np.flatnonzero(half & ~rows.faulty).tolist():
        blank = "x_m" if np.isnan(head.x_m[row]) else "y_m"
        other = "y" if blank == "x_m" else "x"
        reading.problems.append(
            rows.problem(row, blank, f"is blank, but {other} is filled in",
                         "x_* and y_* together, or neither")
        )  # fmt: skip
    for row in np.flatnonzero(placed & (head.count > 1) & ~rows.faulty).tolist():
        reading.problems.append(
            rows.problem(row, "count", f"{head.count[row]:g} heads at one place",
                         "1, or blank, where x_* and y_* are filled in",
                         "give each head a row of its own")
        )  # fmt: skip
    for zone in sorted(set(head.zone[placed].tolist())):
        mine = np.flatnonzero(placed & (head.zone == zone))
        if zone >= 0:
            _check_near(reading, rows, head.x_m, mine, "x_m")
            _check_near(reading, rows, head.y_m, mine, "y_m")


def _check_near(
    reading: Reading,
    rows: csvfiles.Rows,
    place_m: np.ndarray,
    mine: np.ndarray,
    name: str,
) -> None:
    """One Problem for the place farthest from the middle of a zone too wide."""
    places = place_m[mine]
    if np.ptp(places) > MOST_ACROSS_M:
        worst = int(mine[np.argmax(np.abs(places - np.median(places)))])
        reading.problems.append(
            rows.problem(
                worst,
                name,
                "stands too far from the rest of its zone",
                f"places within {MOST_ACROSS_M:g} m (3,280 ft) of each other",
                "the unit of a place stands in the column's name",
            )
        )


def read_outlines(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None
) -> tuple[np.ndarray, ...]:
    """Corners of each zone's outline in SI, (corner, 2); none where not given."""
    file = "outline.csv"
    none = np.zeros((0, 2))
    count = 0 if zones is None else len(zones[0])
    if not reading.source.has(file):
        return (none,) * count
    rows = table_rows(reading, file)
    if rows is None or zones is None:
        return (none,) * count
    zone, rows = zone_rows(reading, rows, zones)
    corners = np.column_stack([rows.values["x_m"], rows.values["y_m"]])
    outlines = []
    for which in range(count):
        mine = np.flatnonzero(zone == which)
        if rows.faulty[mine].any():
            mine = mine[:0]
        name = zones[0].zone[which]
        outlines.append(_outline(reading, rows, mine, corners[mine], name))
    return tuple(outlines)


def _outline(
    reading: Reading,
    rows: csvfiles.Rows,
    mine: np.ndarray,
    corners_m: np.ndarray,
    zone: str,
) -> np.ndarray:
    """Corners of one zone, each once; none, with a Problem, where they won't do."""
    if not len(mine):
        return corners_m
    kept = np.any(corners_m != np.roll(corners_m, 1, axis=0), axis=1)
    corners, mine = corners_m[kept], mine[kept]
    line = rows.lines[int(mine[0])] if len(mine) else None
    wrong = accepted = hint = ""
    field = "zone"
    if len(corners) < 3:
        wrong = f'outline of zone "{zone}" has fewer than 3 corners'
        accepted = "3 corners or more, in the order in which you walk around them"
    elif len(corners) > MOST_CORNERS:
        wrong = f'outline of zone "{zone}" has {len(corners)} corners'
        accepted = f"up to {MOST_CORNERS} corners"
        hint = "a corner every few steps is enough"
    elif np.any(np.ptp(corners, axis=0) > MOST_ACROSS_M):
        wrong = f'outline of zone "{zone}" is too wide'
        accepted = f"corners within {MOST_ACROSS_M:g} m (3,280 ft) of each other"
        hint = "the unit of a place stands in the column's name"
    else:
        crossing = crossing_edges(corners)
        if crossing is not None:
            first, second = (_edge_lines(rows, mine, edge) for edge in crossing)
            line = rows.lines[int(mine[crossing[1]])]
            wrong = (
                f'outline of zone "{zone}" crosses itself: the side from {first} '
                f"meets the side from {second}"
            )
            accepted = "corners in the order in which you walk around them"
    if not wrong:
        return corners
    reading.problems.append(
        Problem(rows.file, line, rows.headers.get(field, field), wrong, accepted, hint)
    )
    return corners[:0]


def _edge_lines(rows: csvfiles.Rows, mine: np.ndarray, edge: int) -> str:
    after = (edge + 1) % len(mine)
    return f"{rows.where(int(mine[edge]))} to {rows.lines[int(mine[after])]}"


def crossing_edges(corners_m: np.ndarray) -> tuple[int, int] | None:
    """First two sides of a polygon that cross, touch or fold back; None where none.

    Side i runs from corner i to the next.
    """
    count = len(corners_m)
    start, end = corners_m, np.roll(corners_m, -1, axis=0)
    along = end - start
    size = np.ptp(corners_m, axis=0).max()
    slack = 1e-12 * size * size

    def side(points: np.ndarray) -> np.ndarray:
        """Which side of edge i (rows) a point j (columns) lies on: -1, 0, 1."""
        offset = points[None, :, :] - start[:, None, :]
        turn = along[:, None, 0] * offset[..., 1] - along[:, None, 1] * offset[..., 0]
        return np.where(np.abs(turn) <= slack, 0, np.sign(turn))

    of_start, of_end = side(start), side(end)
    apart = of_start * of_end
    crosses = (apart <= 0) & (apart.T <= 0)
    in_line = (of_start == 0) & (of_end == 0)
    crosses &= ~in_line | _overlap(start, end)
    index = np.arange(count)
    step = (index[None, :] - index[:, None]) % count
    crosses &= (step > 1) & (step < count - 1)
    ahead = np.sum(along * np.roll(along, -1, axis=0), axis=1) < 0
    folds = ahead & (np.roll(of_end, -1, axis=1)[index, index] == 0)
    crosses[index[folds], (index[folds] + 1) % count] = True
    found = np.argwhere(np.triu(crosses | crosses.T))
    return None if not len(found) else (int(found[0, 0]), int(found[0, 1]))


def _overlap(start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Whether the boxes around edges i and j meet."""
    low, high = np.minimum(start, end), np.maximum(start, end)
    return np.all(
        (low[:, None] <= high[None, :]) & (low[None, :] <= high[:, None]), axis=2
    )


def read_cell(cell_m: float | None, cell_ft: float | None) -> float | None:
    """Size of a grid cell in m, of the option in either unit; None where not given."""
    units = DIMENSIONS["length"]
    option, written, unit = "--cell-m", cell_m, units.unit("m")
    if cell_ft is not None:
        option, written, unit = "--cell-ft", cell_ft, units.unit("ft")
    if written is None:
        return None
    cell = unit.to_si(written)
    low, high = unit.from_si(SMALLEST_CELL_M), unit.from_si(LARGEST_CELL_M)
    wrong = ""
    if cell_m is not None and cell_ft is not None:
        wrong, accepted = "--cell-m is given too", "one of the two"
    elif not SMALLEST_CELL_M <= cell <= LARGEST_CELL_M:
        wrong = f"{written:g} is not a size of cell"
        least, most = math.ceil(low * 100) / 100, math.floor(high * 10) / 10
        accepted = f"a number from {least:g} to {most:g}"
    if wrong:
        raise InputError([Problem("scheduler", None, option, wrong, accepted)])
    return cell


def read_wind(
    wind_m_s: float | None, wind_mph: float | None, from_deg: float | None
) -> tuple[float, float] | None:
    """Wind in m/s and where it comes from in degrees; None where not given."""
    units = DIMENSIONS["wind"]
    option, written, unit = "--wind-m-s", wind_m_s, units.unit("m_s")
    if wind_mph is not None:
        option, written, unit = "--wind-mph", wind_mph, units.unit("mph")
    wrong = ""
    if written is None:
        if from_deg is None:
            return None
        option, wrong = "--wind-from-deg", "is given, but no wind"
        accepted = "--wind-mph or --wind-m-s with it"
    elif wind_m_s is not None and wind_mph is not None:
        wrong, accepted = "--wind-m-s is given too", "one of the two"
    elif not 0 <= unit.to_si(written) <= MOST_WIND_M_S * (1 + 1e-9):
        wrong = f"{written:g} is not a wind to water in"
        most = math.floor(unit.from_si(MOST_WIND_M_S) * 10 + 1e-6) / 10
        accepted = f"a number from 0 to {most:g}"
    elif from_deg is None or not 0 <= from_deg <= 360:
        option = "--wind-from-deg"
        wrong = "is missing" if from_deg is None else f"{from_deg:g} is no direction"
        accepted = (
            "0 to 360: where the wind comes from, 90 for east, clockwise from north"
        )
    if wrong:
        raise InputError([Problem("scheduler", None, option, wrong, accepted)])
    assert written is not None
    assert from_deg is not None
    return unit.to_si(written), from_deg
