"""Words that a table knows, and the other names by which people call them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping


class Words(tuple[str, ...]):
    """Known words, with other names that each lead to one of them or to several.

    Names are compared as they are: fold them before.
    """

    also: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, words: Iterable[str], also: Mapping[str, tuple[str, ...]]) -> Words:
        """Words with other names; what those lead to must be among the words."""
        made = cls(words)
        made.also = {
            name: tuple(word for word in meant if word in made)
            for name, meant in also.items()
        }
        return made

    def meant(self, name: str) -> tuple[str, ...]:
        """Words that a name, or its singular or plural, may stand for."""
        for one in (name, f"{name}s", name.removesuffix("s")):
            if self.also.get(one):
                return self.also[one]
        return ()
