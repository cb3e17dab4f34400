"""Sheets of the examples, made once for the tests of a process."""

import dataclasses
import datetime
from functools import cache
from pathlib import Path

import numpy as np
from cards import KEYED_IN, cards_of, plan_of

from scheduler.budget.goes import LOSSES, Goes
from scheduler.budget.rain_rules import HandRule
from scheduler.budget.savings import Budget, budget_site
from scheduler.inputs.folder import read_site
from scheduler.inputs.site import Site
from scheduler.plan.card.plan import Card, plan_card
from scheduler.plan.site import plan_site
from scheduler.report.pages import sheet as page

EXAMPLES = Path(__file__).parents[2] / "examples"
MADE = page.Made(datetime.date(2026, 11, 25), "9.8.7")
RULE = HandRule(6.0, 2, 0.0, np.zeros(1), np.zeros(1))
AWKWARD_NAMES = (
    "<script>alert(1)</script>",
    "=1+1",
    "مرحبا \u202e דשא",
    "🌱🚿 & “x” ' onload=alert(2)",
    "W" * 200,
)
"""Names that end markup, begin a formula, run from right to left, or never end."""


@cache
def budget(example: str) -> Budget:
    return budget_site(plan_of(example))


def card(example: str, visits: int) -> Card:
    return cards_of(example)[visits]


@cache
def html(example: str, units: str, visits: int) -> str:
    return page.sheet(budget(example), card(example, visits), MADE, units)


@cache
def whole_html(example: str, units: str, visits: int) -> str:
    """As the verb makes it: with what to do in rain, and where the water goes."""
    zones = len(budget(example).plan.site.zones)
    lost = np.zeros((len(LOSSES), zones))
    # Three losses of three kinds make the longest sentence.
    lost[:3, :3] = np.diag([0.3, 0.2, 0.1])
    goes = Goes("today", np.ones(zones), np.zeros(zones), lost,
                np.zeros(zones, dtype=bool))  # fmt: skip
    return page.sheet(budget(example), card(example, visits), MADE, units, rule=RULE,
                      goes=goes)  # fmt: skip


@cache
def long_names_html() -> str:
    """The largest example, each zone with a name that differs at its end alone."""
    known = budget("business_park")
    zones = known.plan.site.zones
    names = tuple(
        f"Trees along the visitors' path {n}" for n in range(1, 1 + len(zones))
    )
    site = dataclasses.replace(
        known.plan.site, zones=dataclasses.replace(zones, name=names)
    )
    named = dataclasses.replace(known, plan=dataclasses.replace(known.plan, site=site))
    return page.sheet(named, card("business_park", 1), MADE, "us")


@cache
def awkward_html() -> str:
    plan = plan_site(awkward_site())
    return page.sheet(budget_site(plan), plan_card(plan, KEYED_IN, 1), MADE, "us")


def awkward_site() -> Site:
    """The house with names that nobody would choose."""
    site = read_site(EXAMPLES / "home")
    plants = dataclasses.replace(
        site.plants, names=tuple(f"<b>{name}</b>" for name in site.plants.names)
    )
    return dataclasses.replace(
        site,
        name=AWKWARD_NAMES[0],
        zones=dataclasses.replace(site.zones, name=AWKWARD_NAMES),
        plants=plants,
        water=dataclasses.replace(site.water, currency="<i>$"),
        door=tuple((name, name) for name in AWKWARD_NAMES),
    )
