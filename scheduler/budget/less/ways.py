"""Ways to water a zone through the year with less and less, each played through it.

Zones share nothing but the sum: what a way comes to is known before any is chosen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.lanes import Lanes, Month
from scheduler.budget.less.harm import harm_of_month, harm_of_zones, heat
from scheduler.plan.by_days import (
    BLOCK_VALVES,
    Settings,
    alike_valves,
    picked_settings,
    rows_of_settings,
    season_of,
)
from scheduler.plan.choice import (
    OFF,
    Chosen,
    Filling,
    Range,
    lanes_of,
    trials,
)
from scheduler.plan.inputs import PlanInput, of_valves
from scheduler.plan.season import Season
from scheduler.plan.site import SitePlan
from scheduler.units import MIN_PER_H

PRICES_MM = (400.0, 160.0, 80.0, 46.0, 29.0, 18.0, 10.0, 5.0, 0.0)
"""Depths of water given for one weighed dry day less; a way for each (rule of this
program: from hardly drier than the table to the least that is still a watering)."""
SHARES = (1.0, 0.88, 0.76, 0.64, 0.52, 0.4, 0.28)
"""Of the water that the table gives a month, what its patterns are tried with."""
TRIED_PATTERNS = 5
"""Patterns tried in a month: the table's, and of those that water less often."""
DROUGHT_GAP = 2.0
"""Times the longest gap that plants wait where water is short: lawns get through on a
watering in two weeks (extension leaflets, second-hand)."""
OFF_AT_MOST = 0.5
"""Share of dry days up to which a month may be given up: more is turning a zone off
(rule of this program)."""
CARRIED = 0.5
"""What a depth that is left lacking counts of one saved, where the next month runs: it
has to be filled up then, unless it rains (rule of this program)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Ways to water the zones of a site, the table's first, off all year last.

    `pattern`, `row` and `water_l` are (way, zone, period), `dry_share` (way, part,
    period) and `harm` (way, zone). Water is what is delivered in a mean year.
    """

    pattern: np.ndarray
    row: np.ndarray
    water_l: np.ndarray
    dry_share: np.ndarray
    harm: np.ndarray

    @property
    def water_l_year(self) -> np.ndarray:
        """Water of a year, (way, zone)."""
        return np.asarray(self.water_l.sum(axis=2))


class Picker:
    """What the months of a season are set to, at a price of dry days in water.

    `base` is the table; `price_mm` (valve,) is the depth of water that stands against a
    dry day of mean heat; NaN turns a valve off.
    """

    def __init__(self, base: Settings, season: Season, price_mm: np.ndarray) -> None:
        self.base = base
        self.season = season
        self.price_mm = price_mm
        self.heat = heat(season.inputs)
        self.runs = (self.base.pattern != OFF) & ~np.isnan(price_mm)[:, None]

    def __call__(
        self, period: int, month: Month, within: Range
    ) -> tuple[Range, Chosen]:
        """Pattern and minutes of a period, of each valve."""
        within = replace(within, filling=_filled(within.filling, self.base, period))
        runs = self.runs[:, period] & ~within.off_only
        if not runs.any():
            return within, fixed(self.base, period, np.full(len(runs), OFF))
        pattern, row = self._cheapest(period, month, within, runs)
        return within, fixed(self.base, period, pattern, row)

    def _cheapest(
        self, period: int, month: Month, within: Range, runs: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        lanes = lanes_of(month, within)
        valve, pattern, row = self._tried(period, lanes, within, runs)
        found = lanes.outcome(trials(within, valve, pattern, row))
        days = self.season.inputs.periods.days[period]
        harm = harm_of_month(found.dry, days, self.heat[valve, period])
        later = (period + 1) % len(self.season.inputs.periods)
        carried = CARRIED * self.runs[valve, later] * found.left_mm
        cost = found.water_mm + self.price_mm[valve] * harm + carried
        cost[(pattern == OFF) & (found.dry > OFF_AT_MOST)] = np.inf
        order = np.lexsort((found.water_mm, cost, valve))
        first = order[np.unique(valve[order], return_index=True)[1]]
        best, at = np.full(len(runs), OFF), np.zeros(len(runs), dtype=np.intp)
        best[valve[first]], at[valve[first]] = pattern[first], row[first]
        return best, at

    def _tried(
        self, period: int, lanes: Lanes, within: Range, runs: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Settings that are tried: no more water than the table's, and off."""
        valve = np.arange(len(runs))
        own = np.where(runs, self.base.pattern[:, period], 0)
        seldom = within.patterns.usable & (np.arange(OFF) >= own[:, None])
        count = np.maximum(seldom.sum(axis=1), 1)
        spread = np.arange(TRIED_PATTERNS) / (TRIED_PATTERNS - 1)
        rank = np.rint(spread * np.minimum(count - 1, 2 * TRIED_PATTERNS)[:, None])
        first = np.argsort(~seldom, axis=1, kind="stable")
        pattern = np.take_along_axis(first, rank.astype(np.intp), axis=1)
        again = np.zeros(pattern.shape, dtype=bool)
        again[:, 1:] = pattern[:, 1:] == pattern[:, :-1]
        of = valve[:, None]
        base_row = self.base.row[:, period]
        minutes = within.minutes.minutes[valve, base_row]
        times = lanes.times[of, pattern]
        month_min = (minutes * lanes.times[valve, own])[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            wanted = (month_min / times)[..., None] * np.array(SHARES)
        wanted = np.where(np.isfinite(wanted), wanted, 0.0)
        row = within.minutes.last_to(wanted)
        row = np.clip(row, within.first[of, pattern][..., None],
                      within.last[of, pattern][..., None])  # fmt: skip
        row[:, 0, 0] = np.where(runs, base_row, row[:, 0, 0])
        laid = within.minutes.minutes[of[..., None], row] * times[..., None]
        use = (runs[:, None] & ~again)[..., None] & (
            laid <= month_min[..., None] * (1 + 1e-9)
        )
        use[..., 1:] &= row[..., 1:] != row[..., :-1]
        use[:, 0, 0] = runs
        at = np.nonzero(use)
        return (
            np.r_[at[0], valve[runs]],
            np.r_[pattern[at[0], at[1]], np.full(runs.sum(), OFF)],
            np.r_[row[at], np.zeros(runs.sum(), dtype=np.intp)],
        )


def fixed(
    base: Settings, period: int, pattern: np.ndarray, row: np.ndarray | None = None
) -> Chosen:
    """A given pattern and row of minutes, as they would have been chosen."""
    nothing = np.zeros(len(pattern))
    return Chosen(
        pattern,
        np.zeros(len(pattern), dtype=np.intp) if row is None else row,
        nothing,
        nothing,
        nothing,
        base.not_permitted[:, period],
        None,
    )


def _filled(filling: Filling, base: Settings, period: int) -> Filling:
    """Fillings where the table has them too: what is to be saved fills nothing more."""
    fills = base.fill_days[:, period] > 0
    return Filling(
        filling.minutes * fills,
        filling.nights * fills,
        filling.waters & fills[:, None, None],
    )


def drought_season(inputs: PlanInput) -> Season:
    """What the months offer where water is short: plants wait longer for it."""
    ground = inputs.ground
    longer = replace(ground, longest_gap_days=DROUGHT_GAP * ground.longest_gap_days)
    return season_of(replace(inputs, ground=longer))


def settings_of(
    season: Season, base: Settings, pattern: np.ndarray, row: np.ndarray
) -> Settings:
    """Settings of given patterns and rows of minutes, (valve, period)."""

    def pick(period: int, month: Month, within: Range) -> tuple[Range, Chosen]:
        within = replace(within, filling=_filled(within.filling, base, period))
        return within, fixed(base, period, pattern[:, period], row[:, period])

    return picked_settings(season, pick, base, rounds=2)


def water_of(season: Season, settings: Settings) -> np.ndarray:
    """Water delivered in a mean year, (valve, period). [L]"""
    valve = season.inputs.valve
    l_per_mm = valve.flow_l_min * MIN_PER_H / valve.rate_mm_h
    daily = settings.water_mm.mean(axis=1)
    found = [
        daily[:, season.days_of(period)].sum(axis=1)
        for period in range(len(season.inputs.periods))
    ]
    return np.asarray(np.stack(found, axis=1) * l_per_mm[:, None])


def ways_of(plan: SitePlan) -> Ways:
    """Ways to water every zone: the table's, one for each price, and off.

    Zones that are alike are worked out once: what their plants stand counts where it is
    shared out.
    """
    inputs, settings = plan.inputs, plan.settings
    assert settings is not None, "planned by days"
    whole = season_of(inputs)
    alike, _ = alike_valves(inputs, whole.longest_cycle_min)
    _, first, kind = np.unique(alike, return_index=True, return_inverse=True)
    own = of_valves(inputs, first)
    parts = np.concatenate([plan.parts(zone) for zone in first.tolist()])
    season = drought_season(own)
    found = [rows_of_settings(settings, first, parts)]
    prices = np.array([*PRICES_MM, np.nan])
    at_a_time = max(BLOCK_VALVES // len(first), 1)
    for begin in range(0, len(prices), at_a_time):
        found += _picked_at(plan, first, parts, prices[begin : begin + at_a_time])
    # The parts of each zone, by those of the zone that stands for it.
    begins = np.searchsorted(own.ground.valve, np.arange(len(first)))
    turn = np.concatenate([np.arange(len(plan.parts(z))) for z in range(len(kind))])
    of_part = begins[kind[inputs.ground.valve]] + turn
    scale = inputs.valve.flow_l_min / own.valve.flow_l_min[kind]
    water = np.stack([water_of(season, one) for one in found])[:, kind]
    dry = np.stack([one.dry_share for one in found])[:, of_part]
    return Ways(
        np.stack([one.pattern for one in found])[:, kind],
        np.stack([one.row for one in found])[:, kind],
        water * scale[:, None],
        dry,
        harm_of_zones(plan, dry),
    )


def _picked_at(
    plan: SitePlan, valves: np.ndarray, parts: np.ndarray, price_mm: np.ndarray
) -> Iterator[Settings]:
    """Settings of some valves and their parts at each of the prices, in one go."""
    assert plan.settings is not None
    many = np.tile(valves, len(price_mm))
    base = rows_of_settings(plan.settings, many, np.tile(parts, len(price_mm)))
    season = drought_season(of_valves(plan.inputs, many))
    pick = Picker(base, season, np.repeat(price_mm, len(valves)))
    found = picked_settings(season, pick, base)
    for turn in range(len(price_mm)):
        yield rows_of_settings(
            found,
            turn * len(valves) + np.arange(len(valves)),
            turn * len(parts) + np.arange(len(parts)),
        )
