"""The nozzle chart: the maker's table as a person types or pastes it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.fields import FILES, HEAD_KINDS

CHART = "nozzle chart"
"""What the registry calls this file, whose name people choose."""


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """Nozzles in the order of the chart, one for each name and arc.

    `arc_deg` is NaN where the nozzle does any arc, `head_kind` a row of HEAD_KINDS or
    -1 for any. The last three hold an array a nozzle, over its pressures, rising;
    `radius_m` is NaN where the chart gives none.
    """

    file: str
    nozzle: tuple[str, ...]
    arc_deg: np.ndarray
    low_angle: np.ndarray
    head_kind: np.ndarray
    pressure_kpa: tuple[np.ndarray, ...]
    flow_l_min: tuple[np.ndarray, ...]
    radius_m: tuple[np.ndarray, ...]

    def __len__(self) -> int:
        return len(self.nozzle)


def read_chart(path: Path) -> Chart:
    """Nozzle chart of a CSV; raises InputError with every Problem of it.

    Rows may stand in any order. A row without flow and throw is a gap in the maker's
    table and is let be; one that says again what another says is dropped.
    """
    problems: list[Problem] = []
    file = str(path)
    table = csvfiles.read_table(path, file, problems)
    if table is None:
        raise InputError(problems)
    rows = csvfiles.read_rows(table, FILES[CHART], problems)
    if not len(rows):
        problems.append(
            Problem(
                file, None, "", "has no nozzles", "a row for each nozzle and pressure"
            )
        )
    for field in FILES[CHART]:
        named = rows.headers[field.si_name] in table.headers or (
            folded(field.name) in map(folded, table.headers)
        )
        if field.name in ("pressure", "flow") and not named:
            names = " or ".join(field.names)
            problems.append(
                Problem(file, table.header_line, names, "column is missing")
            )
    if problems:
        raise InputError(problems)
    problems += _half_filled(rows)
    groups = _nozzles(rows)
    for members in groups:
        problems += _contradictions(rows, members)
    if not groups and not problems:
        problems.append(Problem(file, None, "", "no row has a flow"))
    if problems:
        raise InputError(problems)
    return _chart(file, rows, groups)


def read_charts(paths: Sequence[Path]) -> Chart:
    """Several charts as one, the first first; raises InputError as `read_chart` does.

    A nozzle of one name and arc may stand in one chart only.
    """
    charts = [read_chart(path) for path in paths]
    problems, seen = [], dict[tuple[str, str], str]()
    for chart in charts:
        for name, arc in zip(chart.nozzle, chart.arc_deg.tolist(), strict=True):
            before = seen.setdefault((folded(name), str(arc)), chart.file)
            if before != chart.file:
                problems.append(
                    Problem(chart.file, None, "nozzle", f"{name} is in {before} too",
                            "a name in one chart only")
                )  # fmt: skip
    if problems:
        raise InputError(problems)
    return Chart(
        ", ".join(chart.file for chart in charts),
        tuple(name for chart in charts for name in chart.nozzle),
        np.concatenate([chart.arc_deg for chart in charts]),
        np.concatenate([chart.low_angle for chart in charts]),
        np.concatenate([chart.head_kind for chart in charts]),
        tuple(rows for chart in charts for rows in chart.pressure_kpa),
        tuple(rows for chart in charts for rows in chart.flow_l_min),
        tuple(rows for chart in charts for rows in chart.radius_m),
    )


def _half_filled(rows: csvfiles.Rows) -> Iterator[Problem]:
    """Rows that have a flow without its pressure, or a throw without its flow."""
    values = rows.values
    for row in np.flatnonzero(~_is_gap(rows)).tolist():
        for name, what in (("pressure_kpa", "pressure"), ("flow_l_min", "flow")):
            if np.isnan(values[name][row]):
                yield rows.problem(
                    row, name, "is blank", f"the {what} of this row",
                    "leave flow and radius blank where the chart has a gap",
                )  # fmt: skip


def _is_gap(rows: csvfiles.Rows) -> np.ndarray:
    return np.isnan(rows.values["flow_l_min"]) & np.isnan(rows.values["radius_m"])


def _nozzles(rows: csvfiles.Rows) -> list[list[int]]:
    """Rows of each nozzle and arc, in the order of the chart."""
    groups: dict[tuple[str, float], list[int]] = {}
    gap = _is_gap(rows)
    for row, name in enumerate(rows.values["nozzle"]):
        arc = rows.values["arc_deg"][row]
        if not gap[row]:
            key = folded(name), 0.0 if np.isnan(arc) else float(arc)
            groups.setdefault(key, []).append(row)
    return list(groups.values())


def _contradictions(rows: csvfiles.Rows, members: Sequence[int]) -> Iterator[Problem]:
    """What rows of one nozzle cannot both say."""
    values = rows.values
    name = values["nozzle"][members[0]]
    for field in ("low_angle", "head_kind"):
        said = [row for row in members if values[field][row] not in (None, "")]
        for row in said[1:]:
            if values[field][row] != values[field][said[0]]:
                yield rows.problem(
                    row, field,
                    f"nozzle {name} is something else in {rows.where(said[0])}",
                    "one answer for all rows of a nozzle",
                )  # fmt: skip
    by_pressure = sorted(members, key=lambda row: values["pressure_kpa"][row])
    for before, row in itertools.pairwise(by_pressure):
        yield from _against_row_before(rows, before, row)


def _against_row_before(
    rows: csvfiles.Rows, before: int, row: int
) -> Iterator[Problem]:
    values = rows.values
    name, where = values["nozzle"][row], rows.where(before)
    flow, flow_before = values["flow_l_min"][row], values["flow_l_min"][before]
    if _same(values["pressure_kpa"][row], values["pressure_kpa"][before]):
        for field, what in (("flow_l_min", "flow"), ("radius_m", "throw")):
            first, second = values[field][before], values[field][row]
            if np.isfinite([first, second]).all() and not _same(first, second):
                yield rows.problem(
                    row, field,
                    f"nozzle {name} has another {what} at this pressure in {where}",
                    "one row for each nozzle, arc and pressure",
                )  # fmt: skip
    elif np.isfinite([flow, flow_before]).all() and flow < flow_before * (1 - 1e-9):
        yield rows.problem(
            row, "flow_l_min",
            f"nozzle {name} has less flow here than at the lower pressure of "
            f"{where}",
            "a flow that rises with pressure, or stays",
            "look for a digit typed wrong, or rows of two nozzles under one name",
        )  # fmt: skip


def _same(first: float, second: float) -> bool:
    return bool(np.isclose(first, second, rtol=1e-9, atol=0))


def _chart(file: str, rows: csvfiles.Rows, groups: Sequence[list[int]]) -> Chart:
    values = rows.values
    pressures, flows, throws = [], [], []
    for members in groups:
        order = sorted(members, key=lambda row: values["pressure_kpa"][row])
        pressure = values["pressure_kpa"][order]
        again = np.r_[False, np.isclose(pressure[1:], pressure[:-1], rtol=1e-9, atol=0)]
        place = np.cumsum(~again) - 1
        throw = np.full(place[-1] + 1, np.nan)
        # Of rows that say the same, one may leave the throw out.
        for at, radius in zip(place, values["radius_m"][order], strict=True):
            throw[at] = radius if np.isnan(throw[at]) else throw[at]
        pressures.append(pressure[~again])
        flows.append(values["flow_l_min"][order][~again])
        throws.append(throw)
    first = [members[0] for members in groups]
    return Chart(
        file,
        tuple(values["nozzle"][row] for row in first),
        values["arc_deg"][first],
        np.array([_said(values["low_angle"], rows_) is True for rows_ in groups]),
        np.array(
            [_kind(values["head_kind"], rows_) for rows_ in groups], dtype=np.intp
        ),
        tuple(pressures),
        tuple(flows),
        tuple(throws),
    )


def _said(column: Sequence[object], members: Sequence[int]) -> object:
    """First answer among the rows of a nozzle; None where all are blank."""
    return next((column[r] for r in members if column[r] not in (None, "")), None)


def _kind(column: Sequence[object], members: Sequence[int]) -> int:
    said = _said(column, members)
    return HEAD_KINDS.index(str(said)) if said else -1
