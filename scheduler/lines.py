"""Lines of working: one line of text beside each formula, with its source.

A line is written once, next to the formula it stands for. `explain` puts the numbers
of one zone and month into it; the command `method` shows it in words.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Line:
    """One step of the working.

    `name` is the quantity that comes out; `si` and `us` are the same formula in the
    units of either system ("" in `us`: the same), over names of quantities, with
    + - * / ** and the functions min, max, floor, ceil, round and sqrt.
    """

    name: str
    si: str
    source: str
    us: str = ""

    def formula(self, units: str) -> str:
        """Formula in the units that readers of `us` or `metric` are shown."""
        return self.us if units == "us" and self.us else self.si


DEFINITION = "definition of the units"
COMMON_PRACTICE = "common practice"
HOUSE_RULE = "rule of this program"
