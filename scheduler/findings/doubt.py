"""What the answer hangs on: each doubtful number at both ends, and what settles it.

The days of the table are kept. At each end the minutes are looked for that leave plants
as dry as the table means to, or nearly as little as any minutes on those days can; and
the table itself is played as if nobody knew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.day import quarter_depths
from scheduler.balance.lanes import Lanes, Month, Trials, Waterings, end_of_month
from scheduler.budget.less.less import year_l
from scheduler.findings.ranges import (
    ET0,
    MEASURES,
    RAIN,
    Doubt,
    depth_of_day_mm,
    doubts_of,
    takes_min,
)
from scheduler.plan.choice import NEAR_LEAST_DRY
from scheduler.plan.season import Season
from scheduler.plan.site import SitePlan

SCALES = np.array([0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.45, 1.6])
"""Minutes tried, over the table's; no more than a table tries over the need."""
LEAST_GOES_IN = 0.2
"""Least depth, over the table's, that minutes are worked out for: less is no water."""
WORTH_OF_ZONE, WORTH_OF_SITE, WORTH_DRY = 0.10, 0.01, 0.10
"""What has to hang on a measurement: a tenth of the zone's water and a hundredth of the
site's, or ten dry days of a hundred more (rule of this program)."""
PAIRS = (
    ("flow", "area"),
    ("available_water", "root_depth"),
    ("coefficient", "et0"),
)
"""Inputs that act as one: both make the rate, the store, the need."""


@dataclass(frozen=True, slots=True)
class Doubted:
    """One input of a zone, or of the site where `zone` is None, at both ends.

    `value` lies between `low` and `high`, NaN where it is a factor on many numbers.
    Water of a year and minutes of the busiest week are what would be right then, dry
    shares what comes of the table as it is. `wrong_l` is how much the table would give
    too much or too little, at the worse end; `measure` would settle it.
    """

    field: str
    zone: int | None
    low: float
    value: float
    high: float
    water_low_l: float
    water_high_l: float
    minutes_low_week: float
    minutes_high_week: float
    dry_low: float
    dry_high: float
    wrong_l: float
    measure: str
    source: str


@dataclass(frozen=True, slots=True)
class Measurement:
    """What is measured in a zone (None: of the site), and what hangs on it in a year.

    `takes_min` is 0 where it is no work on site; `dry` is the dry share that not
    knowing may lead to.
    """

    what: str
    zone: int | None
    fields: tuple[str, ...]
    takes_min: int
    wrong_l: float
    dry: float
    worth: bool


@dataclass(frozen=True, slots=True, eq=False)
class Doubts:
    """All that is in doubt, what most hangs on first; dry shares now are (zone,)."""

    plan: SitePlan
    rows: tuple[Doubted, ...]
    measurements: tuple[Measurement, ...]
    water_l: np.ndarray
    dry: np.ndarray

    def pairs(self) -> list[tuple[str, str, tuple[int, ...]]]:
        """Inputs in doubt that act as one, with the zones where both are."""
        found = []
        for one, other in PAIRS:
            zones = [{r.zone for r in self.rows if r.field == name}
                     for name in (one, other)]  # fmt: skip
            both = zones[0] if None in zones[1] else zones[0] & zones[1]
            rows = tuple(sorted(zone for zone in both if zone is not None))
            if rows:
                found.append((one, other, rows))
        return found


@dataclass(frozen=True, slots=True, eq=False)
class _Outcome:
    """What comes of alternatives, (alternative, zone); minutes by period too.

    Water and minutes are what would be right, `dry` what comes of the table as it is,
    `wrong_l` what that gives too much or too little.
    """

    water_l: np.ndarray
    minutes_week: np.ndarray
    dry: np.ndarray
    wrong_l: np.ndarray


def doubt_site(plan: SitePlan) -> Doubts:
    """Everything in doubt of a site that is planned by days."""
    season = plan.season
    assert season is not None, "planned by days"
    doubts, of_site = [*doubts_of(plan)], _of_site(plan)
    factors = _factors(plan, [*doubts, of_site])
    none = {name: values[:1] for name, values in factors.items()}
    target = _searched(plan, season, none, None)
    found = _outcome(plan, season, factors, target)
    rain = [_outcome(plan, _with_rain(season, share), none, target) for share in RAIN]
    year, area = year_l(plan).sum(axis=1), plan.rates.area_m2
    rows = [
        _zone_row(doubt, zone, [found] * 2, [1 + 2 * turn, 2 + 2 * turn])
        for turn, doubt in enumerate(doubts)
        for zone in np.flatnonzero((year > 0) & doubt.in_doubt).tolist()
    ]
    last = len(factors["store"])
    rows.append(_site_row("et0", ET0, [found] * 2, [last - 2, last - 1], area))
    rows.append(_site_row("rain", RAIN, rain, [0, 0], area))
    rows.sort(key=lambda row: -row.wrong_l)
    mean = float(np.average(found.dry[0], weights=area))
    measures = _measurements(plan, rows, found.dry[0], mean)
    return Doubts(plan, tuple(rows), measures, year, found.dry[0])


def _factors(plan: SitePlan, doubts: Sequence[Doubt]) -> dict[str, np.ndarray]:
    """Factors of the plan itself, then of both ends of each doubt in turn."""
    ends = [None, *((doubt, end) for doubt in doubts for end in (0, 1))]
    return {
        name: np.stack([_factor(plan, name, one) for one in ends])
        for name in ("depth", "flow", "store", "allowed", "need", "uniformity")
    }


def _zone_row(
    doubt: Doubt, zone: int, ends: Sequence[_Outcome], at: Sequence[int]
) -> Doubted:
    """A doubt in one zone; `at` are its alternatives in the outcomes of its ends."""
    low, high = zip(ends, at, strict=True)
    return Doubted(
        field=doubt.field,
        zone=zone,
        low=float(doubt.low[zone]),
        value=float(doubt.value[zone]),
        high=float(doubt.high[zone]),
        water_low_l=float(low[0].water_l[low[1], zone]),
        water_high_l=float(high[0].water_l[high[1], zone]),
        minutes_low_week=float(low[0].minutes_week[low[1], zone].max()),
        minutes_high_week=float(high[0].minutes_week[high[1], zone].max()),
        dry_low=float(low[0].dry[low[1], zone]),
        dry_high=float(high[0].dry[high[1], zone]),
        wrong_l=float(max(end.wrong_l[row, zone] for end, row in (low, high))),
        measure=MEASURES[doubt.field],
        source=doubt.source,
    )


def _site_row(
    field: str,
    span: tuple[float, float],
    ends: Sequence[_Outcome],
    at: Sequence[int],
    area_m2: np.ndarray,
) -> Doubted:
    """A doubt about the whole site, as a factor."""
    low, high = zip(ends, at, strict=True)
    return Doubted(
        field=field,
        zone=None,
        low=span[0],
        value=1.0,
        high=span[1],
        water_low_l=float(low[0].water_l[low[1]].sum()),
        water_high_l=float(high[0].water_l[high[1]].sum()),
        minutes_low_week=float(low[0].minutes_week[low[1]].sum(axis=0).max()),
        minutes_high_week=float(high[0].minutes_week[high[1]].sum(axis=0).max()),
        dry_low=float(np.average(low[0].dry[low[1]], weights=area_m2)),
        dry_high=float(np.average(high[0].dry[high[1]], weights=area_m2)),
        wrong_l=float(max(end.wrong_l[row].sum() for end, row in (low, high))),
        measure=MEASURES[field],
        source="memory",
    )


def _of_site(plan: SitePlan) -> Doubt:
    """ET0 of the place, in all zones at once."""
    count = len(plan.site.zones)
    ends = np.stack([np.full(count, end) for end in ET0])
    one = np.ones((2, count))
    even = np.stack([plan.rates.uniformity] * 2)
    by_month = np.ones((2, count, len(plan.inputs.periods)))
    return Doubt(
        "et0", ends[0], one[0], ends[1], "memory", by_month, one, one, one, ends, even
    )


def _factor(plan: SitePlan, name: str, one: tuple[Doubt, int] | None) -> np.ndarray:
    """Factors of one end of a doubt; None: those of the plan itself."""
    if one is not None:
        return np.asarray(getattr(one[0], name)[one[1]])
    count = len(plan.site.zones)
    if name == "uniformity":
        return plan.rates.uniformity
    shape = (count, len(plan.inputs.periods)) if name == "depth" else (count,)
    return np.ones(shape)


def _with_rain(season: Season, share: float) -> Season:
    """The same months with so much of the rain."""
    years = replace(season.years, rain_mm=season.years.rain_mm * share)
    inputs = replace(season.inputs, years=(years,))
    return Season(inputs, season.longest_cycle_min)


def _outcome(
    plan: SitePlan,
    season: Season,
    factors: dict[str, np.ndarray],
    target: np.ndarray,
) -> _Outcome:
    """What would be right under factors, and what comes of the table as it is.

    What only changes the depth that a minute lays down needs no search.
    """
    alike = ("store", "allowed", "need", "uniformity")
    flat = np.concatenate([factors[name] for name in alike], axis=1)
    _, first, back = np.unique(flat, axis=0, return_index=True, return_inverse=True)
    some = {name: factors[name][first] for name in factors}
    scale = _searched(plan, season, some, target[None])[back.reshape(-1)]
    scale = scale / np.maximum(factors["depth"], LEAST_GOES_IN)
    table_l, flow = year_l(plan), factors["flow"]
    water = (table_l * scale).sum(axis=2) * flow
    return _Outcome(
        water,
        plan.plan.schedule.minutes_per_week * scale,
        _kept(plan, season, factors),
        np.abs(water - table_l.sum(axis=1) * flow),
    )


def _month(
    plan: SitePlan,
    season: Season,
    period: int,
    factors: dict[str, np.ndarray],
    start_mm: np.ndarray | None,
) -> Month:
    """A month of every alternative's ground, one after another.

    What is asked of ground that emitters wet goes with the need.
    """
    base, count = plan.settings, len(factors["store"])
    assert base is not None
    month = season.month(period, base.start_mm[:, period], base.since[:, period])
    of = plan.inputs.ground.valve
    valves = len(plan.site.zones)
    store = factors["store"][:, of].reshape(-1)
    allowed = store * factors["allowed"][:, of].reshape(-1)
    need = factors["need"][:, of].reshape(-1)
    even = factors["uniformity"]
    total = np.tile(month.total_mm, count) * store
    quarters = [_shares(plan, even[turn]) for turn in range(count)]
    start = np.tile(month.start_mm, (count, 1, 1)) * store[:, None, None]
    return replace(
        month,
        valve=(np.arange(count)[:, None] * valves + of).reshape(-1),
        need_mm=np.tile(month.need_mm, (count, 1, 1)) * need[:, None, None],
        rain_mm=month.rain_mm
        if len(month.rain_mm) == 1
        else np.tile(month.rain_mm, (count, 1, 1)),
        total_mm=total,
        allowed_mm=np.minimum(np.tile(month.allowed_mm, count) * allowed, 0.95 * total),
        shares=np.concatenate(quarters),
        start_mm=start if start_mm is None else start_mm,
        held=np.tile(month.held, (count, 1, 1)),
        since=np.tile(month.since, (count, 1)),
    )


def _shares(plan: SitePlan, uniformity: np.ndarray) -> np.ndarray:
    """Depth of each part's quarters over the mean, (part, quarter)."""
    ground = plan.inputs.ground
    return np.asarray(quarter_depths(uniformity)[ground.valve]
                      * ground.rate_share[:, None])  # fmt: skip


def _waterings(plan: SitePlan, season: Season, period: int, count: int) -> Waterings:
    """The table's days in a month, and its fillings, for so many alternatives."""
    assert plan.settings is not None
    scheduled = plan.settings.scheduled_mm[:, :, season.days_of(period)]
    depth = depth_of_day_mm(plan)[:, period, None, None]
    own = (scheduled > 0) & (np.abs(scheduled - depth) < 1e-6)
    fill = np.where(own, 0.0, scheduled)
    return Waterings(
        np.tile(own, (count, 1, 1))[:, None],
        np.tile(fill, (count, 1, 1)),
        np.ones(1, dtype=bool),
    )


def _searched(
    plan: SitePlan,
    season: Season,
    factors: dict[str, np.ndarray],
    target: np.ndarray | None,
) -> np.ndarray:
    """Minutes over the table's at which plants are as dry as a target.

    The answer is (alternative, zone, period). Without a target it is what a target is
    made of, (zone, period, 2): the dry shares of the table's own minutes, and the
    fewest minutes that do as well; a target is that with an axis before it.
    """
    count, zones = len(factors["store"]), len(plan.site.zones)
    periods = len(season.inputs.periods)
    rows = np.tile(np.arange(count * zones), len(SCALES))
    depth = np.tile(depth_of_day_mm(plan), (count, 1))
    runs = (plan.plan.schedule.cycles > 0).any(axis=0)
    found = np.ones((count, zones, periods))
    dry_now = np.zeros((zones, periods))
    for period in np.flatnonzero(runs).tolist():
        month = _month(plan, season, period, factors, None)
        lanes = Lanes(month, _waterings(plan, season, period, count))
        tried = (SCALES[:, None] * depth[:, period]).reshape(-1)
        outcome = lanes.outcome(Trials(rows, np.zeros_like(rows), tried))
        dry = outcome.dry.reshape(len(SCALES), count, zones)
        dry = np.minimum.accumulate(dry, axis=0)
        if target is None:
            dry_now[:, period] = dry[np.flatnonzero(SCALES == 1.0)[0], 0]
            wanted = dry_now[None, :, period]
        else:
            wanted = target[..., period, 0]
        # As in the table's own choice: near the least that minutes reach is enough.
        wanted = np.maximum(wanted, dry[-1] + NEAR_LEAST_DRY)
        found[:, :, period] = _crossing(dry, wanted)
        if target is not None:
            found[:, :, period] /= target[..., period, 1]
    if target is None:
        return np.stack([dry_now, found[0]], axis=-1)
    runs = plan.plan.schedule.cycles > 0
    return np.where(runs, found, 1.0)


def _crossing(dry: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Scale at which dry shares, (scale, …), fall to what is wanted, (…)."""
    enough = dry <= wanted + 1e-9
    at = np.where(enough.any(axis=0), enough.argmax(axis=0), len(SCALES) - 1)
    before = np.maximum(at - 1, 0)
    high, low = (np.take_along_axis(dry, i[None], axis=0)[0] for i in (before, at))
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(high > low, (high - wanted) / (high - low), 1.0)
    part = np.clip(part, 0.0, 1.0)
    return np.asarray(SCALES[before] + part * (SCALES[at] - SCALES[before]))


def _kept(plan: SitePlan, season: Season, factors: dict[str, np.ndarray]) -> np.ndarray:
    """Dry share of the year by the table as it is, (alternative, zone)."""
    assert plan.settings is not None
    count, zones = len(factors["store"]), len(plan.site.zones)
    rows = np.arange(count * zones)
    start = _month(plan, season, 0, factors, None).start_mm
    dry = np.zeros((count * zones, len(season.inputs.periods)))
    days = np.where(season.frost, 0, season.inputs.periods.days)
    for period in range(dry.shape[1]):
        month = _month(plan, season, period, factors, start)
        plain = _waterings(plan, season, period, count)
        goes_in = factors["depth"][:, :, period].reshape(-1)
        waterings = replace(plain, fill_mm=plain.fill_mm * goes_in[:, None, None])
        depth = np.tile(depth_of_day_mm(plan)[:, period], count) * goes_in
        lanes = Lanes(month, waterings)
        dry[:, period] = lanes.outcome(Trials(rows, np.zeros_like(rows), depth)).dry
        laid = waterings.waters[:, 0] * depth[:, None, None] + waterings.fill_mm
        start = end_of_month(month, laid * ~month.held)
    of_year = (dry * days).sum(axis=1) / max(days.sum(), 1)
    return np.asarray(of_year.reshape(count, zones))


def _measurements(
    plan: SitePlan, rows: Sequence[Doubted], dry: np.ndarray, mean_dry: float
) -> tuple[Measurement, ...]:
    """What would settle the doubts, what most hangs on first."""
    water_l, found = year_l(plan).sum(axis=1), []
    for what, zone in dict.fromkeys((row.measure, row.zone) for row in rows):
        mine = [row for row in rows if (row.measure, row.zone) == (what, zone)]
        wrong = max(row.wrong_l for row in mine)
        driest = max(max(row.dry_low, row.dry_high) for row in mine)
        whole = float(water_l.sum())
        own = whole if zone is None else float(water_l[zone])
        now = mean_dry if zone is None else float(dry[zone])
        worth = wrong >= WORTH_OF_ZONE * own and wrong >= WORTH_OF_SITE * whole
        worth |= driest - now >= WORTH_DRY and wrong >= WORTH_OF_SITE * whole
        found.append(
            Measurement(
                what, zone, tuple(row.field for row in mine),
                takes_min(plan, what, zone), wrong, driest, worth,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda one: -one.wrong_l))
