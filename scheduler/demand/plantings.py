"""What leaflets say of new plantings: step by step from planting to grown in."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache

from scheduler.calendar import ONE_DAY
from scheduler.inputs.library import package_table
from scheduler.units import L_PER_GAL, MM_PER_IN

SUMMER, WINTER = (5, 6, 7, 8), (12, 1, 2)
"""Months of the northern half of the earth (common practice)."""
_MONTHS, _SOUTH = 12, 6


@dataclass(frozen=True, slots=True)
class LeafletStep:
    """A step as it is printed: how long, how often, how much, how deep roots go.

    `starts` a day and `every_days` have their least and most; `l_per_mm_caliper` is
    water a tree for each mm of its trunk, NaN where plants get what they need. A tree
    stands on its own roots `established_months` after planting for each inch of its
    trunk, others as many; NaN: as the steps end. `root_depth_mm` is from memory.
    """

    days: int
    starts: tuple[int, int]
    every_days: tuple[int, int]
    l_per_mm_caliper: float
    root_depth_mm: float
    established_months: float
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class Planted:
    """One zone's planting; `caliper_mm` is NaN but for trees whose trunk is told."""

    stage: str
    date: datetime.date
    caliper_mm: float
    plant: str

    @property
    def is_tree(self) -> bool:
        """Whether it is watered by its trunk."""
        return math.isfinite(self.caliper_mm)


def steps_from_planting(
    planted: Planted, latitude: float, frost: bool
) -> Iterator[tuple[datetime.date, LeafletStep]]:
    """Steps with the date on which each begins.

    `frost` says that the place has months of frost: trees grow in slowly there. Seed
    gets its first step until it is up. Trees planted in a mild winter have no daily
    watering.
    """
    by_season = {
        season: _rows(planted, "frost" if frost else "mild", season)
        for season in ("summer", "rest")
    }
    first = planted.date
    for turn in range(len(by_season["rest"])):
        month = first.month if latitude >= 0 else (first.month + _SOUTH - 1) % 12 + 1
        step = by_season["summer" if month in SUMMER else "rest"][turn]
        if planted.stage == "seed" and not turn:
            step = _until_up(step, planted.plant)
        if planted.is_tree and not frost and month in WINTER:
            most = max(step.every_days[1], 2)
            step = replace(step, every_days=(most, most))
        yield first, step
        first += step.days * ONE_DAY


def established(planted: Planted, step: LeafletStep) -> datetime.date | None:
    """Date by which a planting stands on its own roots; None: as its steps end."""
    months = step.established_months
    if math.isnan(months):
        return None
    if planted.is_tree:
        months *= planted.caliper_mm / MM_PER_IN
    return planted.date + datetime.timedelta(days=round(months * 365.25 / _MONTHS))


def _until_up(step: LeafletStep, plant: str) -> LeafletStep:
    """The first step, as long as its seed may take to come up."""
    row = _germination().get(plant)
    if row is None or int(row["days_most"]) <= step.days:
        return step
    source = f"{step.source}; {plant} comes up in {row['days_most']} days at most"
    status = "from memory"
    return replace(step, days=int(row["days_most"]), source=source, status=status)


@cache
def _germination() -> Mapping[str, Mapping[str, str]]:
    return {row["plant"]: row for row in package_table("germination")}


def _rows(planted: Planted, climate: str, season: str) -> list[LeafletStep]:
    rows = [
        row
        for row in package_table("new_plantings")
        if row["stage"] == ("tree" if planted.is_tree else planted.stage)
        and row["climate"] in ("any", climate)
        and row["season"] in ("any", season)
    ]
    if planted.is_tree:
        trunk_in = planted.caliper_mm / MM_PER_IN
        limits = {float(row["caliper_to_in"] or "inf") for row in rows}
        limit = min(limit for limit in limits if trunk_in <= limit + 1e-9)
        rows = [row for row in rows if float(row["caliper_to_in"] or "inf") == limit]
    return [_step(row) for row in rows]


def _step(row: Mapping[str, str]) -> LeafletStep:
    def number(name: str) -> float:
        return float(row[name] or "nan")

    def both(name: str) -> tuple[int, int]:
        return int(row[f"{name}_least"]), int(row[f"{name}_most"])

    return LeafletStep(
        int(row["days"]),
        both("starts"),
        both("every"),
        number("gal_per_in") * L_PER_GAL / MM_PER_IN,
        number("root_depth_in") * MM_PER_IN,
        number("established_months"),
        row["source"],
        row["status"],
    )
