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
OF_POINTS = Headings(
    {
        "zone": "zone",
        "name": "name",
        "flow": "flow",
        "flow_source": "from",
        "pressure": "pressure",
        "pressure_source": "from",
        "chart_share": "of the\nchart's",
    }
)
POINTS = "Pressure and flow"
BY_HEAD = "By head"
_UNIFORMITY_FROM = {
    "head imbalance": "heads",
    "kind of head": "usual",
    "coverage model": "model",
}
"""Shorter words for a column; 100 columns have to hold a zone's rates."""
_PRESSURE_FROM = {
    "gauge": "gauge on the zone",
    "given": "[supply] pressure",
    "curve": "heads meet supply",
    "bucket": "bucket test",
    "": "not known: the chart's",
}
"""Where a zone's pressure comes from, in a few words."""


def title(site: str) -> str:
    """Heading of the rates."""
    return f"Precipitation rates: {site}"


def uniformity_from(source: str) -> str:
    """Where a uniformity comes from, in a word."""
    return _UNIFORMITY_FROM.get(source, source)


def flow_from(source: str, pressure_source: str) -> str:
    """Where a flow comes from; heads may take no more than a bucket test gave."""
    held = source == "sum of heads" and pressure_source == "bucket"
    return _PRESSURE_FROM["bucket"] if held else source


def pressure_from(source: str) -> str:
    """Where a zone's pressure comes from, in a few words."""
    return _PRESSURE_FROM[source]
