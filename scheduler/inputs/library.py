"""Plants, soils, kinds of head, meters, pipes: the package's tables, and a site's."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from scheduler import units
from scheduler.calendar import MONTHS
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.forms.fields import FILES, HEAD_KINDS

if TYPE_CHECKING:
    from scheduler.inputs.sources.source import Source

LONGEST_GAP_DAYS = {"annual": 4, "vegetable": 4, "turf": 7, "groundcover": 7,
                    "shrub": 14, "perennial": 14, "tree": 28, "desert": 28}  # fmt: skip
"""Longest time without water by group of plants (common practice)."""
TOLERANCE = {"desert": 0.7, "shrub": 0.5, "groundcover": 0.4, "perennial": 0.3,
             "turf": 0.25, "annual": 0.1, "tree": 0.1, "vegetable": 0.0}  # fmt: skip
"""Share of its need that a group of plants may lack without lasting harm.

Turf by its deficit trials (UC ANR 8395: cool-season grass 60 of 80 % of ET0). Shrubs
and ground covers took a seventh of ET0 once hardened (Sachs, California Agriculture
45(6), 1991); half of that is counted, for few are hardened. Trees before lawns, for a
lawn comes back and a tree does not, and vegetables last (common practice).
"""
_LOSS_AT = "loss_psi_at_"


@dataclass(frozen=True, slots=True, eq=False)
class Plants:
    """Plants by row: coefficients (plant, month), the rest (plant,).

    `northern` marks the package's rows: their months are those of the northern half of
    the earth. A site's own rows hold for its own months.
    """

    names: tuple[str, ...]
    coefficient: np.ndarray
    northern: np.ndarray
    root_depth_mm: np.ndarray
    depletion: np.ndarray
    longest_gap_days: np.ndarray
    shortest_gap_days: np.ndarray
    salt_threshold_ds_m: np.ndarray
    tolerance: np.ndarray
    food: np.ndarray
    sources: tuple[str, ...]
    statuses: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Soils:
    """Soils by row: accumulation (soil, slope class), the rest (soil,)."""

    names: tuple[str, ...]
    available_water_mm_m: np.ndarray
    intake_mm_h: np.ndarray
    accumulation_mm: np.ndarray
    sources: tuple[str, ...]
    statuses: tuple[str, ...]
    slope_sources: tuple[tuple[str, ...], ...]
    slope_statuses: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class HeadKinds:
    """Usual values and limits by kind of head, in the order of `fields.HEAD_KINDS`.

    `drips` marks kinds that neither throw nor run off. `reachable_uniformity` is that
    of a zone in good order, `measured_uniformity` the mean of homes that were audited,
    NaN where none is known; rates are the usual ones, from `least_rate_mm_h` on; under
    `least_pressure_kpa` a head does not do its work, nor in a run under
    `least_cycle_min`; `most_pressure_kpa` is the end of its working range, NaN where
    only the chart tells it.
    """

    uniformity: np.ndarray
    pressure_kpa: np.ndarray
    wetted_share: np.ndarray
    drips: np.ndarray
    reachable_uniformity: np.ndarray
    measured_uniformity: np.ndarray
    least_rate_mm_h: np.ndarray
    most_rate_mm_h: np.ndarray
    least_pressure_kpa: np.ndarray
    most_pressure_kpa: np.ndarray
    least_cycle_min: np.ndarray
    sources: tuple[str, ...]
    statuses: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Meter:
    """One size of water meter: most flow, and pressure lost at rising flows."""

    size_in: float
    size_mm: float
    most_flow_l_min: float
    flow_l_min: np.ndarray
    loss_kpa: np.ndarray
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class PipeMaterial:
    """One material of pipe, with its Hazen-Williams coefficient."""

    name: str
    coefficient: float
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class BackflowDevice:
    """One type of backflow device: pressure lost at 10 and at 20 gpm, 1 in size."""

    name: str
    loss_at_10_gpm_kpa: float
    loss_at_20_gpm_kpa: float
    source: str
    status: str


def package_table(name: str) -> list[dict[str, str]]:
    """Rows of a CSV of the package, as text."""
    place = resources.files("scheduler.tables") / f"{name}.csv"
    with place.open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


@cache
def slope_limits_percent() -> tuple[float, ...]:
    """Upper limits of the slope classes but the last, which has none."""
    limits = {row["slope_to_percent"] for row in package_table("slopes")} - {""}
    return tuple(sorted(float(limit) for limit in limits))


@cache
def package_plants() -> Plants:
    """Plants of the package."""
    return _plants(_package_rows("plants"), northern=True)


@cache
def plant_names() -> dict[str, tuple[str, ...]]:
    """Names of the trade, and the plants of the package that each may stand for."""
    return {
        row["name"]: tuple(row["plants"].split("; "))
        for row in package_table("plant_names")
    }


@cache
def package_soils() -> Soils:
    """Soils of the package, with allowed accumulation by slope class."""
    rows = _package_rows("soils")
    names = rows.values["soil"]
    classes = [*slope_limits_percent(), np.inf]
    depth = np.full((len(names), len(classes)), np.nan)
    sources = [[""] * len(classes) for _ in names]
    statuses = [[""] * len(classes) for _ in names]
    for row in package_table("slopes"):
        i = names.index(row["soil"])
        j = classes.index(float(row["slope_to_percent"] or "inf"))
        depth[i, j] = float(row["accumulation_in"]) * units.MM_PER_IN
        sources[i][j], statuses[i][j] = row["source"], row["status"]
    return Soils(
        tuple(names),
        rows.values["available_water_mm_m"],
        rows.values["intake_mm_h"],
        depth,
        tuple(rows.values["source"]),
        tuple(rows.values["status"]),
        tuple(map(tuple, sources)),
        tuple(map(tuple, statuses)),
        tuple(rows.values["note"]),
    )


@cache
def head_kinds() -> HeadKinds:
    """Kinds of head of the package."""
    rows = {row["head_kind"]: row for row in package_table("head_kinds")}
    kinds = [rows[kind] for kind in HEAD_KINDS]

    def column(name: str) -> np.ndarray:
        return np.array([float(row[name] or "nan") for row in kinds])

    return HeadKinds(
        column("uniformity"),
        column("pressure_psi") * units.KPA_PER_PSI,
        column("wetted_share"),
        np.array([row["drips"] == "yes" for row in kinds]),
        column("reachable_uniformity"),
        column("measured_uniformity"),
        column("least_rate_in_h") * units.MM_PER_IN,
        column("most_rate_in_h") * units.MM_PER_IN,
        column("least_pressure_psi") * units.KPA_PER_PSI,
        column("most_pressure_psi") * units.KPA_PER_PSI,
        column("least_cycle_min"),
        tuple(row["source"] for row in kinds),
        tuple(row["status"] for row in kinds),
    )


@cache
def meters() -> tuple[Meter, ...]:
    """Sizes of water meter, rising; `size_mm` is the nominal metric size."""
    found = []
    for row in package_table("meters"):
        losses = {
            float(name.removeprefix(_LOSS_AT).removesuffix("_gpm")): float(cell)
            for name, cell in row.items()
            if name.startswith(_LOSS_AT) and cell
        }
        found.append(
            Meter(
                size_in=float(row["meter_in"]),
                size_mm=float(row["meter_mm"]),
                most_flow_l_min=float(row["most_flow_gpm"]) * units.L_PER_GAL,
                flow_l_min=np.array(list(losses)) * units.L_PER_GAL,
                loss_kpa=np.array(list(losses.values())) * units.KPA_PER_PSI,
                source=row["source"],
                status=row["status"],
            )
        )
    return tuple(found)


@cache
def pipe_materials() -> tuple[PipeMaterial, ...]:
    """Materials of pipe."""
    return tuple(
        PipeMaterial(
            row["pipe_material"],
            float(row["coefficient"]),
            row["source"],
            row["status"],
        )
        for row in package_table("pipes")
    )


@cache
def backflow_devices() -> tuple[BackflowDevice, ...]:
    """Types of backflow device, and none."""
    return tuple(
        BackflowDevice(
            row["backflow_device"],
            float(row["loss_psi_at_10_gpm"]) * units.KPA_PER_PSI,
            float(row["loss_psi_at_20_gpm"]) * units.KPA_PER_PSI,
            row["source"],
            row["status"],
        )
        for row in package_table("backflow")
    )


def _package_rows(name: str) -> csvfiles.Rows:
    problems: list[Problem] = []
    place = resources.files("scheduler.tables") / f"{name}.csv"
    with resources.as_file(place) as path:
        table = csvfiles.read_table(Path(path), f"{name}.csv", problems)
    if table is None:
        raise InputError(problems)
    rows = csvfiles.read_rows(table, FILES[f"{name}.csv"], problems)
    if problems:
        raise InputError(problems)
    return rows


def _plants(rows: csvfiles.Rows, northern: bool) -> Plants:
    values = rows.values
    by_month = np.stack([values[month] for month in MONTHS], axis=1)
    all_year = values["coefficient"][:, None]
    gaps = np.array([LONGEST_GAP_DAYS[g or "shrub"] for g in values["group"]], float)
    given = values["longest_gap_days"]
    stands = np.array([TOLERANCE[g or "shrub"] for g in values["group"]])
    told = values["tolerance"]
    return Plants(
        tuple(values["plant"]),
        np.where(np.isnan(by_month), all_year, by_month),
        np.full(len(rows), northern),
        values["root_depth_mm"],
        values["depletion"],
        np.where(np.isnan(given), gaps, given),
        np.nan_to_num(values["shortest_gap_days"], nan=1.0),
        values["salt_threshold_ds_m"],
        np.where(np.isnan(told), stands, told),
        np.array([bool(eaten) for eaten in values["food"]]),
        tuple(s or "the site's plants.csv" for s in values["source"]),
        tuple(s or "read" for s in values["status"]),
    )


def site_plants(source: Source, problems: list[Problem]) -> Plants:
    """The package's plants, with the rows of the site's plants.csv over them."""
    package = package_plants()
    rows = _site_rows(source, "plants.csv", "plant", problems)
    if rows is None:
        return package
    months = [[rows.values[m][i] for m in MONTHS] for i in range(len(rows))]
    for i, monthly in enumerate(months):
        some, all_year = (
            np.isfinite(monthly),
            np.isfinite(rows.values["coefficient"][i]),
        )
        if not rows.complete or rows.faulty[i]:
            continue
        if some.all() == all_year or (some.any() and not some.all()):
            problems.append(
                rows.problem(i, "coefficient", "plant needs its coefficient once",
                             "coefficient, or all of jan to dec")
            )  # fmt: skip
    own = _plants(rows, northern=False)
    kept = _rows_not_in(package.names, own.names)
    return Plants(
        own.names + tuple(package.names[i] for i in kept),
        np.concatenate([own.coefficient, package.coefficient[kept]]),
        np.concatenate([own.northern, package.northern[kept]]),
        np.concatenate([own.root_depth_mm, package.root_depth_mm[kept]]),
        np.concatenate([own.depletion, package.depletion[kept]]),
        np.concatenate([own.longest_gap_days, package.longest_gap_days[kept]]),
        np.concatenate([own.shortest_gap_days, package.shortest_gap_days[kept]]),
        np.concatenate([own.salt_threshold_ds_m, package.salt_threshold_ds_m[kept]]),
        np.concatenate([own.tolerance, package.tolerance[kept]]),
        np.concatenate([own.food, package.food[kept]]),
        own.sources + tuple(package.sources[i] for i in kept),
        own.statuses + tuple(package.statuses[i] for i in kept),
    )


def site_soils(source: Source, problems: list[Problem]) -> Soils:
    """The package's soils, with the rows of the site's soils.csv over them."""
    package = package_soils()
    rows = _site_rows(source, "soils.csv", "soil", problems, {"like": package.names})
    if rows is None:
        return package
    by_fold = {folded(name): i for i, name in enumerate(package.names)}
    like = []
    for i, (name, model) in enumerate(
        zip(rows.values["soil"], rows.values["like"], strict=True)
    ):
        found = by_fold.get(folded(model or name), -1)
        if found < 0 and rows.complete and not rows.faulty[i]:
            problems.append(
                rows.problem(i, "like", "a soil of your own needs a texture like it",
                             ", ".join(package.names),
                             hint_nearest(name, package.names))
            )  # fmt: skip
        like.append(max(found, 0))
    kept = _rows_not_in(package.names, tuple(rows.values["soil"]))
    order = like + kept
    count = len(like)
    own = rows.values
    return Soils(
        (*own["soil"], *(package.names[i] for i in kept)),
        np.concatenate(
            [own["available_water_mm_m"], package.available_water_mm_m[kept]]
        ),
        np.concatenate([own["intake_mm_h"], package.intake_mm_h[kept]]),
        package.accumulation_mm[order],
        (
            *(s or "the site's soils.csv" for s in own["source"]),
            *(package.sources[i] for i in kept),
        ),
        (*(s or "read" for s in own["status"]), *(package.statuses[i] for i in kept)),
        tuple(package.slope_sources[i] for i in order),
        tuple(package.slope_statuses[i] for i in order),
        (*own["note"][:count], *(package.notes[i] for i in kept)),
    )


def _rows_not_in(names: tuple[str, ...], own: tuple[str, ...]) -> list[int]:
    taken = {folded(name) for name in own}
    return [i for i, name in enumerate(names) if folded(name) not in taken]


def _site_rows(
    source: Source,
    file: str,
    key: str,
    problems: list[Problem],
    words: dict[str, tuple[str, ...]] | None = None,
) -> csvfiles.Rows | None:
    if not source.has(file):
        return None
    table = source.table(file, problems)
    if table is None:
        return None
    rows = csvfiles.read_rows(table, FILES[file], problems, words)
    return rows.marked(rows.named_twice(key), problems)
