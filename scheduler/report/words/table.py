"""What the watering table says of how it was planned."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.balance.years import Years
from scheduler.inputs.site import Site
from scheduler.plan.site import SitePlan
from scheduler.report.counting import counted
from scheduler.report.shown import MONTH_LABELS, minutes

INTERVALS_GO_ON = (
    "Waterings at an interval go on from the last one of the month before."
)


def planned_by_days(years: Years) -> str:
    """How many years of days the table was played through, and whose they are."""
    if not years.invented:
        span = f"{years.first} to {years.last}"
        return f"played through the days of {len(years)} years, {span}"
    wet = "days of rain" if years.rain_days_given else "7 mm a wet day"
    return f"played through {len(years)} years of days invented from it ({wet})"


def by_months(site: Site) -> str:
    """How rain is counted where the table is by months."""
    rain = {
        "tr21": "counted by SCS TR-21",
        "share": f"{100 * site.rain_rule.share:.0f} % counted",
        "none": "not counted",
    }[site.rain_rule.method]
    return f"rain: {rain}"


def fillings(plan: SitePlan, zone: int) -> Iterator[str]:
    """What fills dry ground first, where a season begins with it."""
    fill, days = plan.plan.fill_min[zone], plan.plan.fill_days[zone]
    for month in np.flatnonzero(days).tolist():
        on = counted(int(days[month]), "permitted day")
        first = "the first permitted day" if days[month] == 1 else f"the first {on}"
        yield (
            f"{MONTH_LABELS[month]} begins with {minutes(float(fill[month]))} min on "
            f"{first}, to fill the ground; then as above."
        )
