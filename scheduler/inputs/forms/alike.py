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


_SAME_WORD, _SHARED_WORDS, _MOST_NAMED = 0.7, 0.5, 4
"""How much alike two single words are that are the same, slips apart; the share of
words in common of which a name may be meant; names that a hint tells at most."""


def hint_nearest(word: str, known: Iterable[str]) -> str:
    """Hint that names the nearest known word, or several as near; "" without one.

    Of several words, names that share most are nearest, in whatever order they stand.

    >>> hint_nearest("low water trees", ["conifer trees", "trees low water"])
    'did you mean trees low water?'
    >>> hint_nearest("park trees", ["vines", "conifer trees", "fruit trees"])
    'did you mean conifer trees or fruit trees?'
    """
    known = list(dict.fromkeys(known))
    near = _by_words(word, known)[:_MOST_NAMED] or [nearest(word, known)]
    *others, last = near
    told = f"{', '.join(others)} or {last}" if others else last
    return f"did you mean {told}?" if last else ""


_OWN = {"remark", "note", "comment", "memo"}
"""Names of columns that people keep for themselves, without an s."""


def hint_column(name: str, known: Iterable[str]) -> str:
    """The same for a column: a day's mean is no month's total, though named alike."""
    if folded(name).rstrip("s") in _OWN:
        return "begin its name with # to keep a column for yourself"
    hint = hint_nearest(name, known)
    if hint and "day" in folded(name) and "day" not in hint:
        hint += " It holds no day's mean: that of a month is its total"
    return hint


def _by_words(word: str, known: Sequence[str]) -> list[str]:
    """Known names that share most of their words with what was typed, if half."""
    found: list[str] = []
    typed, most = _words(word), _SHARED_WORDS
    for name in known if len(typed) > 1 else ():
        words = _words(name)
        left = list(words)
        for one in typed:
            for same in difflib.get_close_matches(one, left, 1, _SAME_WORD):
                left.remove(same)
        total = len(typed) + len(words)
        share = 2 * (len(words) - len(left)) / max(total, 1)
        if share > most:
            found = []
        if share >= most:
            found.append(name)
            most = share
    return found


def _words(text: str) -> list[str]:
    return re.findall(r"[^\s_\-‐-―]+", text.casefold())


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
