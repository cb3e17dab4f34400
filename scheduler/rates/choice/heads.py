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
            float(choice.chosen.offer.flow_l_min[pick]),
            float(choice.chosen.offer.radius_m[pick]),
            choice.chosen.offer.pressure_kpa,
            bool(choice.chosen.offer.low_angle[pick]),
        )
        for choice in choices
        if choice.fits
        for row, pick in zip(choice.offer.rows, choice.chosen.nozzle, strict=True)
    }
