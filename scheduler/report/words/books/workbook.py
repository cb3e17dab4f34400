"""What stands in a workbook beside its tables."""

from __future__ import annotations

import datetime

from scheduler.report.shown import date_text
from scheduler.report.words.table import ALL_ZONES as ALL_ZONES

ABOUT = "About"


def made(site: str, date: datetime.date) -> list[str]:
    """Site, and day on which the book was made."""
    return [site, f"Made {date_text(date)}."]
