"""What stands on the sheet around what a site's plan says: headings and captions."""

from __future__ import annotations

import datetime

from scheduler.report.counting import listed

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
NOT_KEPT_NOW = "What these settings cannot keep"
CLIMATE = "Climate"

AT_THIS_PLACE = "At this place"
MONTH_PERCENT = "Month percent"
PERCENT_KEY = "Set on the first of the month, if no later day is named; “off” is 0 %."
PROGRAM = "Program"
STEPS_CAPTION = "Key in each step on its first day, in place of the one before."


def title(site: str) -> str:
    """Title of the sheet, as a browser shows it."""
    return f"{site}: water sheet"


def compared(has_today: bool) -> str:
    """Heading of the year's amounts, side by side."""
    return f"Plan, allowance{', old settings' if has_today else ''}"


def zones_key(costed: bool) -> str:
    """How to read what each zone needs."""
    cost = " and its cost without the fixed charges" if costed else ""
    return (
        f"Station and name; water a year{cost}; bars: January to December, each zone "
        "on its own scale. Short: days a year, drier than suits."
    )


def made(date: datetime.date, version: str) -> str:
    """When the sheet was made, and by what."""
    return f"{date.isoformat()}, scheduler {version}."


def percents_of(visit: int) -> str:
    """Name of a visit's table of percents, for those who do not see it."""
    return f"Month percents of visit {visit}"


def run_caption(minutes: int, splits: bool, pauses: bool) -> str:
    """Caption of a program's run times: how long a start takes at most.

    It may split runs into cycles with soak between, or pause between valves.
    """
    named = [("soaks", splits), ("pauses between valves", pauses)]
    counted = listed([name for name, there in named if there])
    return f"A start takes up to {minutes} min{f', {counted} counted' * bool(counted)}."
