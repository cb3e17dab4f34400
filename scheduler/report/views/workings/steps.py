"""Steps of a working, as they are added one by one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.lines import Line
from scheduler.plan.site import SitePlan
from scheduler.plan.table import why_off
from scheduler.report import shown
from scheduler.report.formulas import (
    FUNCTIONS,
    QUANTITIES,
    digits,
    drawn,
    in_words,
    label,
)
from scheduler.report.words import workings as words_of
from scheduler.report.words.table import off


@dataclass(frozen=True, slots=True)
class Step:
    """One printed step. `words` and `numbers` are empty for a value that is given.

    `origin` tells where a value of the package's tables comes from, and how that
    source was read.
    """

    section: str
    name: str
    value: str
    unit: str
    source: str
    words: str = ""
    numbers: str = ""
    origin: str = ""


class Working:
    """Steps of one cell as they are added; values are in the reader's units."""

    def __init__(self, units: str) -> None:
        self.units = units
        self.values: dict[str, float] = {}
        self.steps: list[Step] = []
        self.section = ""

    def given(self, name: str, value_si: float, source: str, origin: str = "") -> None:
        """A value that the working starts from."""
        self.add(name, self.shown(name, float(value_si)), source, origin=origin)

    def given_text(self, name: str, value: str, source: str) -> None:
        """Something that is not a number."""
        self.steps.append(Step(self.section, name, value, "", source))

    def line(self, line: Line, value_si: float | None = None) -> float:
        """A step by formula; the plan's own value where there is one."""
        formula = line.formula(self.units)
        names = set(re.findall(r"[a-z_]+[a-z_0-9]*", formula)) - set(FUNCTIONS)
        scope = {name: self.values[name] for name in names}
        value = (
            float(eval(formula, {"__builtins__": {}, **FUNCTIONS}, scope))
            if value_si is None
            else self.shown(line.name, float(value_si))
        )
        numbers = re.sub(
            r"[a-z_]+[a-z_0-9]*",
            lambda m: m[0] if m[0] in FUNCTIONS else digits(scope[m[0]]),
            formula,
        )
        self.add(
            line.name, value, line.source, in_words(line, self.units), drawn(numbers)
        )
        return value

    def sum_of(
        self,
        name: str,
        terms: Sequence[tuple[float, float]],
        value_si: float,
        source: str,
    ) -> None:
        """A step that adds up counts times values, these in SI."""
        value = self.shown(name, float(value_si))
        numbers = " + ".join(
            f"{digits(count)} × {digits(self.shown(name, each))}"
            for count, each in terms
        )
        self.add(name, value, source, words_of.SUM_OF_HEADS, numbers)

    def shown(self, name: str, value_si: float) -> float:
        """Value of a quantity in the reader's unit."""
        dimension = QUANTITIES[name][1]
        if dimension not in DIMENSIONS:
            return value_si
        return DIMENSIONS[dimension].shown(self.units).from_si(value_si)

    def add(
        self,
        name: str,
        value: float,
        source: str,
        words: str = "",
        numbers: str = "",
        origin: str = "",
    ) -> None:
        """A step with its unit; later lines may use its value."""
        self.values[name] = value
        dimension = QUANTITIES[name][1]
        unit = (
            shown.symbol(dimension, self.units)
            if dimension in DIMENSIONS
            else dimension
        )
        self.steps.append(
            Step(
                self.section,
                label(name),
                digits(value),
                unit,
                source,
                words,
                numbers,
                origin,
            )
        )


def why_not(plan: SitePlan, row: int, month: int) -> str:
    """Why a zone does not run in a month, 0 to 11."""
    needs = bool(plan.plan.plant_need_mm[row, month])
    return off(why_off(int(plan.plan.flags[row, month])), needs)
