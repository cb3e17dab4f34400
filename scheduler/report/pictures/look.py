"""One look for all pictures.

Lines are thin and letters plain; what can be said beside a thing is said there.
"""

from __future__ import annotations

import hashlib
import io
import re
import warnings
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from scheduler.errors import InputError, Problem
from scheduler.report import shown
from scheduler.report.words.pages import pictures as words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SUFFIXES = (".png", ".svg")

INK, GREY, PALE, SHADE = "#1c2329", "#5f6a72", "#c9cfd3", "#eceff1"
WATER, OVER = "#2c728e", "#f7bd6d"
"""Water from the scale of rates; a light orange, told from it by anyone and in gray."""

LOOK: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 8.0,
    "text.color": INK,
    "axes.edgecolor": PALE,
    "axes.linewidth": 0.6,
    "axes.labelcolor": GREY,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "text.hinting": "none",
    "svg.fonttype": "none",
    "svg.hashsalt": "scheduler",
    "savefig.dpi": 200,
}
_TITLE, _FACTS, _NOTE = 11.0, 8.0, 6.5
_FOOT_IN, NOTE_IN = 0.16, 0.135
_ZONE_IN = 0.8
_FONT, _FONTS = b"'DejaVu Sans'", b"'DejaVu Sans', Verdana, Arial, sans-serif"
_SVG = "http://www.w3.org/2000/svg"


def check_picture(path: Path, out: Path | None = None) -> None:
    """Refuse a picture file of a kind that is not drawn, or that is the text's file."""
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(
            [
                Problem(
                    str(path),
                    None,
                    "--picture",
                    words.no_kind(path.suffix or path.name),
                    words.NO_KIND,
                )
            ]
        )
    if out is not None and out.absolute() == path.absolute():
        raise InputError(
            [Problem(str(path), None, "--picture", words.SAME_FILE,
                     words.ANOTHER_NAME)]
        )  # fmt: skip


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


def paper(size_in: tuple[float, float]) -> tuple[Figure, Axes]:
    """An empty sheet, and axes over all of it that count in inches."""
    figure = new_figure(size_in)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, size_in[0])
    axes.set_ylim(0, size_in[1])
    axes.set_axis_off()
    return figure, axes


def picture_bytes(figure: Figure, suffix: str) -> bytes:
    """Picture file in memory; the same plan gives the same bytes."""
    kind = suffix.lower().removeprefix(".")
    said: dict[str, Any] = {"Software": None}
    if kind == "svg":
        said = {"Date": None, "Creator": None}
    if figure.get_label():
        said["Title"] = figure.get_label()
    stream = io.BytesIO()
    figure.savefig(stream, format=kind, metadata=said)
    drawn = stream.getvalue()
    # Letters stay letters, to be searched; who lacks the font gets one as wide.
    return drawn.replace(_FONT, _FONTS) if kind == "svg" else drawn


def put_text(on: Any, x: float, y: float, text: str, **style: Any) -> Any:
    """Text as it stands, on one line: no sign in a name is taken for a formula."""
    return on.text(x, y, one_line(text), parse_math=False, **style)


def put_heading(
    figure: Figure, left_in: float, up_in: float, room_in: float, title: str, facts: str
) -> None:
    """A title at a height on the paper, and a line of facts under it."""
    wide, tall = figure.get_size_inches()
    if not figure.get_label():
        figure.set_label(one_line(title))
    for text, size, down, style in (
        (title, _TITLE, 0.0, {"weight": "bold"}),
        (facts, _FACTS, 0.2, {"color": GREY}),
    ):
        kept = fitted(text, room_in, size, style.get("weight", "normal"))
        put_text(figure, left_in / wide, (up_in - down) / tall, kept, size=size,
                 **style)  # fmt: skip


def put_notes(figure: Figure, left_in: float, notes: Sequence[str]) -> None:
    """Small lines at the foot of the paper."""
    wide, tall = figure.get_size_inches()
    lines = note_lines(notes, wide - 2 * left_in)
    for row, line in enumerate(lines[::-1]):
        put_text(figure, left_in / wide, (_FOOT_IN + NOTE_IN * row) / tall, line,
                 size=_NOTE, color=GREY)  # fmt: skip


def note_lines(notes: Sequence[str], room_in: float) -> list[str]:
    """Notes in lines of some width, each note on a line of its own."""
    lines = []
    for note in notes:
        line = ""
        for word in one_line(note).split():
            longer = f"{line} {word}".strip()
            if line and _width_in(longer, _NOTE, "normal") > room_in:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return [fitted(line, room_in, _NOTE) for line in lines]


def fitted(text: str, room_in: float, size: float, weight: str = "normal") -> str:
    """Text on one line, cut with an ellipsis where it is wider than its room."""
    text = one_line(text)
    if _width_in(text, size, weight) <= room_in:
        return text
    tries = [f"{text[:most].rstrip()}…" for most in range(len(text))]
    widths = bisect_right(tries, room_in, key=lambda t: _width_in(t, size, weight))
    return tries[max(widths - 1, 0)]


def zone_column_in(zones: Sequence[str], size: float) -> float:
    """Room that the widest zone number of a column needs, within reason."""
    widest = max((_width_in(one_line(zone), size, "bold") for zone in zones), default=0)
    return min(widest, _ZONE_IN)


def put_zone(
    axes: Axes,
    left_in: float,
    up: float,
    names: tuple[str, str],
    room_in: float,
    column_in: float,
    weight: str = "normal",
    **style: Any,
) -> None:
    """A zone's number and its name, apart: a name may be written from the right."""
    zone, name = names
    size = style["size"]
    put_text(axes, left_in, up, fitted(zone, column_in, size, weight), weight=weight,
             **style)  # fmt: skip
    if shown.own_name(zone, name):
        start_in = column_in + 0.6 * size / 72
        put_text(axes, left_in + start_in, up,
                 fitted(name, room_in - start_in, size, weight), weight=weight,
                 **style)  # fmt: skip


def _width_in(text: str, size: float, weight: str) -> float:
    from matplotlib import rcParams
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=rcParams["font.family"], size=size, weight=weight)
    points, _, _ = text_to_path.get_text_width_height_descent(text, font, False)
    return float(points) / 72


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
