"""The ladder in words: its settings, and why one of them was kept."""

from __future__ import annotations

import math
from collections.abc import Iterator

from scheduler.balance.years import Years
from scheduler.plan.choice import MOST_LEFT_DRY
from scheduler.plan.ladder import Ladder, Rung
from scheduler.report import shown
from scheduler.report.counting import counted, of_hundred
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "kept": "",
        "days": "watering days",
        "minutes": "min\na day",
        "cycles": "cycles",
        "water": "water\na month",
        "dry_days_percent": "dry days\nof 100",
        "left_dry_percent": "left dry\nof 100",
        "suffices": "within\nlimits",
    }
)
TITLE = "The ladder"
KEPT = "kept"


def days_of_rung(rung: Rung) -> str:
    """Watering days of a setting, short enough for a column."""
    if not rung.weekdays:
        return "off"
    return shown.days_text(rung.weekdays, rung.parity, rung.every_days)


def reason(found: Ladder, units: str) -> str:
    """Why the marked rung was kept."""
    least = shown.quantity(found.least_mm, "depth", units)
    limit = _days(found.limit)
    near_driest = (
        "Near that, more water does next to nothing: kept is the setting of least "
        f"water within 2 days of it ({limit})."
    )
    said = {
        "frost": "Off: a month of frost.",
        "not-permitted": "Off: no watering day is permitted.",
        "rain-suffices": f"Off: with no watering plants go short on {limit} at most.",
        "stays-dry": "No setting keeps plants from going short on more days than are "
        f"let pass: at best they do on {_days(found.least_dry)}. {near_driest}",
        "near-driest": f"At best plants go short on {_days(found.least_dry)}, hardly "
        f"fewer than are let pass. {near_driest}",
        "best-hand-over": f"Each setting within {limit} leaves much ground dry to the "
        "month after: kept is the least water within 5 in a hundred of the one that "
        "leaves the least.",
        "least-water": f"Kept is the setting of least water ({least} a month) that "
        f"leaves plants short on no more than {limit}.",
        "within-starts": _near(least, "a program has starts enough for"),
        "as-last-month": _near(least, "goes on with the days of last month"),
        "fewest-days": _near(least, "waters on the fewest days"),
        "fewest-cycles": _near(least, "waters in the fewest cycles"),
    }[found.reason]
    if found.handed_over and found.reason in ("least-water", "as-last-month"):
        said += (" A shorter run keeps to that too, but leaves too much of the ground "
                 "dry to the month after.")  # fmt: skip
    elif found.lightest and found.reason != "stays-dry":
        said += " A lighter watering would not reach the roots."
    return said


def too_seldom(found: Ladder, units: str) -> Iterator[str]:
    """Why more minutes do not help, of each pattern that its gap leaves dry."""
    for each in found.too_seldom:
        drawn, allowed = (
            shown.quantity(depth, "depth", units)
            for depth in (each.drawn_mm, each.allowed_mm)
        )
        gap = counted(round(each.gap_days), "day")
        yield (
            f"More minutes do not help {days_of_rung(each.rung)}: in the {gap} from "
            f"one watering to the next plants draw {drawn}, and of what the roots hold "
            f"they may draw {allowed}. Even {shown.minutes(each.rung.minutes)} minutes "
            f"a day leave them short on {_days(each.rung.dry)}, for the gap itself "
            "empties the ground."
        )


def _days(share: float) -> str:
    return of_hundred(share)


def _near(least: str, why: str) -> str:
    return (
        f"Kept is, of the settings near the least water ({least}), the one that {why}."
    )


def legend(found: Ladder, years: Years) -> Iterator[str]:
    """What stands behind the numbers, and what the columns count."""
    whose = "invented" if years.invented else f"{years.first} to {years.last}"
    yield (
        f"Each setting was played through the month in {len(years)} years ({whose}), "
        "from the ground that the months before left."
    )
    yield (
        "Water is what is delivered in the month of a mean year; dry counts the days "
        "that some ground ends too dry, but for the quarter that heads water least."
    )
    if math.isfinite(found.left_limit):
        yield (
            "Left dry counts that ground on the month's last day; up to "
            f"{100 * max(found.left_limit, MOST_LEFT_DRY):.0f} of a hundred are let "
            "pass."
        )
