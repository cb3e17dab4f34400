"""Precipitation rates in words."""

from __future__ import annotations

from scheduler.report.frames import Headings

OF_ZONES = Headings(
    {
        "zone": "zone",
        "name": "name",
        "head_kind": "heads",
        "flow": "flow",
        "area": "area",
        "rate": "rate",
        "peak_rate": "peak",
        "uniformity": "DU",
        "uniformity_source": "from",
        "run_time_multiplier": "run-time\nmultiplier",
        "imbalance_percent": "imbalance\ntime",
    }
)
OF_HEADS = Headings(
    {
        "zone": "zone",
        "head": "head",
        "count": "count",
        "nozzle": "nozzle",
        "arc_deg": "arc °",
        "flow": "flow each",
        "area": "ground each",
        "rate": "rate",
        "share_of_mean": "of zone\nmean",
    }
)
BY_HEAD = "By head"
_UNIFORMITY_FROM = {
    "head imbalance": "imbalance",
    "kind of head": "usual",
    "coverage model": "model",
}
"""Shorter words for a column; 100 columns have to hold a zone's rates."""


def title(site: str) -> str:
    """Heading of the rates."""
    return f"Precipitation rates: {site}"


def uniformity_from(source: str) -> str:
    """Where a uniformity comes from, in a word."""
    return _UNIFORMITY_FROM.get(source, source)
