"""Cautions about readings of meter and gauge."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from scheduler.report.shown import quantity

_MORE = ("a larger nozzle than planned", "a higher pressure", "a broken head", "a leak")
_LESS = ("a smaller nozzle than planned", "a lower pressure",
         "a clogged filter or nozzle", "a valve that is not fully open")  # fmt: skip
_PRESSURE = 1
"""Place of the pressure among the causes; where a gauge was read it is no cause."""


def _meter_off(values: Mapping[str, Any], units: str) -> str:
    flow, planned = values["flow_l_min"], values["planned_flow_l_min"]
    off = 100 * abs(flow / planned - 1)
    more = flow > planned
    causes = list(_MORE if more else _LESS)
    if values["gauged"]:
        del causes[_PRESSURE]
    told = ", ".join(causes[:-1])
    return (
        f"the meter says {quantity(flow, 'flow', units)}, {off:.0f} % "
        f"{'more' if more else 'less'} than the {quantity(planned, 'flow', units)} "
        f"planned, and the plan goes by the meter: look first for {told}, {causes[-1]}"
    )


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "meter-off": _meter_off,
}
