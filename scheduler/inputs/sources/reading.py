"""What gathers while a folder is read: problems, assumptions, keys without a use."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from scheduler.errors import Problem
from scheduler.inputs.sources.source import Source

if TYPE_CHECKING:
    from scheduler.inputs.site import Assumed


class Reading:
    """Problems and assumptions of one folder or workbook.

    `for_months` are keys that a plan by days has no use for, `replaced` keys of old
    with what took their place.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.folder = source.folder
        self.problems: list[Problem] = []
        self.assumed: list[Assumed] = []
        self.for_months: list[str] = []
        self.replaced: list[tuple[str, str]] = []


def record(kind: Any, values: Mapping[str, Any]) -> Any:
    """Record of a kind from the values that bear its fields' names."""
    names = [field.name for field in dataclasses.fields(kind)]
    return kind(**{name: values[name] for name in names})
