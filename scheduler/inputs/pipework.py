"""Water meters, pipe materials and backflow devices: the package's tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from scheduler import units
from scheduler.inputs.library import package_table


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


_LOSS_AT = "loss_psi_at_"


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
