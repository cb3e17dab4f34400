"""One look for all pictures.

Lines are thin and letters plain; what can be said beside a thing is said there.
"""

from __future__ import annotations

import hashlib
import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, GREY, PALE = "#1c2329", "#5f6a72", "#c9cfd3"
WATER, OVER = "#2c728e", "#d55e00"
"""Water from the scale of rates; orange, which is told from it by anyone."""

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
    return on.text(x, y, one_line(text), parse_math=False, **style)


def one_line(text: str) -> str:
    """Text without line breaks and signs that cannot be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def inline_svg(figure: Figure, label: str) -> str:
    """The picture as one `<svg>` element for a page, told by `label` to who hears it.

    It scales with the page, needs nothing from elsewhere, and shares no id with another
    picture of the page.
    """
    label = one_line(label)
    drawn = picture_bytes(figure, "svg")
    mark = f"p{hashlib.sha256(drawn + label.encode()).hexdigest()[:10]}-"
    root = ElementTree.fromstring(drawn)
    _drop(root, "metadata", "style")
    box = root.attrib["viewBox"]
    used = set()
    for part in root.iter():
        part.tag = _local(part.tag)
        part.attrib = {_local(key): value for key, value in part.attrib.items()}
        for key, value in part.attrib.items():
            name = _named(key, value)
            if name:
                used.add(name)
                part.set(key, value.replace(f"#{name}", f"#{mark}{name}"))
    for part in root.iter():
        name = part.attrib.pop("id", "")
        if name in used:
            part.set("id", mark + name)
    root.attrib = {
        "xmlns": _SVG, "viewBox": box, "role": "img", "aria-label": label,
        "stroke-linejoin": "round", "stroke-linecap": "butt",
    }  # fmt: skip
    return ElementTree.tostring(root, encoding="unicode")


_SVG = "http://www.w3.org/2000/svg"


def _drop(root: ElementTree.Element, *names: str) -> None:
    for parent in root.iter():
        for child in list(parent):
            if _local(child.tag) in names:
                parent.remove(child)


def _local(name: str) -> str:
    """Name without its namespace: the page's own holds."""
    return name.rpartition("}")[2]


def _named(key: str, value: str) -> str:
    """What an attribute points to in its own picture; "" for nothing."""
    if key == "href":
        return value.removeprefix("#")
    found = re.search(r"url\(#([^)]+)\)", value)
    return found[1] if found else ""
