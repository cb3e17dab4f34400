"""One or several: nouns, verbs and lists that go with a number."""

from __future__ import annotations

from collections.abc import Sequence

_VERBS = {"are": "is", "do": "does", "have": "has"}
"""Verbs whose form for one takes more than an s."""


def counted(count: int, noun: str) -> str:
    """Number and noun: `1 zone`, `3 zones`."""
    return f"{count} {plural(count, noun)}"


def of_hundred(share: float) -> str:
    """Share of days, in whole days of a hundred: `1 day of a hundred`."""
    days = f"{100 * share:.0f}"
    return f"{days} {'day' if days == '1' else 'days'} of a hundred"


def spelled(count: int, noun: str) -> str:
    """Number and noun, one in letters: `one visit`, `3 visits`."""
    return f"one {noun}" if count == 1 else counted(count, noun)


def plural(count: float, noun: str) -> str:
    """Noun as it stands after a number: `zone` after 1, `zones` after 3."""
    return noun if count == 1 else f"{noun}s"


def verb(count: int, plain: str) -> str:
    """Verb that goes with so many: `throws` with 1, `throw` with 2."""
    return plain if count != 1 else _VERBS.get(plain, f"{plain}s")


def listed(names: Sequence[str]) -> str:
    """Names with commas and a last `and`."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def named(noun: str, names: Sequence[str]) -> str:
    """Noun with its names: `zone 1`, `zones 1, 2 and 7`."""
    return f"{plural(len(names), noun)} {listed(names)}"


def named_of(noun: str, names: Sequence[str], count: int) -> str:
    """Noun with its names, of so many: `zones 1 and 7`, or `all zones`."""
    if len(names) == count > 1:
        return f"all {plural(count, noun)}"
    return named(noun, names)
