"""The smallest controller that would hold a card, found by planning with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from scheduler.plan.card.needs import card_needs
from scheduler.plan.card.programs import StretchSearch, find_settings
from scheduler.plan.card.settings import Setting
from scheduler.plan.card.stretches import ALL_YEAR, cheapest_splits
from scheduler.plan.site import SitePlan, plan_site

ROOMY: dict[str, Any] = {
    "percent_by": "program",
    "intervals": True,
    "soak_built_in": True,
    "longest_run_min": 720.0,
    "percent_most": 200.0,
    "percent_step": 1.0,
    "starts": 16.0,
    "programs": 16.0,
}
"""As much as a large controller can do, in the order in which people would rather do
without. That this holds nothing is not proven: the search may miss a setting."""


@dataclass(frozen=True, slots=True)
class SmallestController:
    """Settings of the smallest controller found that holds the card, as changed.

    Each is a name of `Controller` and the value it has to have; none where even a roomy
    controller was not found to do, since the hours or days are too short.
    """

    changes: tuple[tuple[str, Any], ...]


def smallest_controller(plan: SitePlan, visits: int, year: int) -> SmallestController:
    """What the controller would have to be able to do for so many visits.

    From a roomy controller each ability is taken back in turn, as far as the card
    still holds; so none of what is left can be done without. Every answer has been
    planned with.
    """
    now = plan.site.controller
    roomy = {name: value for name, value in ROOMY.items() if _more(plan, name, value)}
    if not _holds(plan, roomy, visits, year):
        return SmallestController(())
    needed = dict(roomy)
    for name in roomy:
        without = {other: value for other, value in needed.items() if other != name}
        if _holds(plan, without, visits, year):
            needed = without
        elif name in ("starts", "programs"):
            for count in range(int(getattr(now, name)) + 1, int(ROOMY[name])):
                tried = {**needed, name: float(count)}
                if _holds(plan, tried, visits, year):
                    needed = tried
                    break
    return SmallestController(tuple(needed.items()))


def _more(plan: SitePlan, name: str, value: Any) -> bool:
    """Whether a roomy controller can do more than the site's."""
    now = getattr(plan.site.controller, name)
    if name == "percent_step":
        return bool(value < now)
    if isinstance(value, float):
        return bool(value > now)
    return bool(value != now)


def _holds(plan: SitePlan, changes: dict[str, Any], visits: int, year: int) -> bool:
    """Whether a controller with these changes has a card for so many visits."""
    controller = replace(plan.site.controller, **changes)
    changed = plan_site(replace(plan.site, controller=controller))
    needs = card_needs(changed, year)
    if visits == 1 and isinstance(StretchSearch(needs, ALL_YEAR).find(), Setting):
        return True
    found = find_settings(needs)
    cost = {m: s.applied_l for m, s in found.items() if isinstance(s, Setting)}
    return any(split is not None for split in cheapest_splits(cost)[:visits])
