"""The field sheet in words: what to read, what to look for, where to write it."""

from __future__ import annotations

from scheduler.report.frames import Headings
from scheduler.report.shown import minutes

BLANK = "____"
"""Room to write in."""
METER, CANS, LOOK = "Meter and gauge", "Cans and ground", "What to look for"
SHEET = "Field sheet"
COLUMNS = Headings(
    {
        "zone": "zone",
        "name": "name",
        "minutes": "run\nmin",
        "flow": "flow",
        "volume": "dial must\nmove",
        "least": "from",
        "most": "to",
        "start": "dial\nbefore",
        "end": "dial\nafter",
        "pressure": "gauge",
        "pressure_limits": "works\nfrom - to",
        "least_pressure": "works from",
        "most_pressure": "mists from",
        "pressure_read": "gauge\nread",
        "can_mean": "cans\naverage",
        "can_least": "driest\nquarter",
        "can_most": "wettest\nquarter",
        "caught": "caught",
        "runoff_after_min": "water stands\nafter min",
        "seen": "seen\nafter min",
        "state": "plan is",
        "look_for": "look for",
    }
)
STATES = {
    (True, True): "metered, cans",
    (True, False): "metered",
    (False, True): "cans",
    (False, False): "computed",
}
"""What a zone's plan stands on: whether it was metered, and tested with cans."""
LOOKS = {
    "rotor": "each head turns its whole arc and throws to the next head; none is "
    "tilted or sunken, no ring stays dry around a head, nothing falls outside",
    "spray": "each head throws to the next head; no mist drifts off, no jet is split "
    "by dirt, nothing falls on paving",
    "multi-stream": "every stream turns and reaches the next head; none stands still "
    "or hangs down",
    "drip": "every emitter drips, the last as the first; no jet, no puddle, no dry "
    "plant",
    "bubbler": "every basin fills alike, and none runs over",
}
"""Pattern to look for, by kind of head."""
NEVER = "no"
LONG_MIN = 60
LONG = f"over {LONG_MIN}"
"""Nobody waits longer for water to stand."""


def title(site: str, run_min: float) -> str:
    """Heading of the sheet."""
    return f"Field sheet: {site}, {minutes(run_min)} min a zone"


def how_to(run_min: float, dial: str) -> list[str]:
    """How to take the readings."""
    return [
        f"Nothing else may draw water. Let each zone run full, read the dial ({dial}), "
        f"run it {minutes(run_min)} minutes, and read the dial again. Where water "
        "stands earlier, stop there, let it soak in, and go on: only the minutes of "
        "running count.",
        "Gauge: at the farthest head, while the zone runs. Cans: 24 or more, evenly, "
        "edges and corners too, on a still day. Run sprays 10 minutes or more, what "
        "turns 30 to 60: several turns, and 25 ml or more in a usual can. The driest "
        "and the wettest quarter of the cans should average what is shown for "
        f"{minutes(run_min)} minutes, in three times as long three times that; write "
        "the minutes into cans.csv.",
        "A dial within the limits: the flow holds. Over or under: look for a wrong "
        "nozzle, the pressure, a broken head, a leak, a clogged filter, in this order.",
    ]


FEED_BACK = (
    "Type the readings into meter.csv and cans.csv, or fill in the workbook (--format "
    "xlsx --out field.xlsx, in the site's folder), and print the table again: it then "
    "goes by them. Dial rolled over: put the digit in front that the dial has no room "
    "for, 100046 after 99930."
)


def looks(head_kind: str) -> str:
    """What to look for, with the kind of head that it holds for."""
    return f"{head_kind}: {LOOKS[head_kind]}."


def between(low: str, high: str) -> str:
    """Limits of a reading; the upper one may not be known."""
    return f"{low} - {high}" if high else f"{low} up"


def standing(metered: int, tested: int, zones: int) -> str:
    """Whether a plan is computed or commissioned."""
    cans = f", {tested} tested with cans" if tested else ""
    if not metered:
        return f"Computed: no zone is metered yet{cans}."
    if metered < zones:
        return f"Commissioned in part: {metered} of {zones} zones metered{cans}."
    every = f"all {zones} zones" if zones > 1 else "its zone"
    return f"Commissioned: {every} metered{cans}."
