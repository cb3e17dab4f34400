"""One look for all pictures.

Lines are thin and letters plain; what can be said beside a thing is said there.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, GREY, PALE = "#1c2329", "#5f6a72", "#c9cfd3"

LOOK: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 8.0,
    "text.color": INK,
    "axes.edgecolor": PALE,
    "axes.linewidth": 0.6,
    "axes.labelcolor": GREY,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "svg.fonttype": "path",
    "svg.hashsalt": "scheduler",
    "savefig.dpi": 200,
}


@contextmanager
def look() -> Iterator[None]:
    """The style of all pictures; signs that the font lacks become boxes, quietly."""
    import matplotlib

    with matplotlib.rc_context(LOOK), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from", append=False)
        yield


def new_figure(size_in: tuple[float, float]) -> Figure:
    """An empty sheet of so many inches."""
    from matplotlib.figure import Figure

    return Figure(figsize=size_in, facecolor="white")


def picture_bytes(figure: Figure, suffix: str) -> bytes:
    """Picture file in memory; the same plan gives the same bytes."""
    kind = suffix.lower().removeprefix(".")
    nothing = {"Date": None, "Creator": None} if kind == "svg" else {"Software": None}
    stream = io.BytesIO()
    figure.savefig(stream, format=kind, metadata=nothing)
    return stream.getvalue()


def put_text(on: Any, x: float, y: float, text: str, **style: Any) -> Any:
    """Text as it stands, on one line: no sign in a name is taken for a formula."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return on.text(x, y, clean, parse_math=False, **style)
