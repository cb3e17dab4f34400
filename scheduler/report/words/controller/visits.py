"""Visits a year in words: what each number costs."""

from __future__ import annotations

from scheduler.report import shown
from scheduler.report.counting import of_hundred
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "visits": "visits\na year",
        "water": "water\na year",
        "extra_water_percent": "over the\ntable %",
        "gap_percent": "better\nat most %",
        "dry_days_percent": "dry days\nof 100",
        "shallowest_share": "shallowest\nwatering",
        "not_kept": "not\nkept",
        "visit_months": "visits by the 1st of",
    }
)


def title(site: str) -> str:
    """Heading of the comparison."""
    return f"Visits to the controller: {site}"


def extra(table_l: float, dry_percent: float, units: str) -> str:
    """What the table takes, and what the columns of the comparison count."""
    water = shown.quantity(table_l, "volume", units)
    return (
        f"By the table the zones get {water} a year, and plants go short on "
        f"{of_hundred(dry_percent / 100)}. Between two visits only the percents "
        "change. Better at most: by how much another card with as many visits could "
        "do better, in shares of the table's water. The shallowest watering is a share "
        "of the table's depth. Not kept: limits, each for a zone and month. Fewer "
        "visits are shown where more save next to nothing."
    )
