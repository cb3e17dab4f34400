"""What heads.csv is to say once nozzles are chosen."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.inputs.chart import Chart
from scheduler.inputs.headsfile import NewHead
from scheduler.rates.choice.zone import ZoneChoice


def new_heads(choices: Sequence[ZoneChoice], chart: Chart) -> dict[int, NewHead]:
    """New cells by row of heads.csv, of the zones that fit."""
    return {
        int(row): NewHead(
            chart.nozzle[pick],
            float(choice.offer.flow_l_min[pick]),
            float(choice.offer.radius_m[pick]),
            choice.offer.pressure_kpa,
            bool(choice.offer.low_angle[pick]),
        )
        for choice in choices
        if choice.fits
        for row, pick in zip(choice.offer.rows, choice.chosen.nozzle, strict=True)
    }
