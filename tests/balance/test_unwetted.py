"""Ground that emitters leave dry: against a plain loop, and laws of water."""

import numpy as np
import pytest

from scheduler.balance.play import Store, play
from scheduler.balance.unwetted import Unwetted, play_unwetted
from scheduler.calendar import DAYS_IN_YEAR

TOTAL, ALLOWED = 80.0, 40.0
"""Store of all of the ground, in mm."""


def weather(years=3, seed=7, wet=0.2):
    """Rain (year, day) and need (1, year, day)."""
    random = np.random.default_rng(seed)
    rain = random.gamma(0.6, 12, (years, DAYS_IN_YEAR))
    rain *= random.random(rain.shape) < wet
    season = 1.2 - np.cos(2 * np.pi * np.arange(DAYS_IN_YEAR) / DAYS_IN_YEAR)
    return rain, (season * random.uniform(0.5, 2, rain.shape))[None]


def unwetted(*wetted_share):
    share = np.array(wetted_share)
    total, allowed = (depth * share[:, None] for depth in (TOTAL, ALLOWED))
    return Unwetted.beside(share, total, allowed)


def played(wetted_share, rain, need, water):
    """The unwetted ground, and the wetted one under what is left to it."""
    share = np.array([wetted_share])
    beside = play_unwetted(unwetted(wetted_share), need, rain)
    store = Store(
        need - beside.taken_mm,
        rain[None] * share[:, None, None],
        TOTAL * share[:, None],
        ALLOWED * share[:, None],
        np.ones(1),
    )
    return beside, play(store, water)


# FAO-56, eq. 82 to 85, in plain Python: each share of the ground is asked for its share
# of the need.
def test_it_is_a_plain_loop_over_the_days_of_all_years():
    rain, need = weather()
    found = play_unwetted(unwetted(0.4, 0.75), np.repeat(need, 2, axis=0), rain)
    for part, share in enumerate((0.6, 0.25)):
        depletion, ends, taken = 0.0, [], []
        for _ in range(4):
            ends, taken = [], []
            for year in range(len(rain)):
                for day in range(DAYS_IN_YEAR):
                    depletion = max(depletion - rain[year, day] * share, 0.0)
                    take = need[0, year, day] * share
                    if depletion > ALLOWED * share:
                        left = TOTAL * share - depletion
                        take *= left / (TOTAL * share - ALLOWED * share)
                    taken.append(min(take, TOTAL * share - depletion))
                    depletion += taken[-1]
                    ends.append(depletion)
        np.testing.assert_allclose(found.depletion_mm[part].ravel(), ends, atol=1e-9)
        np.testing.assert_allclose(found.taken_mm[part].ravel(), taken, atol=1e-9)


def test_all_rain_and_water_is_taken_or_drains():
    rain, need = weather(wet=0.4)
    water = np.where(np.arange(DAYS_IN_YEAR) % 3 == 0, 6.0, 0.0)[None, None]
    water = np.broadcast_to(water, need.shape)
    beside, wetted = played(0.3, rain, need, water)
    taken = beside.taken_mm + wetted.et_mm.mean(axis=3)
    drained = beside.drained_mm + wetted.drained_mm.mean(axis=3)

    assert (taken + drained).sum() == pytest.approx(rain.sum() + water.sum(), rel=1e-9)
    assert (taken <= need + 1e-12).all()
    assert (beside.depletion_mm <= TOTAL * 0.7 + 1e-9).all()


# Limits: all ground wetted, there is no other; no rain, the other gives nothing; and
# before either lacks more than may be, both together are one store of all the ground.
def test_fully_wetted_ground_has_nothing_beside_it():
    rain, need = weather()
    of_two = play_unwetted(unwetted(1.0, 0.5), np.repeat(need, 2, axis=0), rain)

    assert not unwetted(1.0, 1.0).any
    assert not play_unwetted(unwetted(1.0), need, rain).taken_mm.any()
    for days in (of_two.taken_mm, of_two.drained_mm, of_two.depletion_mm):
        assert not days[0].any()
        assert days[1].any()


def test_without_rain_the_wetted_ground_carries_the_plants_alone():
    rain, need = weather()
    beside = play_unwetted(unwetted(0.4), need, np.zeros_like(rain))

    assert beside.taken_mm.sum() < 1e-3 * need.sum()


def test_rain_alone_fills_both_as_one_store_of_all_the_ground():
    rain, need = weather(wet=0.6)
    need = 0.5 * need
    beside, wetted = played(0.35, rain, need, np.zeros_like(need))
    whole = play(
        Store(need, rain[None], np.array([[TOTAL]]), np.array([[ALLOWED]]), np.ones(1)),
        np.zeros_like(need),
    )

    assert whole.depletion_mm.max() < ALLOWED
    np.testing.assert_allclose(
        beside.depletion_mm + wetted.depletion_mm[..., 0],
        whole.depletion_mm[..., 0],
        atol=1e-9,
    )


# On days ahead without rain it does what it would have done in a year without any.
def test_what_is_asked_ahead_is_what_a_day_by_day_play_asks():
    ground = unwetted(0.4)
    _, need = weather()
    days = np.arange(200, 220)
    start = np.array([[5.0, 30.0, 48.0]])
    found = ground.asked_ahead(start, need[:, 0, days], days)
    now = start[0].tolist()
    for place, day in enumerate(days.tolist()):
        for lane, depletion in enumerate(now):
            take = 0.6 * need[0, 0, day]
            stress = min(1.0, (48.0 - depletion) / (48.0 - 24.0))
            gives = min(take * stress, 48.0 - depletion)
            assert found[0, lane, place] == pytest.approx(need[0, 0, day] - gives)
            now[lane] += gives
    assert found[0, 2, 0] == pytest.approx(need[0, 0, 200])
    assert unwetted(1.0).asked_ahead(start, need[:, 0, days], days).shape == (1, 1, 20)
