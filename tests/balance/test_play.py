"""Ground played through years, against a plain loop in Python and laws of water."""

import dataclasses

import numpy as np
import pytest

from scheduler.balance import dates, lanes, play
from scheduler.balance.day import WETTER, quarter_depths
from scheduler.balance.years import Years
from scheduler.calendar import DAYS_IN_YEAR, Days


def drawn(parts, years, seed):
    """Ground, weather and waterings of every kind."""
    random = np.random.default_rng(seed)
    rain = random.gamma(0.6, 12, (years, DAYS_IN_YEAR))
    rain *= random.random(rain.shape) < 0.3
    season = 1.2 - np.cos(2 * np.pi * np.arange(DAYS_IN_YEAR) / DAYS_IN_YEAR)
    et0 = season * random.uniform(1, 4, (years, DAYS_IN_YEAR))
    total = np.exp(random.uniform(np.log(4), np.log(200), parts))
    store = play.Store(
        need_mm=et0 * random.uniform(0.2, 1.1, (parts, 1, 1)),
        rain_mm=rain[None],
        total_available_water_mm=total[:, None],
        allowed_depletion_mm=(total * random.uniform(0.2, 0.7, parts))[:, None],
        uniformity=random.uniform(0.3, 0.95, parts),
    )
    water = random.uniform(2, 40, (parts, 1, 1)) * (
        random.random((parts, years, DAYS_IN_YEAR)) < 0.25
    )
    return store, water, Years(et0, rain, first=2001, last=2000 + years)


def by_hand(need, rain, water, total, allowed, rounds=4):
    """One quarter's years day by day in plain Python; what each day ends with."""
    depletion, ends = 0.0, []
    for _ in range(rounds):
        ends = []
        for year in range(len(need)):
            for day in range(DAYS_IN_YEAR):
                depletion = max(depletion - water[year][day] - rain[year][day], 0.0)
                take = need[year][day]
                if depletion > allowed:
                    take *= (total - depletion) / (total - allowed)
                depletion = min(depletion + take, total)
                ends.append(depletion)
    return np.array(ends).reshape(len(need), DAYS_IN_YEAR)


def test_play_is_a_plain_loop_over_the_days_of_all_years():
    store, water, years = drawn(parts=3, years=4, seed=1)
    played = play.play(store, water)

    for part in range(3):
        for quarter, share in enumerate(quarter_depths(store.uniformity[part])):
            ends = by_hand(
                store.need_mm[part].tolist(),
                years.rain_mm.tolist(),
                (water[part] * share).tolist(),
                float(store.total_available_water_mm[part, 0]),
                float(store.allowed_depletion_mm[part, 0]),
            )
            np.testing.assert_allclose(
                played.depletion_mm[part, :, :, quarter], ends, atol=1e-9
            )


def test_water_in_is_water_out_for_every_part_quarter_and_year():
    store, water, years = drawn(parts=40, years=9, seed=2)
    played = play.play(store, water)

    came = played.water_mm.sum(axis=2) + years.rain_mm.sum(axis=1)[:, None]
    went = played.et_mm.sum(axis=2) + played.drained_mm.sum(axis=2)
    stored = played.start_mm - played.depletion_mm[:, :, -1]
    np.testing.assert_allclose(came - went, stored, atol=1e-9)
    # A year begins as the one before ended, the first as the last.
    np.testing.assert_allclose(
        played.start_mm, np.roll(played.depletion_mm[:, :, -1], 1, axis=1), atol=1e-9
    )


def test_more_rain_or_more_water_never_leaves_ground_drier():
    store, water, _ = drawn(parts=20, years=3, seed=3)
    # The order holds where a day's need is no more than the part of the store that
    # stress works in; smaller stores are emptied in a day.
    spare = store.total_available_water_mm - store.allowed_depletion_mm
    deep = (spare >= store.need_mm.max(axis=(1, 2))[:, None])[:, 0]
    now = play.play(store, water).depletion_mm
    wetter = dataclasses.replace(store, rain_mm=store.rain_mm * 1.2)

    assert deep.sum() >= 10
    assert (play.play(wetter, water).depletion_mm <= now + 1e-9)[deep].all()
    assert (play.play(store, water * 1.1).depletion_mm <= now + 1e-9)[deep].all()


# By hand: 5 mm set; 12 mm of rain fill the disc to 5, which ET0 of 2 a day empties in
# three days; the morning after it is dry.
def test_a_rain_shut_off_holds_back_until_its_disc_is_dry():
    rain, et0 = np.zeros((1, DAYS_IN_YEAR)), np.full((1, DAYS_IN_YEAR), 2.0)
    rain[0, 10] = 12.0
    held = play.shut_off_days(Years(et0, rain, first=2001, last=2001), 5.0)

    assert np.flatnonzero(held[0]).tolist() == [11, 12]
    rain[0, 364] = 12.0
    held = play.shut_off_days(Years(et0, rain, first=2001, last=2001), 5.0)
    assert np.flatnonzero(held[0]).tolist() == [0, 1, 11, 12]


def month_of(store, years, part_of_year, start, since):
    """A month for the lanes, of the same ground."""
    shape = years.rain_mm.shape
    days = Days.of_common_years(len(years))
    parts = len(store)
    return lanes.Month(
        valve=np.arange(parts),
        need_mm=store.need_mm[:, :, part_of_year],
        rain_mm=store.rain_mm[:, :, part_of_year],
        total_mm=store.total_available_water_mm[:, 0],
        allowed_mm=store.allowed_depletion_mm[:, 0],
        shares=quarter_depths(store.uniformity),
        start_mm=start,
        held=np.zeros((parts, len(years), 31), dtype=bool),
        since=since,
        days=Days(*(getattr(days, name).reshape(shape)[:, part_of_year]
                    for name in ("number", "month", "weekday", "of_month"))),
    )  # fmt: skip


@pytest.mark.parametrize("rain_by_part", [False, True])
def test_lanes_end_the_month_as_the_plain_day_does_and_count_the_same_dry_days(
    rain_by_part,
):
    store, _, years = drawn(parts=5, years=6, seed=4)
    if rain_by_part:
        share = np.linspace(0.2, 1.0, 5)[:, None, None]
        store = dataclasses.replace(store, rain_mm=store.rain_mm * share)
    random = np.random.default_rng(4)
    start = random.random((5, 6, 4)) * store.total_available_water_mm[:, :, None]
    month = month_of(store, years, slice(31, 62), start, np.full((5, 6), 3))
    waters = random.random((5, 2, 6, 31)) < 0.3
    depth = random.uniform(3, 30, (5, 2, 3))
    fill = random.uniform(0, 9, (5, 6, 31)) * (random.random((5, 6, 31)) < 0.1)
    part, setting, probe = np.indices(depth.shape).reshape(3, -1)
    tried = lanes.Lanes(
        month, lanes.Waterings(waters, fill, np.array([True, False]))
    ).outcome(lanes.Trials(part, setting, depth.ravel()))
    found = {name: getattr(tried, name).reshape(depth.shape)
             for name in ("water_mm", "dry", "left_dry")}  # fmt: skip

    for setting, probe in [(0, 0), (0, 2), (1, 1)]:
        each = waters[:, setting] * depth[:, setting, probe][:, None, None]
        each = each + fill * (setting == 0)
        now, dry = start, 0
        for day in range(31):
            played = play.played_day(
                now,
                each[:, :, day, None] * month.shares[:, None, :],
                month.rain_mm[:, :, day, None],
                month.need_mm[:, :, day, None],
                month.total_mm[:, None, None],
                month.allowed_mm[:, None, None],
            )
            now = played.depletion_mm
            asked = played.refilled_mm + month.need_mm[:, :, day, None]
            is_dry = asked[..., WETTER] > month.limit_mm[:, :, day, None]
            dry = dry + is_dry.sum(axis=(1, 2))

        np.testing.assert_allclose(found["dry"][:, setting, probe], dry / (6 * 31 * 3))
        np.testing.assert_allclose(
            found["left_dry"][:, setting, probe], is_dry.sum(axis=(1, 2)) / 18
        )
        np.testing.assert_allclose(lanes.end_of_month(month, each), now)
        np.testing.assert_allclose(
            found["water_mm"][:, setting, probe], each.sum(axis=(1, 2)) / 6
        )


# By brute force over dates: each day is asked for by itself.
@pytest.mark.parametrize("every", [10, 14, 21, 28])
@pytest.mark.parametrize(("weekdays", "parity"), [(127, 0), (0b10010, 0), (127, 1)])
def test_an_interval_goes_on_from_the_last_watering(every, weekdays, parity):
    all_days = Days.of_common_years(3)
    days = Days(*(getattr(all_days, name).reshape(3, 365)[:, 59:90]
                  for name in ("number", "month", "weekday", "of_month")))  # fmt: skip
    since = np.array([[1, 9, 40]])
    found = dates.watering_days(
        np.array([weekdays]), np.array([parity]), np.array([every]), days, since
    )

    for year in range(3):
        ok = [
            bool(weekdays >> int(days.weekday[year, d]) & 1)
            and (not parity or days.of_month[year, d] % 2 == parity)
            for d in range(31)
        ]
        due, wanted = max(every - int(since[0, year]), 0), set()
        while due < 31:
            free = [d for d in range(due, 31) if ok[d]]
            wanted |= set(free[:1])
            due += every
        assert set(np.flatnonzero(found[0, year]).tolist()) == wanted

    later = dates.days_since(found, since)
    for year in range(3):
        on = np.flatnonzero(found[0, year])
        assert later[0, year] == (31 - on[-1] if on.size else since[0, year] + 31)


# A store of 9 mm of which plants may take 3, under a need of 10 a day: filled each
# morning it does what one watering a day can; left alone it is dry from the second
# day on, though its depletion of 9 never passes 1.1 * 10.
def test_a_store_under_one_days_need_is_dry_when_it_is_not_filled():
    need = np.full((1, 1, DAYS_IN_YEAR), 10.0)
    total, allowed, even = np.array([[9.0]]), np.array([[3.0]]), np.array([1.0])
    store = play.Store(need, np.zeros_like(need), total, allowed, even)
    filled = play.play(store, np.full((1, 1, DAYS_IN_YEAR), 9.0))
    every_other = np.zeros((1, 1, DAYS_IN_YEAR))
    every_other[..., ::2] = 9.0
    half = play.play(store, every_other)

    assert not filled.dry.any()
    assert half.dry[0, 0, 1::2].all()
    assert half.depletion_mm.max() <= 9.0
    assert play.play(store, np.zeros((1, 1, DAYS_IN_YEAR))).dry.all()
