"""Labels on a plan view, none of which covers another or a mark."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from scheduler.report.pictures.look import put_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes


class Labels:
    """Labels of one plan, none of which covers another or a head."""

    def __init__(self, axes: Axes, per_in: float) -> None:
        self._axes = axes
        self._per_in = per_in
        self._taken: list[tuple[float, float, float, float]] = []

    def keep_clear(self, x: float, y: float, reach: float) -> None:
        """Let no label cover a mark."""
        self._taken.append((x - reach, x + reach, y - reach, y + reach))

    def keep_edges_clear(
        self, west: float, east: float, south: float, north: float, gap: float
    ) -> None:
        """Let no label cover the edges of a box."""
        self._taken += [
            (west - gap, east + gap, south - gap, south + gap),
            (west - gap, east + gap, north - gap, north + gap),
            (west - gap, west + gap, south, north),
            (east - gap, east + gap, south, north),
        ]

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


def _halo(text: Any) -> None:
    from matplotlib.patheffects import withStroke

    text.set_path_effects([withStroke(linewidth=2.0, foreground="white")])
