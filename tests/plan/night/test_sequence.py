"""The order of a night's runs against all orders, and against its own bounds."""

import itertools
import math
import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.plan.night.earliest_end import NEVER, Job, Limits, fullest, work_end
from scheduler.plan.night.sequence import Busy, least_end, soonest


def fits_at(start, job, placed, limits, busy):
    """Whether a run may start at a time beside those placed; from the rules alone."""
    stop = start + job.cycle_s + limits.gap_s
    others = [*placed, *((b.start_s, b.end_s, b.flow_l_min) for b in busy)]
    for point in [start, *(begin for begin, _, _ in others if start < begin < stop)]:
        active = [flow for begin, end, flow in others if begin <= point < end]
        if len(active) >= limits.at_once:
            return False
        most = limits.design_flow_l_min * (1 + 1e-9)
        if active and sum(active) + job.flow_l_min > most:
            return False
    return any(
        opens <= start and start + job.cycle_s <= closes for opens, closes in job.spans
    )


def least_late(jobs, limits, busy):
    """The least late end over all orders, each run at the first time free for it.

    Every order of all runs is tried, whatever the order of their starts.
    """
    best = NEVER

    def place(left, ready, placed, late):
        nonlocal best
        if late >= best:
            return
        if not any(left):
            best = late
            return
        for row, job in enumerate(jobs):
            if not left[row]:
                continue
            times = {ready[row], *(opens for opens, _ in job.spans)}
            times |= {end for _, end, _ in placed} | {b.end_s for b in busy}
            for start in sorted(t for t in times if t >= ready[row]):
                if fits_at(start, job, placed, limits, busy):
                    end = start + job.cycle_s
                    again = end + max(job.soak_s, limits.gap_s)
                    place(
                        [n - (i == row) for i, n in enumerate(left)],
                        [again if i == row else r for i, r in enumerate(ready)],
                        [*placed, (start, end + limits.gap_s, job.flow_l_min)],
                        max(late, end - job.due_s),
                    )
                    break

    place([job.cycles for job in jobs], [-NEVER] * len(jobs), [], -NEVER)
    return best


def random_night(draw):
    """A small night: up to 4 zones and 7 runs, pieces, pauses, flows, a busy time."""
    jobs, runs = [], 0
    for _ in range(draw.randint(1, 4)):
        cycles = draw.randint(1, 3)
        cycles = 1 if runs + cycles > 7 else cycles
        runs += cycles
        opens = draw.choice([0, 0, 0, 20])
        closes = opens + draw.choice([60, 100, 200])
        spans = [(opens, closes)]
        if draw.random() < 0.4:
            spans.append((closes + draw.choice([10, 50]),
                          closes + draw.choice([120, 300])))  # fmt: skip
        jobs.append(
            Job(cycles, draw.randint(3, 30), draw.choice([0, 10, 30, 60]),
                draw.choice([5.0, 10.0, 15.0]), tuple(spans), draw.choice([0, 0, 100]))
        )  # fmt: skip
    limits = Limits(
        draw.choice([1, 1, 2, 3]), draw.choice([0, 0, 2, 7]),
        draw.choice([math.inf, 20.0]),
    )  # fmt: skip
    busy = []
    if draw.random() < 0.4:
        start = draw.randint(0, 80)
        busy.append(Busy(start, start + draw.randint(5, 40), 10.0))
    return jobs, limits, busy


# Brute force over all orders, which shares no code with the search.
@pytest.mark.parametrize("seed", range(8))
def test_soonest_is_as_good_as_the_best_of_all_orders(seed):
    draw = random.Random(seed)
    for _ in range(100):
        jobs, limits, busy = random_night(draw)

        found = soonest(jobs, limits, busy)
        best = least_late(jobs, limits, busy)
        assert found.late_s == best
        assert found.bound_s == best
        assert bool(found.runs) == (best < NEVER)


def assert_lawful(jobs, limits, busy, runs):
    """Every run is there, within its hours, with its soak, and no more at once."""
    for row, job in enumerate(jobs):
        own = [run for run in runs if run.job == row]
        assert [run.cycle for run in own] == list(range(1, job.cycles + 1))
        for run in own:
            assert run.end_s - run.start_s == job.cycle_s
            assert any(a <= run.start_s and run.end_s <= b for a, b in job.spans)
        for one, after in itertools.pairwise(own):
            assert after.start_s - one.end_s >= max(job.soak_s, limits.gap_s)
    for at in [run.start_s for run in runs] + [b.start_s for b in busy]:
        active = [jobs[run.job].flow_l_min for run in runs
                  if run.start_s <= at < run.end_s + limits.gap_s]  # fmt: skip
        active += [b.flow_l_min for b in busy if b.start_s <= at < b.end_s]
        assert len(active) <= limits.at_once
        if len(active) > 1:
            assert sum(active) <= limits.design_flow_l_min * (1 + 1e-9)


@st.composite
def nights(draw):
    jobs = []
    for _ in range(draw(st.integers(1, 9))):
        opens = draw(st.integers(0, 3600))
        closes = opens + draw(st.integers(0, 30_000))
        spans = [(opens, closes)]
        if draw(st.booleans()):
            later = closes + draw(st.integers(1, 9000))
            spans.append((later, later + draw(st.integers(0, 30_000))))
        jobs.append(
            Job(draw(st.integers(1, 4)), draw(st.integers(1, 2400)),
                draw(st.integers(0, 3600)), draw(st.floats(1, 60)), tuple(spans),
                draw(st.sampled_from([0, 9000])))
        )  # fmt: skip
    limits = Limits(
        draw(st.integers(1, 3)), draw(st.integers(0, 60)),
        draw(st.sampled_from([math.inf, 70.0])), draw(st.sampled_from([0.0, 40.0])),
    )  # fmt: skip
    at = draw(st.integers(0, 9000))
    busy = [Busy(at, at + 600, 20.0)] if draw(st.booleans()) else []
    return jobs, limits, busy


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(nights(), st.booleans())
def test_any_order_found_keeps_the_laws(night, thorough):
    jobs, limits, busy = night

    found = soonest(jobs, limits, busy, thorough)
    if found.runs:
        assert_lawful(jobs, limits, busy, found.runs)
        ends = [run.end_s - jobs[run.job].due_s for run in found.runs]
        assert found.late_s == max(ends)
        assert found.bound_s <= found.late_s
        assert least_end(jobs, limits, busy) <= max(run.end_s for run in found.runs)


def plain(cycles, minutes, soak=0.0, flow=10.0, hours=((0, 600),)):
    """A job with its times in minutes."""
    spans = tuple((int(60 * a), int(60 * b)) for a, b in hours)
    return Job(cycles, int(60 * minutes), int(60 * soak), flow, spans)


# A 20 and B 10 minutes, twice each with 30 minutes of soak: A 0-20, B 20-30, then A may
# go on at 50 and B at 60 at the earliest; A 50-70, B 70-80. By hand.
def test_a_soak_is_filled_with_cycles_of_others():
    found = soonest([plain(2, 20, 30), plain(2, 10, 30)], Limits())

    assert found.late_s == 80 * 60
    assert found.exact


# 3 runs of 10 minutes and 2 pauses of 30 s end after 31 minutes: no pause after the
# last.
def test_gap_is_between_valves_only():
    found = soonest([plain(1, 10)] * 3, Limits(gap_s=30))

    assert found.late_s == found.bound_s == 31 * 60


# 60 minutes in all: of 25 + 20 + 15 only 25 + 15 or 20 + 15 go before the break at 42,
# so that 20 are left for the second piece, which opens at 100. By hand.
def test_a_piece_is_filled_as_well_as_whole_runs_can():
    hours = ((0, 42), (100, 200))

    found = soonest([plain(1, m, hours=hours) for m in (25, 20, 15)], Limits())
    assert found.late_s == found.bound_s == 120 * 60
    assert fullest(42 * 60, [25 * 60, 20 * 60, 15 * 60]) == 40 * 60


# Flows of 30, 20 and 10 under 40: 30 goes with 10, the 20 after; 10 + 10 minutes.
def test_as_many_at_once_as_the_supply_carries():
    jobs = [plain(1, 10, flow=30.0), plain(1, 10, flow=20.0), plain(1, 10, flow=10.0)]

    found = soonest(jobs, Limits(at_once=2, design_flow_l_min=40.0))
    assert found.late_s == found.bound_s == 20 * 60


# A zone over the design flow has a caution of its own; on the night it runs alone.
def test_a_zone_over_the_supply_runs_alone():
    jobs = [plain(1, 10, flow=50.0), plain(1, 10, flow=10.0)]

    found = soonest(jobs, Limits(at_once=2, design_flow_l_min=40.0))
    assert found.late_s == 20 * 60


# A pump that needs 20: zones of 10 run two by two, though a third could start sooner.
def test_a_pump_is_kept_over_its_least_flow_where_two_can_run():
    jobs = [plain(2, 10, 30, flow=12.0), plain(2, 10, 30, flow=12.0)]
    limits = Limits(at_once=2, design_flow_l_min=40.0, least_flow_l_min=20.0)

    found = soonest(jobs, limits)
    assert found.under_s == 0
    assert found.late_s == 50 * 60


def test_time_under_a_pumps_least_flow_is_counted():
    jobs = [plain(1, 25, flow=12.0), plain(1, 10, flow=12.0)]
    limits = Limits(at_once=2, least_flow_l_min=20.0)

    assert soonest(jobs, limits).under_s == 15 * 60


def test_no_order_where_the_soak_alone_passes_the_hours():
    found = soonest([plain(2, 5, 90, hours=((0, 60),))], Limits())

    assert found.runs == ()
    assert found.bound_s == NEVER


def test_no_order_where_there_is_more_work_than_time():
    found = soonest([plain(1, 20, hours=((0, 60),))] * 4, Limits())

    assert found.runs == ()
    assert found.bound_s == NEVER


def test_work_ends_in_the_piece_where_it_is_done():
    assert work_end(((0, 10), (20, 40)), 0, 15) == 25
    assert work_end(((0, 10), (20, 40)), 5, 5) == 10
    assert work_end(((0, 10), (20, 40)), 0, 31) == NEVER


# An invented night of 24 zones and 60 runs or so: the sum of the runs is the bound, and
# it is met, so that the order is proven without a search.
def test_a_night_of_24_zones_meets_its_bound():
    draw = random.Random(7)
    jobs = [plain(draw.randint(1, 4), draw.randint(4, 20), draw.choice([30, 40, 60]),
                  hours=((0, 2000),)) for _ in range(24)]  # fmt: skip

    found = soonest(jobs, Limits(gap_s=10))
    runs = sum(job.cycles for job in jobs)
    water = sum(job.cycles * job.cycle_s for job in jobs)
    assert found.late_s == found.bound_s == water + 10 * (runs - 1)
