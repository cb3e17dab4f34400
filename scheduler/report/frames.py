"""Tables of the reports, as columns that know their unit."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.report import shown

if TYPE_CHECKING:
    import pandas as pd

REFERENCE_STORE_MM = 76.2
"""Storage that TR-21's printed table is for, 3 in: used for reference grass."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: SI values, its name for programs, its label for people.

    `label` may break over lines; `text` turns a value of no dimension into words;
    `unit` is one that stands in the label, under the rest.
    """

    name: str
    label: str
    values: Sequence[Any]
    dimension: str = ""
    text: Callable[[Any], str] = str
    unit: str = ""

    def header(self, units: str) -> str:
        """Name with its unit, for CSV."""
        if not self.dimension:
            return self.name
        return f"{self.name}_{DIMENSIONS[self.dimension].shown(units).suffix}"

    def title(self, units: str) -> str:
        """Label with its unit below, for people."""
        if not self.dimension:
            return self.label
        return f"{self.label}\n{shown.symbol(self.dimension, units)}"

    def cells(self, units: str) -> list[str]:
        """Values as people are shown them."""
        if self.dimension:
            return [shown.amount(value, self.dimension, units) for value in self.values]
        return [self.text(value) for value in self.values]

    def data(self, units: str) -> list[Any]:
        """Values for CSV: numbers in the reader's unit, to six digits."""
        if not self.dimension:
            return [_plain(value) for value in self.values]
        unit = DIMENSIONS[self.dimension].shown(units)
        return [_plain(unit.from_si(float(value))) for value in self.values]


@dataclass(frozen=True, slots=True)
class Headings:
    """What stands over the columns of tables, by the columns' names for programs."""

    labels: Mapping[str, str]

    def column(
        self,
        name: str,
        values: Sequence[Any],
        dimension: str = "",
        text: Callable[[Any], str] = str,
        unit: str = "",
    ) -> Column:
        """A column under its heading, with a unit below where it has no dimension."""
        label = f"{self.labels[name]}\n{unit}" if unit else self.labels[name]
        return Column(name, label, values, dimension, text, unit)


@dataclass(frozen=True, slots=True)
class Table:
    """A table of a report; `totals` are the rows that sum others, from either end."""

    columns: tuple[Column, ...]
    totals: tuple[int, ...] = ()

    def rows(self, units: str) -> list[tuple[str, ...]]:
        """Rows as people are shown them."""
        return list(zip(*(c.cells(units) for c in self.columns), strict=True))

    def to_pandas(self, units: str = "metric") -> pd.DataFrame:
        """Table for a notebook: headers as in the CSV, blanks missing, money floats."""
        import pandas as pd

        return pd.DataFrame(
            {c.header(units): list(map(_for_frame, c.data(units)))
             for c in self.columns}
        )  # fmt: skip


def _for_frame(value: Any) -> Any:
    if isinstance(value, Decimal):
        return float(value)
    return None if value == "" else value


def _plain(value: Any) -> Any:
    if isinstance(value, (float, np.floating)):
        if not np.isfinite(value):
            return None
        # Six digits, and none before the point rounded off.
        number = float(value)
        return round(number, 0) if abs(number) >= 1e6 else float(f"{number:.6g}")
    if isinstance(value, np.integer):
        return int(value)
    return value
