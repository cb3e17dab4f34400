"""current.csv: what the controller runs today."""

from __future__ import annotations

import numpy as np

from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.site import Current, Zones
from scheduler.inputs.sources.reading import Reading
from scheduler.inputs.zones import table_rows, zone_rows

MINUTES_A_DAY = 1440


def read_current(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None
) -> Current | None:
    """Today's runs; None without a current.csv, or where it cannot be read."""
    file = "current.csv"
    if not reading.source.has(file):
        return None
    rows = table_rows(reading, file)
    if rows is None or zones is None:
        return None
    every_month = next(f.default for f in FILES[file] if f.name == "months")
    starts = np.nan_to_num(rows.values["starts"], nan=1.0)
    zone, rows = zone_rows(reading, rows, zones)
    current = Current(
        zone,
        rows.values["minutes"],
        starts,
        rows.values["days_per_week"],
        tuple(months or every_month for months in rows.values["months"]),
    )
    _check_day(reading, rows, current)
    return current


def _check_day(reading: Reading, rows: csvfiles.Rows, current: Current) -> None:
    """All the starts of a row have to fit in a day."""
    day = current.minutes * current.starts
    for row in np.flatnonzero((day > MINUTES_A_DAY) & ~rows.faulty).tolist():
        reading.problems.append(
            rows.problem(
                row,
                "minutes",
                f"{current.starts[row]:g} starts of {current.minutes[row]:g} "
                "minutes do not fit in a day",
                "minutes of one start, not of the day",
            )
        )
