"""Programs of a stretch against all that could be keyed in, on tiny controllers."""

import itertools
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.folder import read_site
from scheduler.plan.card.needs import card_needs
from scheduler.plan.card.percents import best_fit, run_steps
from scheduler.plan.card.prices import Prices
from scheduler.plan.card.programs import NO_PROGRAM, StretchSearch
from scheduler.plan.card.stretches import least_costs
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[3] / "examples"


@cache
def prices(name="home", **controller):
    site = read_site(EXAMPLES / name)
    site = replace(site, controller=replace(site.controller, **controller))
    return Prices(card_needs(plan_site(site), 2027))


def every_column(found, months, percents):
    """Cost of each zone, with its best base, in every program there can be."""
    zones = np.arange(len(found.needs.zones))
    base = np.arange(1.0, found.needs.longest_steps + 1)
    columns = []
    for option in range(len(found.options)):
        for percent in itertools.product(percents, repeat=len(months)):
            runs = run_steps(base[:, None], np.array(percent))
            cost = found.of_runs(
                zones[:, None, None], np.full((1, 1, 1), option),
                np.array(months)[None, None, :], runs[None],
            ).sum(axis=2).min(axis=1)  # fmt: skip
            columns.append((found.options.slots[option], cost))
    return columns


def least_of_all(found, months, percents, programs):
    """Least cost over all sets of programs; a zone may be in none."""
    off = StretchSearch(found, months).no_program
    columns = every_column(found, months, percents)
    alone = [cost for slots, cost in columns if slots <= programs]
    least = min(off.sum(), np.minimum(off, np.array(alone)).sum(axis=1).min())
    if programs == 2:
        small = np.array([cost for slots, cost in columns if slots == 1])
        for one in small:
            both = np.minimum(np.minimum(off, one), small)
            least = min(least, both.sum(axis=1).min())
    return least


# Exact: every base, percent, set of days and number of starts is tried. The search is
# a local one; it may end a little above the least, never below it.
@pytest.mark.parametrize("months", [(6, 7), (3, 4)])
@pytest.mark.parametrize(
    ("programs", "starts", "percents"),
    [(1, 1, (0, 50, 100)), (2, 1, (0, 50, 100)), (2, 2, (0, 75)), (1, 3, (0, 25, 50))],
)
def test_search_comes_within_a_hundredth_of_every_card_of_a_tiny_controller(
    months, programs, starts, percents
):
    step = float(percents[1])
    found = prices(
        programs=float(programs), starts=float(starts), percent_step=step,
        percent_most=float(max(percents)), longest_run_min=60.0,
    )  # fmt: skip
    search = StretchSearch(found, months)
    grouping = search.find()

    least = least_of_all(found, months, percents, programs)
    # A program, a day and a start more have a price that the brute force leaves out.
    simple = search.score(grouping) - grouping.total
    assert grouping.total >= least - 1e-6
    assert grouping.total <= 1.01 * least + simple


def test_a_zone_alone_is_fitted_as_well_as_any_base_and_percents_fit_it():
    found = prices(percent_step=25.0, percent_most=100.0, longest_run_min=60.0)
    months = np.array([5, 6, 7])
    base = np.arange(1.0, 61.0)[:, None]
    for zone, option in itertools.product(range(5), range(0, len(found.options), 7)):
        every = [
            found.of_runs(zone, option, months, run_steps(base, np.array(percent)))
            .sum(axis=1).min()
            for percent in itertools.product((0, 25, 50, 75, 100), repeat=3)
        ]  # fmt: skip
        fit = best_fit(
            found, np.array([zone]), np.array([option]), months, np.array([np.inf])
        )

        assert fit.cost[0] == pytest.approx(min(every))


@pytest.mark.parametrize("by", ["program", "controller", "none"])
def test_zones_of_a_program_run_as_its_percents_say(by):
    found = prices(percent_by=by)
    grouping = StretchSearch(found, (4, 5, 6, 7)).find()

    percents = [column.percent.tolist() for column in grouping.columns]
    if by == "controller":
        assert all(percent == percents[0] for percent in percents)
    if by == "none":
        assert all(percent == [100.0] * 4 for percent in percents)
    assert grouping.columns
    assert ((grouping.base_steps > 0) == (grouping.owner != NO_PROGRAM)).all()


# More visits are more freedom: the bound never rises with them, and no stretch that
# was searched comes below what each zone alone could do in it.
def test_bound_falls_with_visits_and_lies_below_what_is_found():
    found = prices()
    bounds = least_costs(found)

    assert all(b <= a + 1e-6 for a, b in itertools.pairwise(bounds))
    assert bounds[0] <= StretchSearch(found, tuple(range(12))).find().total + 1e-6


def test_dearer_time_never_makes_programs_that_run_longer():
    found = prices()
    minutes = []
    for time in (0.0, 8.0, 32.0, 128.0):
        grouping = StretchSearch(found, (4, 5, 6, 7, 8), time).find()
        total = 0.0
        for row, column in enumerate(grouping.columns):
            mine = grouping.owner == row
            runs = run_steps(grouping.base_steps[mine, None], column.percent)
            dates = found.options.dates[column.option, [4, 5, 6, 7, 8]]
            total += float((runs * dates).sum())
        minutes.append(total)

    # A program more or fewer may move a few minutes the other way.
    assert all(b <= 1.05 * a for a, b in itertools.pairwise(minutes))
    assert minutes[-1] < minutes[0]
