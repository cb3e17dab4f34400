"""Words that are alike: matched however they are written, and the nearest known one."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterable, Sequence
from typing import Any


@functools.lru_cache(4096)
def folded(text: str) -> str:
    """Word without case, hyphens, spaces and underscores, for matching."""
    return re.sub(r"[\s_\-‐-―]+", "", text).casefold()


def nearest(word: str, known: Iterable[str], alike: float = 0.6) -> str:
    """Known word most like `word`, or "" where none is near.

    The same words in another order are nearest: a unit may stand in the wrong place.
    """
    known = list(known)
    parts = sorted(word.casefold().split("_"))
    turned = [name for name in known if sorted(name.split("_")) == parts]
    if turned:
        return turned[0]
    by_fold = {folded(name): name for name in known}
    close = difflib.get_close_matches(folded(word), list(by_fold), 1, alike)
    return by_fold[close[0]] if close else ""


def hint_nearest(word: str, known: Iterable[str]) -> str:
    """Hint that names the nearest known word, or ""."""
    near = nearest(word, known)
    return f"did you mean {near}?" if near else ""


def quoted(cell: Any) -> str:
    """Cell as the user wrote it, in quotes if it is text, cut if it is long."""
    if isinstance(cell, str):
        text = cell.strip()
        return f'"{text[:60]}…"' if len(text) > 60 else f'"{text}"'
    if isinstance(cell, (dict, list)):
        return "a table" if isinstance(cell, dict) else "a list"
    if isinstance(cell, bool):
        return str(cell).lower()
    return str(cell)


_MEANT = 0.7
"""How much alike two words are of which one may be meant."""


class MisspeltError(ValueError):
    """A word that is none of those known, and a hint on the nearest."""

    def __init__(self, wrong: str, word: Any, known: Sequence[str]) -> None:
        super().__init__(wrong)
        near = nearest(word, known, _MEANT) if isinstance(word, str) else ""
        self.hint = f"did you mean {near}?" if near else ""
