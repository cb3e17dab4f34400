"""What stands on the sheet around what a site's plan says: headings and captions."""

from __future__ import annotations

import datetime

LANGUAGE = "en"

WHAT_FOR = "what the water is for"
YEARS_WATER = "The year’s water"
WATER_AND_COST = "Water and cost of a year"
WATER, COST, OF_ALLOWANCE = "Water", "Cost", "Of the allowance"
ZONE_NEEDS = "What each zone needs"
WHY_DIFFER = "Why zones differ"
SAVE_MOST = "What would save most"
WATCH_FOR = "What to watch for"
FROST = "Frost."
CANNOT_KEEP = "What the plan cannot keep"
CLIMATE = "Climate"

AT_THIS_PLACE = "At this place"
MONTH_PERCENT = "Month percent"
PERCENT_KEY = "Set on the first of the month; “off” is 0 %."
PROGRAM = "Program"


def title(site: str) -> str:
    """Title of the sheet, as a browser shows it."""
    return f"{site}: water sheet"


def compared(has_today: bool) -> str:
    """Heading of the year's amounts, side by side."""
    return f"Plan, allowance{', today' if has_today else ''}"


def zones_key(costed: bool) -> str:
    """How to read what each zone needs."""
    without = " without the fixed charges" if costed else ""
    return (
        f"Water a year, and its cost{without}. Bars: January to December, each zone "
        "on its own scale. The number before a name is the station on the controller."
    )


def made(date: datetime.date, version: str) -> str:
    """When the sheet was made, and by what."""
    return f"{date.isoformat()}, scheduler {version}."


def percents_of(visit: int) -> str:
    """Name of a visit's table of percents, for those who do not see it."""
    return f"Month percents of visit {visit}"


def run_caption(minutes: int, splits: bool, percents: bool) -> str:
    """Caption of a program's run times; whether it splits runs, and has percents."""
    at, start = (" at 100 %", "In its longest month a") if percents else ("", "A")
    kept = "; cycle and soak stay as keyed" if splits else ""
    return f"Minutes of one start{at}. {start} start takes {minutes} min in all{kept}."
