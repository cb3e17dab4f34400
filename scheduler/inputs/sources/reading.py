"""What gathers while a folder is read: problems, assumptions, unused names."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from scheduler.errors import Problem
from scheduler.inputs.forms.field import Field
from scheduler.inputs.sources.source import Source

if TYPE_CHECKING:
    from scheduler.inputs.site import Assumed


class Reading:
    """Problems, assumptions and unused names of one folder or workbook.

    `for_months` are keys that a plan by days has no use for, `replaced` keys of old
    with what took their place.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.folder = source.folder
        self.problems: list[Problem] = []
        self.assumed: list[Assumed] = []
        self.unused: list[str] = []
        self.for_months: list[str] = []
        self.replaced: list[tuple[str, str]] = []

    def note_unused(
        self, file: str, table: str, fields: Sequence[Field], filled: frozenset[str]
    ) -> None:
        """Remember which of the filled fields nothing uses yet."""
        told = self.source.names.told(file)
        for field in fields:
            if not field.used and field.name in filled:
                dotted = f"{table}.{field.name}" if table else field.name
                self.unused.append(f"{told}: {dotted}")


def record(kind: Any, values: Mapping[str, Any]) -> Any:
    """Record of a kind from the values that bear its fields' names."""
    names = [field.name for field in dataclasses.fields(kind)]
    return kind(**{name: values[name] for name in names})
