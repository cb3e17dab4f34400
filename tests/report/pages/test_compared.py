"""Before and after: what is told is the difference of what both pages tell."""

import re
from functools import cache

import pytest
from cards import plan_of

from scheduler.budget.compare import compare_sites
from scheduler.budget.cost import bills_of_year
from scheduler.budget.savings import Budget
from scheduler.budget.water import year_of_water
from scheduler.report.pages import bill, owner
from scheduler.report.pages.compared import before_and_after


@cache
def budget(example):
    """Without what would save, which is not looked at here and takes the most time."""
    plan = plan_of(example)
    year = year_of_water(plan)
    bills = bills_of_year(year.volume_l.sum(axis=0), plan.site.water)
    return Budget(plan, year, bills, (), (), ())


@cache
def found(before, now):
    return compare_sites(plan_of(before), plan_of(now))


def test_rows_of_the_year_have_before_and_its_own_currency():
    rows = bill.year_rows(
        budget("southern_garden"), "metric", found("home", "southern_garden")
    )
    told = {name: (water, cost) for name, water, cost, _ in rows}
    home = bill.year_rows(budget("home"), "metric")[0]

    assert told["Before, as planned"] == home[1:3]
    assert told["Before, as planned"][1].startswith("$")
    assert told["This plan"][1].endswith(" EUR")


# What each site tells its owner of a zone: its dry days, and its water to 3 figures.
def test_zones_are_told_with_the_days_and_water_that_either_page_tells():
    lines = before_and_after(found("southern_garden", "home"), "us")
    told = {}
    for site in ("southern_garden", "home"):
        for story in owner.zone_stories(budget(site), "us"):
            gallons = float(re.match(r"[\d,.]+", story.water)[0].replace(",", ""))
            days = re.search(r"Short on (\d+) day", story.text)
            told[site, story.name] = gallons, int(days[1]) if days else 0
    named = [re.match(r"(.*?)(?: \(before: (.*?)\))?: ([\d,.]+) gallons (more|less), "
                      r"short on (\d+) days?(?: \(before: (\d+)\)| as before)",
                      line) for line in lines]  # fmt: skip
    zones = [match.groups() for match in named if match]

    assert len(zones) == 3
    for name, was, gallons, word, now_days, before_days in zones:
        now, before = told["home", name], told["southern_garden", was or name]
        sign = 1 if word == "more" else -1
        # Both are rounded to three figures.
        least = 0.006 * (now[0] + before[0])
        assert sign * float(gallons.replace(",", "")) == pytest.approx(
            now[0] - before[0], abs=least
        )
        assert int(now_days) == now[1]
        assert int(before_days or now_days) == before[1]
    assert any("different weather" in line for line in lines)
    # Six zones before, five now.
    assert any(line.startswith("Only before: ") for line in lines)


def test_a_site_beside_itself_has_not_changed():
    lines = before_and_after(found("home", "home"), "us")

    assert len(lines) == 2
    assert lines[0].startswith("This plan takes as much water as the one before; ")
    assert lines[1].startswith("No zone")
