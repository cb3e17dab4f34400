"""What the planning needs, in rows: sites are stacked, and what-ifs are more rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from scheduler.balance.ground import Ground, Valve
from scheduler.balance.years import Years
from scheduler.calendar import Periods
from scheduler.plan.times.days import DayRule

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

_Record = TypeVar("_Record", Ground, Valve)

RAIN_METHODS = ("none", "tr21", "share")


@dataclass(frozen=True, slots=True, eq=False)
class PlanInput:
    """All that the planning needs: weather along valves, the ground and its valves.

    `rain_method` (valve,) is a row of RAIN_METHODS; `Valve.day_rule` (valve, period) a
    row of `rules`, with `rule_intervals` beside it; `frost` (valve, period) marks
    periods that are off, `dormant` those of them in which plants rest. `years` are
    those of the plan by days, `Valve.climate` a row of them; without any the plan is
    by months.
    """

    periods: Periods
    et0_mm_day: np.ndarray  # (valve, period)
    rain_mm: np.ndarray  # (valve, period)
    frost: np.ndarray  # (valve, period)
    dormant: np.ndarray  # (valve, period)
    rain_method: np.ndarray
    rain_share: np.ndarray
    ground: Ground
    valve: Valve
    rules: tuple[DayRule, ...]
    rule_intervals: tuple[bool, ...]
    years: tuple[Years, ...] = ()

    def __len__(self) -> int:
        """Rows of ground, which are the rows of a plan by months."""
        return len(self.ground)


_WEATHER = ("et0_mm_day", "rain_mm", "frost", "dormant", "rain_method",
            "rain_share")  # fmt: skip


def stack(inputs: Sequence[PlanInput]) -> PlanInput:
    """One input of many, their rows in the order given.

    Raises ValueError where there is none, or where their periods or ways of planning
    differ.
    """
    if not inputs:
        raise ValueError("inputs must be one or more")
    first = inputs[0]
    for other in inputs:
        if not _same_periods(other.periods, first.periods):
            raise ValueError("inputs must be planned over the same periods")
        if bool(other.years) != bool(first.years):
            raise ValueError("inputs must all be planned by days, or all by months")
    rules = dict.fromkeys(rule for one in inputs for rule in _rules_of(one))
    rows = {rule: row for row, rule in enumerate(rules)}
    grounds, valves, before = [], [], 0
    years = {id(row): row for one in inputs for row in one.years}
    climates = {row: place for place, row in enumerate(years)}
    for one in inputs:
        to_row = np.array([rows[rule] for rule in _rules_of(one)], dtype=np.intp)
        grounds.append(replace(one.ground, valve=one.ground.valve + before))
        places = np.array([climates[id(row)] for row in one.years], dtype=np.intp)
        climate = places[one.valve.climate] if one.years else one.valve.climate
        day_rule = to_row[one.valve.day_rule]
        valves.append(replace(one.valve, day_rule=day_rule, climate=climate))
        before += len(one.valve)
    return PlanInput(
        periods=first.periods,
        **{name: _joined([getattr(one, name) for one in inputs]) for name in _WEATHER},
        ground=_stacked(grounds),
        valve=_stacked(valves),
        rules=tuple(rule for rule, _ in rows),
        rule_intervals=tuple(intervals for _, intervals in rows),
        years=tuple(years.values()),
    )


def of_valves(inputs: PlanInput, valves: np.ndarray) -> PlanInput:
    """The input of valves in the order given, each with its ground; they may repeat."""
    by_valve = np.argsort(inputs.ground.valve, kind="stable")
    parts = np.bincount(inputs.ground.valve, minlength=len(inputs.valve))
    of_each = parts[valves]
    valve = np.repeat(np.arange(len(valves)), of_each)
    turn = np.arange(len(valve)) - (np.cumsum(of_each) - of_each)[valve]
    rows = by_valve[(np.cumsum(parts) - parts)[valves][valve] + turn]
    return replace(
        inputs,
        **{name: getattr(inputs, name)[valves] for name in _WEATHER},
        ground=replace(rows_of(inputs.ground, rows), valve=valve),
        valve=rows_of(inputs.valve, valves),
    )


def apart(inputs: PlanInput) -> PlanInput:
    """The same ground with each part on a valve of its own."""
    ground, of = inputs.ground, inputs.ground.valve
    own = ground.share * ground.rate_share
    valve = rows_of(inputs.valve, of)
    return replace(
        inputs,
        **{name: getattr(inputs, name)[of] for name in _WEATHER},
        ground=replace(
            ground,
            valve=np.arange(len(ground)),
            share=np.ones(len(ground)),
            rate_share=np.ones(len(ground)),
        ),
        valve=replace(
            valve,
            rate_mm_h=valve.rate_mm_h * ground.rate_share,
            peak_rate_mm_h=valve.peak_rate_mm_h * ground.rate_share,
            flow_l_min=valve.flow_l_min * own,
        ),
    )


def what_if(
    inputs: PlanInput, **alternatives: Sequence[ArrayLike] | np.ndarray
) -> PlanInput:
    """The input once for every alternative, with fields replaced in each.

    A field is one of the weather, of Ground or of Valve. Its value is a list of
    alternatives, or an array with a leading axis of them; each broadcasts against the
    field. Fields of one alternative hold in all; the others have as many alternatives
    as there are. The rows of an alternative stand together, the first one's first.

    Raises ValueError where a field is none, or alternatives are not as many.
    """
    given = {name: _alternatives(inputs, name, value)
             for name, value in alternatives.items()}  # fmt: skip
    counts = {len(values) for values in given.values()} - {1}
    if len(counts) > 1:
        raise ValueError(f"alternatives must be as many, got {sorted(counts)}")
    count = counts.pop() if counts else 1
    valve_rows = np.arange(count)[:, None] * len(inputs.valve)
    given.setdefault("valve", valve_rows + inputs.ground.valve)

    def of(record: Any, names: Sequence[str]) -> dict[str, Any]:
        return {
            name: _repeated(given.get(name, getattr(record, name)[None]), count)
            for name in names
        }

    return replace(
        inputs,
        **of(inputs, _WEATHER),
        ground=Ground(**of(inputs.ground, _names(Ground))),
        valve=Valve(**of(inputs.valve, _names(Valve))),
    )


def _alternatives(
    inputs: PlanInput, name: str, value: Sequence[ArrayLike] | np.ndarray
) -> np.ndarray:
    """Values of a field in each alternative, (alternative, row) or with periods."""
    if name == "valve":
        raise ValueError("valve: ground stays under its valve")
    for record, names in _places(inputs):
        if name in names:
            shape = getattr(record, name).shape
            break
    else:
        raise ValueError(f"{name} is no field of the weather, Ground or Valve")
    rows = [np.broadcast_to(one, _wider(shape, one)) for one in value]
    if not rows:
        raise ValueError(f"{name} must have one alternative or more")
    return np.stack(rows)


def _wider(shape: tuple[int, ...], value: ArrayLike) -> tuple[int, ...]:
    """Shape of a field, its period axis as long as that of a new value."""
    try:
        wider = np.broadcast_shapes(shape, np.shape(value))
    except ValueError:
        wider = ()
    if len(wider) != len(shape) or wider[0] != shape[0]:
        raise ValueError(f"an alternative must fit {shape}, got {np.shape(value)}")
    return wider


def _places(inputs: PlanInput) -> Iterator[tuple[Any, tuple[str, ...]]]:
    yield inputs, _WEATHER
    yield inputs.ground, _names(Ground)
    yield inputs.valve, _names(Valve)


def _names(record: type[Ground] | type[Valve]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(record))


def _repeated(values: np.ndarray, count: int) -> np.ndarray:
    """Values of (alternative, row, …) as rows, one alternative for all."""
    every = np.broadcast_to(values, (count, *values.shape[1:]))
    return every.reshape(-1, *values.shape[2:])


def rows_of(record: _Record, rows: np.ndarray) -> _Record:
    """Rows of ground or of valves, in the order given."""
    kind = type(record)
    return kind(**{name: getattr(record, name)[rows] for name in _names(kind)})


def _stacked(records: Sequence[_Record]) -> _Record:
    kind = type(records[0])
    return kind(**{
        name: _joined([getattr(one, name) for one in records]) for name in _names(kind)
    })  # fmt: skip


def _joined(arrays: Sequence[np.ndarray]) -> np.ndarray:
    """Arrays one after another; a period axis of 1 becomes as long as the others."""
    if arrays[0].ndim == 2:
        periods = max(array.shape[1] for array in arrays)
        arrays = [np.broadcast_to(a, (len(a), periods)) for a in arrays]
    return np.concatenate(arrays)


def _rules_of(inputs: PlanInput) -> Iterator[tuple[DayRule, bool]]:
    return zip(inputs.rules, inputs.rule_intervals, strict=True)


def _same_periods(one: Periods, other: Periods) -> bool:
    return np.array_equal(one.days, other.days) and np.array_equal(
        one.month, other.month
    )
