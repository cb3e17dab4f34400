"""What the ladder of a month says: its title, and why one rung was kept."""

from __future__ import annotations

from scheduler.balance.years import Years
from scheduler.plan.ladder import Ladder

TITLE = "The ladder: what other settings come to"

_HARDLY_MORE = "hardly more water than the least (5 % and 0.5 mm are let pass)"
_REASONS = {
    "frost": "the month is one of frost: nothing runs",
    "off": "nothing needs to run: plants go short on few enough days without",
    "stays-dry": "no setting keeps to the limit; of those within 2 days of a hundred "
    "of the least dry, this takes the least water",
    "hand-over": "of the settings within the limit it leaves the next month the least "
    "dry ground, for the least water",
    "least-water": "of all settings that keep to the limits it takes the least water",
    "as-before": f"it takes {_HARDLY_MORE}, and goes on with the days of the month "
    "before",
    "fewest-days": f"of the settings that take {_HARDLY_MORE} it has the fewest days, "
    "then the fewest cycles",
}


def how_played(years: Years) -> str:
    """What stands behind the ladder's numbers."""
    whose = "invented" if years.invented else f"{years.first} to {years.last}"
    return (
        f"Each setting was played through the month in {len(years)} years ({whose}), "
        "from the ground that the months before left. Dry days are those of the three "
        "wetter quarters, of a hundred; left dry is what the month hands on."
    )


def why_kept(found: Ladder) -> str:
    """The limits, and why the marked rung was kept."""
    limits = f"up to {100 * found.most_dry:.0f} dry days of a hundred"
    if found.hands_over:
        limits += f" and {100 * found.most_left_dry:.0f} % left dry"
    return f"Limits: {limits}. The marked one is kept: {_REASONS[found.reason]}."
