"""Words that are alike: matched however they are written, and the nearest known one."""

from __future__ import annotations

import difflib
import functools
import re
from collections.abc import Iterable


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
