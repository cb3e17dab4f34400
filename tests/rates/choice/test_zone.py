"""Checks the chooser against every combination of nozzles, and against the trade."""

import itertools

import numpy as np
import pytest
from drawn_offers import brute, choose_at, drawn
from scipy import optimize

from scheduler.rates.choice import zone as choice_

GPM = 3.785411784
ROTORS = (8.0, 6.0, 4.0, 3.0, 2.0, 1.5)
# One full, three halves, two quarters.
ARCS, COUNTS = (360, 180, 90), (1, 3, 2)


def gallons(chosen):
    return [round(float(flow) / GPM, 6) for flow in chosen.flow_l_min]


# Common practice: a full circle, three halves and two quarters take 8, 4 and 2 gpm
# where there are 24 gpm to give (8 + 3 · 4 + 2 · 2), and 6, 3 and 1.5 where 18.
@pytest.mark.parametrize(
    ("supply_gpm", "nozzles"),
    [(24, [8, 4, 2]), (30, [8, 4, 2]), (23.9, [6, 3, 1.5]), (18, [6, 3, 1.5])],
)
def test_full_half_and_quarter_go_4_2_1_within_the_supply(offer, supply_gpm, nozzles):
    made = choose_at(offer(np.array(ROTORS) * GPM, ARCS, COUNTS), supply_gpm * GPM)

    assert made.fits
    assert gallons(made.chosen) == nozzles
    assert made.chosen.worst_share == pytest.approx(1.0)
    assert made.valves == (((0, 1), (1, 3), (2, 2)),)


def test_rows_of_one_head_each_choose_as_rows_with_a_count(offer):
    flows = np.array(ROTORS) * GPM
    arcs = np.repeat(ARCS, COUNTS)

    made = choose_at(offer(flows, arcs), 18 * GPM)

    assert gallons(made.chosen) == np.repeat([6, 3, 1.5], COUNTS).tolist()
    assert made.chosen.total_flow_l_min == pytest.approx(18 * GPM)


@pytest.mark.parametrize("block", range(2))
def test_choice_is_the_best_of_all_combinations(offer, block):
    fitting = 0
    for seed in range(100 * block, 100 * block + 100):
        made, design = drawn(offer, seed)
        best = brute(made, design, 0.10)

        found = choose_at(made, design)

        assert found.fits == (best is not None), seed
        if best is not None:
            fitting += 1
            assert found.chosen.total_flow_l_min == pytest.approx(-best[1], abs=1e-5)
            assert abs(found.chosen.worst_share - 1) == pytest.approx(best[2], abs=1e-6)
            assert tuple(found.chosen.nozzle) == best[3], seed
    assert fitting > 10


@pytest.mark.parametrize("block", range(1))
def test_fewer_cycles_come_before_more_water(offer, block):
    gentler = 0
    for seed in range(100 * block, 100 * block + 100):
        made, design = drawn(offer, seed)
        # Whatever the ground is, more rate never forces fewer cycles.
        cycles = np.ceil(made.rate_mm_h / (5 + seed % 7))
        best = brute(made, design, 0.10, cycles=cycles)

        found = choose_at(made, design, cycles)
        more = choose_at(made, design, cycles, allow_more_cycles=True)

        assert found.fits == more.fits == (best is not None)
        if best is None:
            continue
        assert found.chosen.cycles == best[0]
        assert tuple(found.chosen.nozzle) == best[3], seed
        free = brute(made, design, 0.10)
        assert tuple(more.chosen.nozzle) == free[3]
        gains = free[1] < best[1] - 1e-6
        gentler += gains
        assert (found.with_more_cycles is not None) == gains
        if gains:
            assert tuple(found.with_more_cycles.nozzle) == free[3]
    assert gentler > 3


@pytest.mark.parametrize("block", range(2))
def test_where_nothing_matches_the_nearest_to_it_is_told(offer, block):
    short = 0
    for seed in range(1000 + 30 * block, 1030 + 30 * block):
        made, design = drawn(offer, seed)
        found = choose_at(made, design)
        if found.fits:
            continue
        best = None
        for within in np.r_[np.linspace(0.1, 4, 400), 100]:
            best = best or brute(made, design, within)
        if best is None:
            assert found.under_limit is None
            assert "supply" in found.limits
            continue
        short += 1
        # `brute` takes the most water in a class of match: look for the least worst.
        least = min(
            abs(shares - 1).max()
            for picks in itertools.product(*map(np.flatnonzero, made.suits))
            for flow in [made.flow_l_min[list(picks)]]
            if (flow * made.count).sum() <= design * (1 + 1e-9)
            for shares in [
                flow / made.area_m2
                / ((flow * made.count).sum() / (made.count * made.area_m2).sum())
            ]
        )  # fmt: skip
        assert abs(found.under_limit.worst_share - 1) == pytest.approx(least, abs=2e-4)
        assert found.under_limit.total_flow_l_min <= design * (1 + 1e-9)
    assert short > 3


@pytest.mark.parametrize("block", range(2))
def test_limits_are_those_that_bind(offer, block):
    seen = set()
    for seed in range(2000 + 30 * block, 2030 + 30 * block):
        made, design = drawn(offer, seed)
        found = choose_at(made, design)
        if found.fits:
            assert found.limits == ()
            continue
        matched = brute(made, np.inf, 0.10)
        any_set = (np.where(made.suits, made.flow_l_min, np.inf).min(axis=1)
                   * made.count).sum()  # fmt: skip
        seen |= set(found.limits)
        assert ("match" in found.limits) == (matched is None)
        assert ("supply" in found.limits) == (
            matched is not None or any_set > design * (1 + 1e-9)
        )
    assert seen == {"match", "supply"}


def test_choice_is_within_10_percent_of_the_mean_and_just_so(offer):
    # Exact: rates of 1.1 and 0.9 on equal ground lie 10 % off their mean of 1.0.
    even = choose_at(offer([1.1, 0.9], [90, 90], suits=np.eye(2, dtype=bool)), 10.0)
    wide = choose_at(offer([1.11, 0.9], [90, 90], suits=np.eye(2, dtype=bool)), 10.0)

    assert even.fits
    assert not wide.fits
    assert wide.limits == ("match",)


def test_among_the_same_water_the_best_matched_is_taken(offer):
    # 2 · 1.0 + 2 · 1.0 and 2 · 1.05 + 2 · 0.95 both draw 4: the first is even.
    made = choose_at(offer([1.05, 0.95, 1.0], [90, 90], [2, 2]), 4.0)

    assert made.chosen.nozzle.tolist() == [2, 2]


def test_among_equals_the_first_of_the_chart_goes_to_the_first_head(offer):
    # Exact: 1.04 and 0.96 either way round draw 2.0, as do no two others.
    made = choose_at(offer([0.96, 1.04], [90, 90]), 2.0)
    again = choose_at(offer([1.04, 0.96], [90, 90]), 2.0)
    twice = choose_at(offer([1.0, 1.0], [90, 90]), 2.0)

    assert made.chosen.nozzle.tolist() == [0, 1]
    assert again.chosen.nozzle.tolist() == [0, 1]
    assert twice.chosen.nozzle.tolist() == [0, 0]


def test_a_supply_too_small_splits_the_matched_set(offer):
    made = choose_at(offer(np.array(ROTORS) * GPM, ARCS, COUNTS), 15 * GPM)

    # The smallest matched set, 6 + 3 · 3 + 2 · 1.5, draws 18 gpm; two valves of 15
    # carry 8 + 3 · 4 + 2 · 2 = 24 as well.
    assert not made.fits
    assert made.limits == ("supply",)
    assert made.least_flow_l_min == pytest.approx(18 * GPM)
    assert gallons(made.chosen) == [8, 4, 2]
    assert len(made.valves) == 2
    loads = valve_flows(made)
    assert max(loads) <= 15 * GPM * (1 + 1e-9)
    assert sum(loads) == pytest.approx(24 * GPM)
    assert made.under_limit.total_flow_l_min <= 15 * GPM * (1 + 1e-9)


def valve_flows(made):
    return [
        sum(made.chosen.flow_l_min[row] * heads for row, heads in valve)
        for valve in made.valves
    ]


def test_arcs_with_one_nozzle_go_on_a_valve_each(offer):
    made = choose_at(offer([3 * GPM], ARCS, COUNTS), 18 * GPM)

    assert made.limits == ("match",)
    assert made.valves == (((0, 1),), ((1, 3),), ((2, 2),))
    assert made.chosen.worst_share == pytest.approx(1.0)
    # 18 gpm over a full, three halves and two quarters, 12 quarters of ground: the
    # mean is 1.5 gpm a quarter, and the quarters lay 3, twice that.
    assert made.under_limit.worst_share == pytest.approx(2.0)


def matchable(made, rows):
    """Whether some set of these rows alone is matched, by trying all."""
    count, area = made.count[rows], made.area_m2[rows]
    for picks in itertools.product(*(np.flatnonzero(made.suits[r]) for r in rows)):
        flow = made.flow_l_min[list(picks)]
        shares = flow / area * (count * area).sum() / (flow * count).sum()
        if abs(shares - 1).max() <= 0.10 + 1e-9:
            return True
    return False


def partitions(items):
    if not items:
        yield []
        return
    first, *rest = items
    for parts in partitions(rest):
        yield [[first], *parts]
        for i in range(len(parts)):
            yield [*parts[:i], [first, *parts[i]], *parts[i + 1 :]]


def test_groups_that_match_are_as_few_as_can_be(offer):
    parted = 0
    for seed in range(3000, 3080):
        made, _ = drawn(offer, seed)
        found = choose_at(made, 1e6)
        if found.fits:
            continue
        parted += 1
        rows = list(range(len(made.rows)))
        fewest = min(
            len(parts)
            for parts in partitions(rows)
            if all(matchable(made, part) for part in parts)
        )
        assert len(found.valves) == fewest
        hung = sorted((r, n) for valve in found.valves for r, n in valve)
        assert hung == [(row, int(made.count[row])) for row in rows]
        assert abs(found.chosen.worst_share - 1) <= 0.10 + 1e-9
    assert parted > 20


@pytest.mark.parametrize("seed", range(40))
def test_what_hangs_on_the_valves_is_the_zone_and_each_is_within_the_supply(
    offer, seed
):
    made, design = drawn(offer, seed)
    found = choose_at(made, design)

    if not found.valves:
        given = found.chosen.flow_l_min
        assert given.max() > design
        return
    hung = np.zeros(len(made.rows), int)
    for valve in found.valves:
        for row, heads in valve:
            hung[row] += heads
    assert hung.tolist() == made.count.tolist()
    assert max(valve_flows(found)) <= design * (1 + 1e-9)


def test_a_head_that_draws_more_than_the_supply_is_on_no_valve(offer):
    made = choose_at(offer([8 * GPM], [360]), 5 * GPM)

    assert not made.fits
    assert made.limits == ("supply",)
    assert made.valves == ()
    assert gallons(made.chosen) == [8]


def test_an_arc_without_nozzle_is_told_and_the_rest_chosen(offer):
    suits = np.array([[True, False], [False, False], [False, True]])
    made = choose_at(offer([4.0, 1.0], [360, 105, 90], suits=suits), 20.0)

    assert not made.fits
    assert made.limits == ("arc",)
    assert made.chosen.nozzle.tolist() == [0, -1, 1]
    assert np.isnan(made.chosen.flow_l_min[1])
    assert made.chosen.total_flow_l_min == pytest.approx(5.0)
    assert made.valves == (((0, 1), (2, 1)),)


def test_nothing_to_choose_from_is_told_too(offer):
    made = choose_at(offer([4.0], [105], suits=[[False]]), 20.0)

    assert not made.fits
    assert made.limits == ("arc",)
    assert made.valves == ()
    assert np.isnan(made.chosen.worst_share)


def test_out_of_reach_takes_the_nearest_throw(offer):
    reaches = np.array([[True, True], [False, False]])
    made = choose_at(
        offer([4.0, 4.0], [90, 90], radius_m=np.array([9.0, 9.5]), reaches=reaches),
        20.0,
    )

    assert made.limits == ("throw",)
    assert made.chosen.nozzle[1] == 1


# Preferences: a nozzle in its chart, not thrown too far, calm in wind; given up in
# this order, and only where nothing fits with them.
@pytest.mark.parametrize(
    ("poor", "taken"),
    [
        ({"in_chart": np.array([False, True])}, 1),
        ({"near": np.array([[False, True]])}, 1),
        ({"calm": np.array([False, True])}, 1),
        ({"in_chart": np.array([False, False])}, 0),
        ({"near": np.array([[False, True]]), "in_chart": np.array([True, False])}, 1),
        ({"near": np.array([[True, False]]), "calm": np.array([False, True])}, 1),
    ],
)
def test_what_suits_less_is_taken_only_where_it_must(offer, poor, taken):
    made = choose_at(offer([4.0, 2.0], [90], **poor), 20.0)

    assert made.fits
    assert made.chosen.nozzle.tolist() == [taken]


def test_what_suits_less_is_taken_where_nothing_else_fits(offer):
    made = choose_at(offer([1.0, 9.0], [90], in_chart=np.array([False, True])), 5.0)

    assert made.fits
    assert made.chosen.nozzle.tolist() == [0]


# The supply's rounding never lets a set over it: an even sum fits, a hair more not.
def test_supply_is_a_hard_limit(offer):
    flows = np.array([2.0]) * GPM
    twelve = offer(flows, [90], [12])

    assert choose_at(twelve, 24 * GPM).fits
    assert not choose_at(twelve, 23.9999 * GPM).fits


def solved(offer, design):
    """Most water of a matched set, by scipy's solver of integer programs (HiGHS)."""
    rows, nozzles = offer.suits.shape
    flow = np.broadcast_to(offer.flow_l_min, (rows, nozzles))
    water = (offer.count[:, None] * flow).ravel()
    ground = (offer.count * offer.area_m2).sum()
    # What the zone would draw if all lay the rate of one row: that and what it does
    # draw may lie 10 % of the latter apart.
    at_rate = (
        np.kron(np.eye(rows), np.ones(nozzles))
        * (flow / offer.area_m2[:, None] * ground).ravel()
    )
    result = optimize.milp(
        -water,
        integrality=np.ones(water.size),
        bounds=optimize.Bounds(0, offer.suits.ravel().astype(float)),
        constraints=[
            optimize.LinearConstraint(np.kron(np.eye(rows), np.ones(nozzles)), 1, 1),
            optimize.LinearConstraint(water[None], 0, design),
            optimize.LinearConstraint(at_rate - 1.1 * water, -np.inf, 0),
            optimize.LinearConstraint(at_rate - 0.9 * water, 0, np.inf),
        ],
        options={"mip_rel_gap": 0.0},
    )
    return None if result.x is None else -result.fun


# An independent solver on zones too large to try every set.
@pytest.mark.parametrize("seed", range(12))
def test_choice_is_that_of_an_integer_program(offer, seed):
    random = np.random.default_rng(seed)
    arcs = random.choice([90, 180, 270, 360, 105, 210], 12)
    flows = np.geomspace(0.5, 40, 20) * random.uniform(0.9, 1.1, 20)
    made = offer(flows, arcs, random.integers(1, 4, 12))
    design = float(random.uniform(10, 300))

    most, found = solved(made, design), choose_at(made, design)

    assert found.fits == (most is not None)
    if most is not None:
        assert found.chosen.total_flow_l_min == pytest.approx(most, abs=1e-4)


def test_forty_unlike_heads_take_the_set_of_an_integer_program(offer):
    random = np.random.default_rng(14)
    arcs = random.uniform(60, 360, 40)
    made = offer(np.geomspace(0.5, 40, 30), arcs, random.integers(1, 4, 40))

    found = choose_at(made, 400.0)

    assert found.chosen.total_flow_l_min == pytest.approx(solved(made, 400.0), abs=1e-4)


# So many sets match here that some come within a drop of the supply.
def test_where_sets_abound_the_supply_is_used_up(offer):
    random = np.random.default_rng(9)
    made = offer(random.uniform(2, 6, 30), random.uniform(90, 110, 40))

    found = choose_at(made, 150.0)

    assert found.fits
    assert 150 - 1e-3 <= found.chosen.total_flow_l_min <= 150 * (1 + 1e-9)
    assert abs(found.chosen.worst_share - 1) <= 0.10 + 1e-9


def test_limits_are_named_in_one_place():
    assert choice_.LIMITS == ("arc", "throw", "match", "supply")
