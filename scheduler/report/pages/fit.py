"""How large the letters of a page are printed, so that it fits one sheet of paper."""

from __future__ import annotations

import html
import math
import re
from dataclasses import dataclass, replace

_ARTICLE, _END = "<article", "</article>"
_SIZE = "--paper:{};"
"""In the style of an article: the size of its letters on paper, still to be set."""
_PICTURES = re.compile(r"<svg.*?</svg>", re.DOTALL)
_TAGS = re.compile(r"<[^>]*>")
_WIDE = re.compile(r'<table\sclass="grid\s(?:year|dated).*?</table>', re.DOTALL)
"""Tables as wide as the page."""
_TIMES = re.compile(r'<table\sclass="grid\stimes.*?</table>', re.DOTALL)
"""The table of when it waters, in two columns."""
_LONG = 'long"'
"""In the class of a table of percents of more than seven months."""
_BLOCKS = re.compile("<(?:li|p|dt)[ >]")
_HEADINGS = re.compile("<h[23][ >]")


@dataclass(frozen=True, slots=True)
class _Room:
    """Shares of a sheet that are taken at a size of one point.

    Those of letters grow with the square of their size, for lines are higher and there
    are more of them; those of blocks, headings and rows of tables with their height
    alone. Fitted to pages of the examples, with one to six visits and other
    controllers, as Chromium sets them on Letter and A4; `keep` is the share that the
    worst of them may be given. `most` is in points (our choice).
    """

    letter: float
    block: float
    heading: float
    row: float
    keep: float
    most: float
    time: float = 0.0
    """Of a row of the table of when it waters."""

    def points(
        self, letters: int, blocks: int, headings: int, rows: int, times: int
    ) -> float:
        """Largest size of letters at which they all fit."""
        square = self.letter * letters
        line = self.block * blocks + self.heading * headings
        line += self.row * rows + self.time * times
        fits = math.sqrt(line * line + 4 * square * self.keep) - line
        return min(fits / (2 * square), self.most)


_DOOR = _Room(1.23e-6, 0.53e-3, 6.21e-3, 2.0e-3, 0.90, 10.5)
_ROOMS = {
    ("owner", False): _Room(1.48e-6, 0.91e-3, 0.0, 6.07e-3, 0.91, 8.4, 0.9e-3),
    ("owner", True): _Room(1.15e-6, 0.71e-3, 0.0, 4.7e-3, 0.96, 8.4, 0.9e-3),
    ("door", False): _DOOR,
    ("door", True): replace(_DOOR, keep=0.92),
}
"""By kind of page, and whether it has so many zones that all stands closer."""
_BESIDE_NOTHING = 0.88
"""Of the share that it may be given, what a door page keeps to whose percents are so
wide that nothing stands beside them, and that has no planting, which takes less."""
_SEVERAL_SHEETS = 8.5
"""Points on the agency's page, which has a table of every month and may go on."""


def fitted(page: str) -> str:
    """The page's HTML with a size of letters on paper for each of its articles."""
    head, *articles = page.split(_ARTICLE)
    sized = [
        each.replace(_SIZE.format(""), _SIZE.format(f"{_points(each):.2f}pt"), 1)
        for each in articles
    ]
    return _ARTICLE.join([head, *sized])


def _points(article: str) -> float:
    """Size of the letters of an article, from its HTML."""
    text = _PICTURES.sub("", article.partition(_END)[0])
    classes = text.partition(">")[0]
    for (kind, many), room in _ROOMS.items():
        if kind in classes and many == ("many" in classes):
            if _LONG in text and "planting" not in text:
                room = replace(room, keep=room.keep * _BESIDE_NOTHING)
            return room.points(
                len(" ".join(html.unescape(_TAGS.sub(" ", text)).split())),
                len(_BLOCKS.findall(text)),
                len(_HEADINGS.findall(text)),
                _rows(_WIDE, text),
                _times_rows(text),
            )
    return _SEVERAL_SHEETS


def _times_rows(text: str) -> int:
    """Rows of when it waters; in one part they fill one column beside an empty one."""
    return sum(
        table.count("<tr") * (2 if table.count("<tbody") == 1 else 1)
        for table in _TIMES.findall(text)
    )


def _rows(tables: re.Pattern[str], text: str) -> int:
    return sum(table.count("<tr") for table in tables.findall(text))
