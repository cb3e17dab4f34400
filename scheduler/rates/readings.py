"""Readings of meter and gauge against what was planned."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.cautions import Caution
from scheduler.inputs.site import Metered, Zones

MOST_OFF = 0.10
"""A metered flow so far off the planned one is told (common practice)."""


def share_over_plan(metered: Metered, planned_flow_l_min: np.ndarray) -> np.ndarray:
    """Share of a zone's metered flow that its heads would not take, (zone,).

    0 where the meter shows so little more that nobody is told, or no meter was read.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        over = 1 - planned_flow_l_min / metered.flow_l_min
        told = metered.flow_l_min > (1 + MOST_OFF) * planned_flow_l_min * (1 + 1e-9)
    return np.where(told, over, 0.0)


def meter_cautions(
    zones: Zones, metered: Metered, planned_flow_l_min: np.ndarray
) -> Iterator[Caution]:
    """Zones whose metered flow is off the flow that is planned without a meter."""
    off = np.abs(metered.flow_l_min - planned_flow_l_min)
    far = off > MOST_OFF * planned_flow_l_min * (1 + 1e-9)
    for row in np.flatnonzero(far).tolist():
        values = {
            "flow_l_min": float(metered.flow_l_min[row]),
            "planned_flow_l_min": float(planned_flow_l_min[row]),
            "gauged": bool(np.isfinite(metered.pressure_kpa[row])),
        }
        yield Caution("meter-off", zones.zone[row], None, values)
