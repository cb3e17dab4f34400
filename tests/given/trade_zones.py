"""Zones, heads and supplies in the units that the trade prints, without a site."""

import numpy as np

from scheduler import units
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.library import backflow_devices, meters, pipe_materials
from scheduler.inputs.site import Heads, Supply, Zones

GPM = units.L_PER_GAL  # L/min
FT = units.M_PER_FT
FT2 = units.M2_PER_FT2
PSI = units.KPA_PER_PSI
IN = IN_H = units.MM_PER_IN  # mm, mm/h
METERS = {meter.size_in: meter for meter in meters()}
PVC = next(pipe for pipe in pipe_materials() if pipe.name == "pvc")
DEVICES = {device.name: device for device in backflow_devices()}

_ZONE_NUMBERS = [
    "slope_percent",
    "root_depth_mm",
    "area_m2",
    "flow_l_min",
    "rate_mm_h",
    "pressure_kpa",
    "uniformity",
    "plant_factor",
    "depletion",
    "longest_gap_days",
    "shortest_gap_days",
    "dry_share",
    "wetted_share",
    "emitter_flow_l_min",
    "emitter_pressure_kpa",
    "emitter_spacing_m",
    "emitter_row_spacing_m",
    "emitters",
    "plants",
    "canopy_m2",
    "grown_canopy_m2",
    "ground_m2",
    "caliper_mm",
]


def some_zones(count=1, head_kind="rotor", **columns):
    """Zones that leave blank (NaN) what is not given."""
    values = {name: np.full(count, np.nan) for name in _ZONE_NUMBERS}
    values |= {
        "zone": tuple(str(row + 1) for row in range(count)),
        "station": np.arange(1, count + 1),
        "name": ("lawn",) * count,
        "plant": np.zeros(count, int),
        "soil": np.zeros(count, int),
        "head_kind": np.full(count, HEAD_KINDS.index(head_kind)),
        "microclimate_factor": np.ones(count),
        "density_factor": np.ones(count),
        "regulated": np.zeros(count, bool),
        "keep": (None,) * count,
        "planted": (None,) * count,
        "stage": ("",) * count,
    }
    values |= {name: np.asarray(column) for name, column in columns.items()}
    return Zones(**values)


def some_heads(arc_deg, flow_gpm, spacing_ft=np.nan, zone=0, count=1, **columns):
    """Heads in trade units, one to each arc; the rest broadcasts."""
    arc = np.array(arc_deg, float)
    values = {
        "zone": np.broadcast_to(zone, arc.shape).astype(int),
        "head": tuple(str(row + 1) for row in range(len(arc))),
        "nozzle": ("",) * len(arc),
        "count": np.broadcast_to(count, arc.shape).astype(float),
        "arc_deg": arc,
        "radius_m": np.full(arc.shape, np.nan),
        "flow_l_min": np.broadcast_to(np.array(flow_gpm, float) * GPM, arc.shape),
        "pressure_kpa": np.full(arc.shape, np.nan),
        "spacing_m": np.broadcast_to(np.array(spacing_ft, float) * FT, arc.shape),
        "row_spacing_m": np.full(arc.shape, np.nan),
        "triangular": np.zeros(arc.shape, bool),
        "low_angle": np.zeros(arc.shape, bool),
        "x_m": np.full(arc.shape, np.nan),
        "y_m": np.full(arc.shape, np.nan),
        "facing_deg": np.full(arc.shape, np.nan),
    }
    values |= {
        name: np.broadcast_to(column, arc.shape) for name, column in columns.items()
    }
    return Heads(**values)


def supply_of(**values) -> Supply:
    """A supply of which nothing but these is known."""
    return Supply(**{"design_flow_l_min": None, "pressure_kpa": None,
                     "wind_m_s": None, **values})  # fmt: skip
