"""Small zones drawn at random, and the best of all their sets of nozzles."""

import itertools

import numpy as np

from scheduler.rates.choice.standing import one_pressure
from scheduler.rates.choice.zone import choose

GPM = 3.785411784


def brute(offer, design, within, allowed=None, cycles=None):
    """Best set of all: fewest cycles, most water, best matched, first in the chart."""
    count, area = offer.count, offer.area_m2
    allowed = offer.suits if allowed is None else allowed
    best = None
    options = [np.flatnonzero(row).tolist() for row in allowed]
    for picks in itertools.product(*options):
        flow = offer.flow_l_min[list(picks)]
        total = float((flow * count).sum())
        if total > design * (1 + 1e-9):
            continue
        shares = flow / area / (total / (count * area).sum())
        worst = float(np.abs(shares - 1).max())
        if worst > within + 1e-9:
            continue
        forced = 1
        if cycles is not None:
            forced = max(cycles[row, pick] for row, pick in enumerate(picks))
        key = forced, -round(total, 6), round(worst, 9), picks
        if best is None or key < best:
            best = key
    return best


def drawn(offer, seed):
    """A small zone: nozzles of whole steps on even ones, of any flow on odd ones."""
    random = np.random.default_rng(seed)
    rows, nozzles = int(random.integers(1, 5)), int(random.integers(1, 7))
    arcs = random.choice([90, 180, 270, 360, 105], rows)
    count = random.integers(1, 5, rows)
    if seed % 2:
        flows = np.exp(random.uniform(np.log(1), np.log(10), nozzles))
    else:
        flows = random.choice([0.5, 1, 1.5, 2, 3, 4, 6, 8], nozzles) * GPM
    suits = random.random((rows, nozzles)) < 0.8
    suits[np.arange(rows), random.integers(0, nozzles, rows)] = True
    made = offer(flows, arcs, count, suits=suits)
    most = (np.where(suits, flows, 0).max(axis=1) * count).sum()
    # A third of the supplies are just what some set draws.
    first = float((flows[suits.argmax(axis=1)] * count).sum())
    design = first if seed % 3 == 0 else most * random.uniform(0.2, 1.2)
    return made, float(design)


def choose_at(offer, design, cycles=None, allow_more_cycles=False):
    """Choice for a zone whose pressure does not go with its flow."""
    forced = None if cycles is None else lambda _: cycles
    return choose(one_pressure(offer, design), forced, allow_more_cycles)
