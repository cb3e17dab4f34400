"""A field of a file: what it means, what it takes, what blank means."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from scheduler.inputs.forms.dimensions import DIMENSIONS


@dataclass(frozen=True, slots=True)
class Field:
    """One column or key: what it means, what it takes, what blank means.

    `kind` is number, whole, share, word, text, flag, date, clock, days, months,
    kinds, stages or tiers. `low` and `high` are in SI; `above` says that `low` itself
    is not accepted, over 0 nothing under `smallest` is. `quiet` marks a default that
    goes without saying. A `hint` on a value that won't do holds for the unit of suffix
    `hint_unit` where there is one.
    """

    name: str
    help: str
    kind: str = "number"
    dimension: str = ""
    low: float = -math.inf
    high: float = math.inf
    above: bool = False
    smallest: float = 0.0
    default: Any = None
    otherwise: str = ""
    words: tuple[str, ...] = ()
    required: bool = False
    quiet: bool = False
    label: str = ""
    hint: str = ""
    hint_unit: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Names that may be written: one for each unit, or the bare name."""
        if not self.dimension:
            return (self.name,)
        units = DIMENSIONS[self.dimension].units
        return tuple(f"{self.name}_{unit.suffix}" for unit in units)

    @property
    def si_name(self) -> str:
        """Name inside the package, ending in the SI unit."""
        if not self.dimension:
            return self.name
        return f"{self.name}_{DIMENSIONS[self.dimension].si.suffix}"

    def hint_in(self, suffix: str) -> str:
        """Hint on a number in the unit of a suffix, or ""."""
        return self.hint if self.hint_unit in ("", suffix) else ""

    @property
    def noun(self) -> str:
        """Field in words, with its article, for error texts."""
        text = self.label or self.name
        for ending in ("_percent", "_deg", "_days", "_min", "_h", "_s", "_ds_m"):
            text = text.removesuffix(ending)
        text = text.replace("_", " ")
        article = "an" if text[0] in "aeio" else "a"
        return f"{article} {text}"


def number(name: str, low: float, high: float, help_: str, **more: Any) -> Field:
    """A number within limits."""
    return Field(name, help_, low=low, high=high, **more)


def over_0(name: str, high: float, help_: str, **more: Any) -> Field:
    """A number over 0."""
    return Field(name, help_, low=0.0, above=True, high=high, **more)


def whole(name: str, low: int, high: int, help_: str, **more: Any) -> Field:
    """A whole number."""
    return Field(name, help_, kind="whole", low=low, high=high, **more)


def share(name: str, help_: str, high: float = 1.0, **more: Any) -> Field:
    """A share over 0, 1 at the most."""
    return Field(name, help_, kind="share", low=0.0, above=True, high=high, **more)


def word(name: str, words: tuple[str, ...], help_: str, **more: Any) -> Field:
    """One of some words."""
    return Field(name, help_, kind="word", words=words, **more)


def text(name: str, help_: str, **more: Any) -> Field:
    """Free text."""
    return Field(name, help_, kind="text", **more)


def flag(name: str, help_: str, **more: Any) -> Field:
    """Yes or no."""
    return Field(name, help_, kind="flag", words=("yes", "no"), **more)
