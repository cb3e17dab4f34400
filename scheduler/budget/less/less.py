"""So much less water: the settings of least harm that reach it, and what they cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from scheduler.budget.less.harm import area_m2, harm_of_month, harm_of_zones, weights
from scheduler.budget.less.shared import Move, Shares, Spent, share_out
from scheduler.budget.less.ways import (
    Ways,
    drought_season,
    settings_of,
    water_of,
    ways_of,
)
from scheduler.budget.rain_rules import held_back_l, held_back_today_l
from scheduler.budget.water import todays_volume
from scheduler.plan.by_days import BY_PART, Settings, rows_of_settings, season_of
from scheduler.plan.choice import OFF
from scheduler.plan.inputs import of_valves
from scheduler.plan.site import SitePlan, with_settings

SHARES = tuple(percent / 100 for percent in range(0, 101, 10))
"""Shares of the water that a curve gives up."""
MOST_MENDS = 3
"""Times that a limit is drawn closer where the played year passes it."""
_EPS = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Less:
    """The table, and what is watered with less; water is that of a mean year.

    `before_l` and `after_l` are (zone, period). `target_l` is the most water, None
    where a sum of money or fewer days were asked for; `reached` says whether the limit
    is kept. `turned_off` are zones that get nothing, although the table waters them:
    `least_l` is what is needed without that. Harm is weighed dry days times ground:
    `harm` as played, `least_harm` what no choice among the ways could go below. `ways`
    is None where only days were taken. `base` is what water was taken from: the table,
    or the plan with fewer days.
    """

    before: SitePlan
    after: SitePlan
    before_l: np.ndarray
    after_l: np.ndarray
    target_l: float | None
    reached: bool
    turned_off: tuple[int, ...]
    least_l: float
    harm: float
    least_harm: float
    ways: Ways | None
    base: SitePlan

    @property
    def days_taken(self) -> bool:
        """Whether other days are permitted than by the table."""
        return self.base is not self.before

    @property
    def table_l(self) -> float:
        """What the table takes a year as `budget` counts it: by weeks, not played."""
        return float(self.before.plan.volume_l.sum())

    @property
    def today_l(self) -> float | None:
        """What the controller runs today, counted so too; None where nobody says."""
        current = self.before.site.current
        if current is None:
            return None
        return float(todays_volume(current, self.before.rates.flow_l_min).sum())

    @property
    def today_beside_l(self) -> float | None:
        """Today's water as it stands beside the table's after a rain shut-off.

        That holds back more of the one than of the other.
        """
        current, table_held = self.before.site.current, held_back_l(self.before)
        if current is None or table_held is None:
            return self.today_l
        today_l = todays_volume(current, self.before.rates.flow_l_min)
        held = held_back_today_l(self.before, today_l)
        assert held is not None, "both are known or neither"
        left = 1 - float(table_held.sum()) / max(self.table_l, 1e-9)
        return float((today_l - held).sum()) / max(left, 1e-9)

    @property
    def gap_percent(self) -> float:
        """How much more harm this does than the best that could be, at most."""
        return 100 * max(self.harm / self.least_harm - 1, 0.0) if self.least_harm else 0

    @property
    def dry_before(self) -> np.ndarray:
        """Share of dry days of each zone by the table, (zone,)."""
        return dry_of_year(self.before)

    @property
    def dry_after(self) -> np.ndarray:
        """Share of dry days of each zone with less, (zone,)."""
        return dry_of_year(self.after)


@dataclass(frozen=True, slots=True)
class Rung:
    """One point of the curve of water against dry days, all zones together."""

    saved: float
    water_l: float
    dry_share: float
    harm: float
    turned_off: int


def dry_of_year(plan: SitePlan) -> np.ndarray:
    """Share of the days without frost that each zone goes short, (zone,)."""
    days, dry = plan.inputs.periods.days, plan.plan.dry_share
    counted = np.where(np.isnan(dry), 0, days).sum(axis=1)
    return np.asarray(np.nansum(dry * days, axis=1) / np.maximum(counted, 1))


def mean_dry(plan: SitePlan, dry: np.ndarray) -> float:
    """Dry share of all zones, by their ground."""
    return float(np.average(dry, weights=plan.rates.area_m2))


def year_l(plan: SitePlan) -> np.ndarray:
    """Water delivered in a mean year of the years that are played, (zone, period)."""
    assert plan.settings is not None, "planned by days"
    return water_of(season_of(plan.inputs), plan.settings)


def fewer_days(before: SitePlan, after: SitePlan) -> Less:
    """What fewer permitted days alone do; `after` is planned with them."""
    now, then = year_l(before), year_l(after)
    harm = float(_harm(after).sum())
    return Less(
        before, after, now, then, None, True, _off(before, after),
        float(then.sum()), harm, harm, None, after,
    )  # fmt: skip


def less_water(
    before: SitePlan,
    limit: float,
    spent: Spent,
    target_l: float | None,
    start: SitePlan | None = None,
    ways: Ways | None = None,
) -> Less:
    """Settings of least harm whose year keeps to a limit of what `spent` reckons.

    `start` is the plan with fewer permitted days, where those are taken too; `ways` are
    those of what it starts from, where they were played before. No zone is turned off
    unless the limit cannot be kept else.
    """
    base = before if start is None else start
    ways = ways_of(base) if ways is None else ways
    settings, shares = _reached(base, ways, limit, spent)
    after = with_settings(base, settings)
    now, then = year_l(before), year_l(after)
    no_less = ways.water_l_year[:-1].min(axis=0).sum()
    return Less(
        before,
        after,
        now,
        then,
        target_l,
        spent(then) <= limit * (1 + _EPS) + _EPS,
        _off(before, after),
        float(no_less),
        float(_harm(after).sum()),
        shares.least_harm,
        ways,
        base,
    )


def curve(found: Less, shares: Sequence[float] = SHARES) -> tuple[Rung, ...]:
    """Water and dry days as ever larger shares of the table's water are given up.

    Between two ways of the zone that moves last it goes straight.
    """
    plan = found.before
    ways = ways_of(plan) if found.ways is None or found.days_taken else found.ways
    total, rungs = float(ways.water_l_year[0].sum()), []
    for share in shares:
        limit = (1 - share) * total
        got = share_out(ways, np.sum, limit, may_turn_off=False)
        if not got.reached:
            got = share_out(ways, np.sum, limit, may_turn_off=True)
        this = _rung(ways, plan, got.way)
        if got.last is not None and got.reached:
            way = got.way.copy()
            way[got.last.zone] = got.last.before
            before = _rung(ways, plan, way)
            part = (before.water_l - limit) / (before.water_l - this.water_l)
            dry = before.dry_share + part * (this.dry_share - before.dry_share)
            harm = before.harm + part * (this.harm - before.harm)
            this = Rung(share, limit, dry, harm, this.turned_off)
        rungs.append(this)
    return tuple(rungs)


def _rung(ways: Ways, plan: SitePlan, way: np.ndarray) -> Rung:
    """Water and dry days of a way for each zone, (zone,)."""
    parts, days = plan.inputs.ground.valve, plan.inputs.periods.days
    dry = ways.dry_share[way[parts], np.arange(len(parts))]
    counted = np.where(np.isnan(dry), 0, days).sum(axis=1)
    of_part = np.nansum(dry * days, axis=1) / np.maximum(counted, 1)
    water = float(ways.water_l_year[way, np.arange(len(way))].sum())
    total = float(ways.water_l_year[0].sum())
    off = (way == len(ways.harm) - 1) & (ways.water_l_year[0] > 0)
    return Rung(
        1 - water / total if total else 0.0,
        water,
        float(np.average(of_part, weights=area_m2(plan))),
        float(ways.harm[way, np.arange(len(way))].sum()),
        int(off.sum()),
    )


def knee(rungs: Sequence[Rung]) -> Rung:
    """Point of the curve up to which least is lost for most that is saved.

    Zones that are turned off leave it out.
    """
    rungs = [rung for rung in rungs if not rung.turned_off]
    saved = np.array([rung.saved for rung in rungs])
    harm = np.array([rung.harm for rung in rungs])
    wide, high = np.ptp(saved) or 1.0, np.ptp(harm) or 1.0
    gain = (saved - saved[0]) / wide - (harm - harm[0]) / high
    return rungs[int(np.argmax(gain))]


def _reached(
    plan: SitePlan, ways: Ways, limit: float, spent: Spent
) -> tuple[Settings, Shares]:
    """Settings that keep to a limit when they are played, and how they were shared."""
    base = plan.settings
    assert base is not None
    asked = limit
    for _ in range(MOST_MENDS):
        shares = share_out(ways, spent, asked, may_turn_off=False)
        if not shares.reached:
            shares = share_out(ways, spent, asked, may_turn_off=True)
        settings = _played(plan, ways, shares, spent, asked)
        over = spent(water_of(season_of(plan.inputs), settings)) - limit
        if over <= _EPS * max(limit, 1.0) or not shares.reached:
            break
        asked -= over * (1 + _EPS)
    return settings, shares


def _played(
    plan: SitePlan, ways: Ways, shares: Shares, spent: Spent, limit: float
) -> Settings:
    """Settings of the ways, the last move taken in as few months as will do."""
    base = plan.settings
    assert base is not None
    zones = np.arange(len(shares.way))
    pattern, row = ways.pattern[shares.way, zones], ways.row[shares.way, zones]
    if shares.last is not None and shares.reached:
        zone = shares.last.zone
        others = ways.water_l[shares.way, zones]
        pattern[zone], row[zone] = _part_way(
            plan, ways, shares.last, others, spent, limit
        )
    changed = np.flatnonzero(shares.way > 0)
    if not len(changed):
        return base
    parts = np.concatenate([plan.parts(zone) for zone in changed.tolist()])
    season = drought_season(of_valves(plan.inputs, changed))
    new = settings_of(
        season, rows_of_settings(base, changed, parts), pattern[changed], row[changed]
    )
    return _with_rows(base, new, changed, parts)


def _with_rows(
    base: Settings, new: Settings, valves: np.ndarray, parts: np.ndarray
) -> Settings:
    """Settings with those of some valves and their parts in place of the old."""
    found = {}
    for f in fields(Settings):
        values = getattr(base, f.name).copy()
        values[parts if f.name in BY_PART else valves] = getattr(new, f.name)
        found[f.name] = values
    return Settings(**found)


def _part_way(
    plan: SitePlan,
    ways: Ways,
    move: Move,
    water_l: np.ndarray,
    spent: Spent,
    limit: float,
) -> tuple[np.ndarray, np.ndarray]:
    """Settings of a zone between two ways, month by month, that just keep the limit.

    Months go over in the order of their harm a liter; what each number of them comes
    to is played.
    """
    base = plan.settings
    assert base is not None
    zone, a, b = move.zone, move.before, move.after
    parts = plan.parts(zone)
    weight = (weights(plan) * area_m2(plan)[:, None])[parts]
    harm = harm_of_month(
        ways.dry_share[:, parts], plan.inputs.periods.days, weight
    ).sum(axis=1)
    saved = ways.water_l[a, zone] - ways.water_l[b, zone]
    with np.errstate(divide="ignore", invalid="ignore"):
        price = np.where(saved > 0, (harm[b] - harm[a]) / saved, np.inf)
    order = np.argsort(price, kind="stable")
    differ = (ways.pattern[a, zone] != ways.pattern[b, zone]) | (
        ways.row[a, zone] != ways.row[b, zone]
    )
    order = order[differ[order]]
    over = np.arange(len(differ))[None, :] == order[:, None]
    goes = np.cumsum(over, axis=0).astype(bool)
    pattern = np.where(goes, ways.pattern[b, zone], ways.pattern[a, zone])
    row = np.where(goes, ways.row[b, zone], ways.row[a, zone])
    if len(order) < 2:
        return ways.pattern[b, zone], ways.row[b, zone]
    many = np.full(len(order), zone)
    season = drought_season(of_valves(plan.inputs, many))
    rows = rows_of_settings(base, many, np.tile(parts, len(order)))
    played = water_of(season, settings_of(season, rows, pattern, row))
    for turn in range(len(order)):
        water_l[zone] = played[turn]
        if spent(water_l) <= limit:
            return pattern[turn], row[turn]
    return ways.pattern[b, zone], ways.row[b, zone]


def _harm(plan: SitePlan) -> np.ndarray:
    return harm_of_zones(plan, plan.by_part.dry_share)


def _off(before: SitePlan, after: SitePlan) -> tuple[int, ...]:
    """Zones that the table waters, and that get nothing any more."""
    was, now = (plan.settings for plan in (before, after))
    assert was is not None
    assert now is not None
    runs = (was.pattern != OFF).any(axis=1) & ~(now.pattern != OFF).any(axis=1)
    return tuple(np.flatnonzero(runs).tolist())
