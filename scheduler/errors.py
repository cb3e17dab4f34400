"""What is wrong with the input: problems, and the error that holds them all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing in the input that cannot be used.

    `line` counts from 1; None where the trouble is the file as a whole. In a workbook
    `file` names the sheet too, and `cell` goes before the line.
    """

    file: str
    line: int | None
    field: str
    wrong: str
    accepted: str = ""
    hint: str = ""
    cell: str = ""

    def __str__(self) -> str:
        """Text in the form `file:line: field: what is wrong`, then what helps."""
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        place = f"{self.file}!{self.cell}" if self.cell else place
        head = f"{place}: {self.field}: " if self.field else f"{place}: "
        lines = [head + self.wrong]
        if self.accepted:
            lines.append(f"  accepted: {self.accepted}")
        if self.hint:
            lines.append(f"  hint: {self.hint}")
        return "\n".join(lines)


_LONG_LIST = 120


class InputError(Exception):
    """All the problems of one reading, raised together."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self._told()))

    def _told(self) -> Iterator[str]:
        """Problems as text; a long list of what is accepted is written once."""
        told: set[str] = set()
        for problem in self.problems:
            again = len(problem.accepted) > _LONG_LIST and problem.accepted in told
            told.add(problem.accepted)
            yield str(replace(problem, accepted="as above") if again else problem)
