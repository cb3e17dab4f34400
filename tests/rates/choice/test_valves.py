"""Checks heads on valves against every way to share them out."""

import itertools

import numpy as np
import pytest

from scheduler.rates.choice.valves import split_over_valves


def fewest_by_trying(flows, counts, design):
    """Fewest valves, by every assignment of heads to valves."""
    heads = [flow for flow, n in zip(flows, counts, strict=True) for _ in range(n)]
    for valves in range(1, len(heads) + 1):
        for places in itertools.product(range(valves), repeat=len(heads) - 1):
            loads = np.zeros(valves)
            np.add.at(loads, [0, *places], heads)
            if loads.max() <= design * (1 + 1e-9):
                return valves
    return len(heads)


def invented_cases():
    """Rows of heads that differ in more than their unit or order, from 120 draws."""
    cases = {}
    for seed in range(120):
        random = np.random.default_rng(seed)
        rows = int(random.integers(1, 5))
        counts = random.integers(1, 3, rows).tolist()
        flows = random.choice([1, 1.5, 2, 2.5, 3, 4, 5], rows).tolist()
        design = float(max(flows) * random.choice([1, 1.2, 1.5, 2, 3]))
        shares = zip((round(flow / design, 9) for flow in flows), counts, strict=True)
        cases.setdefault(tuple(sorted(shares)), (flows, counts, design))
    return list(cases.values())


@pytest.mark.parametrize(("flows", "counts", "design"), invented_cases())
def test_valves_are_as_few_as_can_be(flows, counts, design):
    valves = split_over_valves(flows, counts, design)

    assert len(valves) == fewest_by_trying(flows, counts, design)
    for valve in valves:
        assert sum(flows[row] * n for row, n in valve) <= design * (1 + 1e-9)
    hung = np.zeros(len(flows), int)
    for row, n in itertools.chain.from_iterable(valves):
        hung[row] += n
    assert hung.tolist() == counts


# Exact: 6 + 4 and 4 + 3 + 3 fill two valves of 10. Largest first to the emptiest gives
# 6 + 3, then 4 + 4 + 3 = 11 over; to the first with room gives 6 + 4, then 4 + 3 + 3.
def test_full_valves_are_found_where_even_ones_fail():
    assert len(split_over_valves([6, 4, 3], [1, 2, 2], 10)) == 2


# Exact: 3 + 3 + 4 and 2 + 2 + 2 + 4 fill two valves of 10; neither way of placing the
# largest first finds that (4 + 4 + 2 | 3 + 3 + 2, and 2 is left over).
def test_a_packing_that_no_order_of_placing_finds_is_found():
    valves = split_over_valves([4, 3, 2], [2, 2, 3], 10)

    assert len(valves) == 2
    assert [sum([4, 3, 2][row] * n for row, n in valve) for valve in valves] == [10, 10]


def test_valves_draw_about_alike_where_they_can():
    # A full, three halves and two quarters of 24 gpm on two valves of 18: 12 and 12.
    valves = split_over_valves([8, 4, 2], [1, 3, 2], 18)

    assert [sum([8, 4, 2][row] * n for row, n in valve) for valve in valves] == [12, 12]


def test_a_head_over_the_supply_cannot_be_placed():
    assert split_over_valves([5.0, 11.0], [1, 1], 10.0) == ()
    assert split_over_valves([], [], 10.0) == ()
