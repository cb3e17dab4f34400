"""A catch-can test in words."""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.rates.uniformity import nearest_part
from scheduler.report.counting import listed
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "zone": "zone",
        "cans": "cans",
        "rate": "rate",
        "uniformity_lq": "lower\nquarter",
        "uniformity_lh": "lower\nhalf",
        "christiansen_percent": "Christi-\nansen %",
        "run_time_multiplier": "run-time\nmultiplier",
        "driest": "driest quarter",
    }
)
TITLE = "Catch-can test"
USE = (
    "To plan with it, save the file as cans.csv in the site's folder: the zone's "
    "minutes then go by the rate that the cans caught, its run-time multiplier by "
    "their lower quarter, and its water by the flow as before. Test on a still day "
    "(wind under 5 mph, 8 km/h), and go to the driest cans first: a tilted or sunken "
    "head, a worn nozzle or a wide gap is likely near them."
)


def quarters(counts: Iterable[int]) -> str:
    """How many cans the lower quarter is, for each number of cans."""
    taken = listed([f"{nearest_part(n, 4)} of {n} cans" for n in sorted(set(counts))])
    return (
        "Uniformity of the lower quarter is the mean of the driest quarter over the "
        f"mean of all: {taken}, a quarter to the nearest whole number, a half up."
    )
