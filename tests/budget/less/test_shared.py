"""Sharing out what is given up, against every choice there is."""

import itertools

import numpy as np
import pytest

from scheduler.budget.less.shared import lower_hull, share_out
from scheduler.budget.less.ways import Ways


def drawn_ways(seed: int, zones: int = 4, count: int = 5) -> Ways:
    """Ways that take less and less and harm more and more, off all year last."""
    draw = np.random.default_rng(seed)
    water = np.sort(draw.uniform(0.1, 1.0, (count, zones, 2)), axis=0)[::-1]
    water = np.concatenate([water, np.zeros((1, zones, 2))]) * draw.uniform(
        50, 900, zones
    ).reshape(1, -1, 1)
    harm = np.sort(draw.uniform(0, 9, (count + 1, zones)), axis=0)
    none = np.zeros(water.shape)
    return Ways(none, none, water, none, harm)


def every_choice(ways: Ways, last: int):
    """Water and harm of every choice of a way for each zone."""
    zones = range(ways.harm.shape[1])
    picks = np.array([*itertools.product(range(last), repeat=len(zones))])
    water = ways.water_l_year[picks, zones].sum(axis=1)
    return water, ways.harm[picks, zones].sum(axis=1)


# Brute force: of all 6^4 choices none that keeps the limit does less harm than the
# bound that is told, and what is found does no more than its last move over the best.
@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("share", [0.9, 0.7, 0.5, 0.2])
def test_share_out_is_between_its_bound_and_the_best_of_all_choices(seed, share):
    ways = drawn_ways(seed)
    limit = share * ways.water_l_year[0].sum()
    found = share_out(ways, np.sum, limit, may_turn_off=True)
    water, harm = every_choice(ways, len(ways.harm))
    best = harm[water <= limit].min()

    zones = np.arange(4)
    assert ways.water_l_year[found.way, zones].sum() <= limit
    assert found.harm == pytest.approx(ways.harm[found.way, zones].sum())
    assert found.least_harm <= best + 1e-9
    of_zone = ways.harm[:, found.last.zone]
    step = of_zone[found.last.after] - of_zone[found.last.before]
    assert best - 1e-9 <= found.harm <= best + step + 1e-9


def test_share_out_turns_nothing_off_unless_it_may():
    ways = drawn_ways(3)
    least = ways.water_l_year[:-1].min(axis=0).sum()

    under = share_out(ways, np.sum, 0.99 * least, may_turn_off=False)
    assert not under.reached
    assert (under.way < len(ways.harm) - 1).all()
    assert share_out(ways, np.sum, 1.01 * least, may_turn_off=False).reached


def test_share_out_leaves_all_as_it_is_where_the_limit_is_kept():
    ways = drawn_ways(5)
    found = share_out(ways, np.sum, ways.water_l_year[0].sum(), may_turn_off=True)

    assert (found.way == 0).all()
    assert found.last is None
    assert found.least_harm == found.harm == ways.harm[0].sum()


# By hand: from (10, 0) the way (6, 9) costs 9/4 a liter and (4, 6) 6/6: the first is
# above the line from (10, 0) to (4, 6), as (2, 12) at 6/2 is not.
def test_lower_hull_keeps_what_is_worth_its_harm():
    water, harm = np.array([10.0, 6.0, 4.0, 2.0]), np.array([0.0, 9.0, 6.0, 12.0])

    assert lower_hull(water, harm) == [0, 2, 3]
