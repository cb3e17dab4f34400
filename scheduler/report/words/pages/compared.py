"""What the owner is told of a site before and after a change."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.report.counting import counted, listed
from scheduler.report.words.pages import spoken

HEADING = "Before and after"
NO_CHANGE = "No zone’s water changes by more than a hundredth of the site’s."
OTHER_CLIMATE = "They stand on different weather, so part of the change comes of that."
OTHER_METHOD = (
    "One is planned by days, the other by months: part of the change comes of that."
)


def year(
    more_l: float,
    dearer: str,
    costs_more: bool,
    days: tuple[int, int] | None,
    units: str,
) -> str:
    """The site's year; `dearer` is "" where no change of cost is known.

    `days`, before and now, are those on which plants go short.
    """
    told = "This plan takes as much water as the one before"
    if more_l:
        amount = spoken.quantity(abs(more_l), "volume", units)
        told = f"This plan takes {amount} {_word(more_l > 0)} a year"
    if dearer:
        told += f" and costs {dearer} {_word(costs_more)}"
    if days is not None:
        told += f"; plants go short on {_days(*days)}"
    return f"{told}."


def zone(
    name: str, was: str, more_l: float, days: tuple[int, int] | None, units: str
) -> str:
    """One zone: its name, and before where that was another; `days` as of the year."""
    whose = f"{name} (before: {was})" if was else name
    amount = spoken.quantity(abs(more_l), "volume", units)
    told = f"{whose}: {amount} {_word(more_l > 0)}"
    if days is not None:
        told += f", short on {_days(*days)}"
    return f"{told}."


def _word(more: bool) -> str:
    return "more" if more else "less"


def _days(before: int, now: int) -> str:
    """Days of a year on which plants go short, now and before."""
    told = counted(now, "day")
    return f"{told} as before" if now == before else f"{told} (before: {before})"


def only(zones: Sequence[tuple[str, float]], now: bool, units: str) -> str:
    """Zones that the other does not have, with their water."""
    told = [f"{name} ({spoken.quantity(volume, 'volume', units)})"
            for name, volume in zones]  # fmt: skip
    return f"{'Only now' if now else 'Only before'}: {listed(told)}."
