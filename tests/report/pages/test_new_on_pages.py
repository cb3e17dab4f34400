"""New plantings on the pages: what is by hand, by which exception, and until when."""

import datetime
import re
from html import unescape
from pathlib import Path

import pytest
import sheets

from scheduler.budget.savings import budget_site
from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.report.pages import sheet as page

GARDEN = Path(__file__).parents[3] / "examples" / "desert_garden"
TODAY = datetime.date(2026, 6, 20)


@pytest.fixture(scope="module")
def articles():
    """Texts of the owner's page and of each visit's, as printed."""
    plan = plan_site(read_site(GARDEN), today=TODAY)
    card = plan_card(plan, TODAY, 4)
    html = page.sheet(budget_site(plan), card, sheets.MADE, "us")
    return [" ".join(unescape(re.sub("<[^>]*>", " ", part)).split())
            for part in html.split("<article")[1:]]  # fmt: skip


# Sod and trees were set on 12 June 2026 (zones.csv). The site's rule excepts both for
# 30 days, from 05:00 to 18:00; drip has 19:00 to 09:00, and no program is left for it.
def test_owner_reads_that_trees_are_watered_by_hand(articles):
    owner, *_ = articles

    assert "New shade trees, new, started by hand: 12 Jun 2026" in owner
    assert "started by hand" not in owner.partition("New shade trees")[0]


def test_each_visit_tells_what_is_still_new_and_by_which_rule(articles):
    _, first, second, *_ = articles
    trees = "By hand: Zone 3: New shade trees"

    assert (
        "the rule's exception for new plantings permits the steps: every day " in first
    )
    assert "05:00-18:00" in first
    # The second visit comes in August; sod has grown in by July, trees have not.
    assert trees in first
    assert trees in second
    assert "sod laid" in first
    assert "sod laid" not in second
    for each in (first, second):
        assert "in permitted hours: every day 19:00-09:00" in each
        assert "start by hand what the visit says" in each


# Lines that may freeze stand empty from December on: trees are not to go without.
def test_new_trees_get_water_while_lines_are_drained(articles):
    asks = [each for each in articles if "First decide" in each]

    assert asks
    assert all("New plants get their water by the bucket" in each for each in asks)
