"""A card played through the years of days, beside the table."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.plan.card.needs import CardNeeds, Fill, Hand
from scheduler.plan.card.prices import DEEPEST, SHALLOWEST
from scheduler.plan.card.settings import Setting
from scheduler.schedule import Schedule
from scheduler.units import MIN_PER_H

_TRIFLE_HARM = 1.0
"""Where no card keeps all limits, a dry day in a hundred of one zone and month more is
let pass for less water."""
_A_NIGHT = 0.05
"""A zone that a hand fills on a night: as bad as so many dry days in a hundred of a
zone and month over the limit (our choice)."""
_MUCH_WATER = 0.05
"""Share of the water that is not spent to keep a limit which is broken by a trifle."""
TRIFLE_SHARE = 0.005
"""Less than this share of the year's water is not worth a visit more."""
_SAME_DRY, _SAME_DEPTH = 0.005, 0.01
"""Shares by which a limit may be passed and still be kept: half a day in a hundred,
and a hundredth of a depth."""


@dataclass(frozen=True, slots=True)
class Broken:
    """A limit that the card does not keep: "dry", "shallow" or "deep".

    `value` is the dry share, or the depth of a watering over the table's; `limit` what
    it would have to be. `month` is 1 to 12.
    """

    what: str
    zone: int
    month: int
    value: float
    limit: float

    @property
    def harm(self) -> float:
        """Days in a hundred over the limit; octaves of depth beyond it, each as ten."""
        if self.what == "dry":
            return 100 * (self.value - self.limit)
        return 10 * abs(math.log2(self.value / self.limit))


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """How a card waters beside the table, (zone, month).

    `dry` and `table_dry` are dry shares, NaN in frost; `minutes` and `depth_mm` are
    those of a watering day, gross, 0 where nothing runs; `water_l` and `table_l` the
    water of the month, filling included; `filled` is what fills the ground first, by
    hand. `shortest_run_min` is None where nothing runs.
    """

    dry: np.ndarray
    table_dry: np.ndarray
    minutes: np.ndarray
    table_minutes: np.ndarray
    depth_mm: np.ndarray
    table_mm: np.ndarray
    water_l: np.ndarray
    table_l: np.ndarray
    filled: tuple[Fill, ...]
    shortest_run_min: float | None
    broken: tuple[Broken, ...]
    area_m2: np.ndarray
    """Ground that each zone's flow wets at its rate, (zone,)."""
    scheduled_mm: np.ndarray
    """What is laid down but for a shut-off, (zone, year, day)."""
    start_mm: np.ndarray
    """What the card's months begin with, (part, month, year, quarter)."""

    @property
    def harm(self) -> float:
        """How much is broken: days in a hundred over, and octaves of depth as ten."""
        return harm_of(self.broken)

    @property
    def harm_of_depths(self) -> float:
        """How far waterings are too shallow or too deep: octaves, each as ten."""
        return harm_of(b for b in self.broken if b.what != "dry")

    @property
    def extra_water_percent(self) -> float:
        """Water over the table's, less where it is negative."""
        table = float(self.table_l.sum())
        return 100 * (float(self.water_l.sum()) / table - 1) if table > 0 else 0.0

    def dry_days_percent(self, of_table: bool = False) -> float:
        """Dry days of all ground and months in a hundred, frost left out."""
        dry = self.table_dry if of_table else self.dry
        counted = np.isfinite(dry) * DAYS_IN_MONTH * self.area_m2[:, None]
        if not counted.any():
            return 0.0
        return float(100 * (np.nan_to_num(dry) * counted).sum() / counted.sum())

    @property
    def nights(self) -> int:
        """Nights on which a hand fills dry ground, a zone each."""
        return sum(fill.days for fill in self.filled)

    @property
    def driest(self) -> tuple[int, int, float] | None:
        """Zone, month (1 to 12) and dry share of the driest; None if none is dry."""
        dry = np.nan_to_num(self.dry)
        zone, month = np.unravel_index(int(dry.argmax()), dry.shape)
        most = float(dry[zone, month])
        return (int(zone), int(month) + 1, most) if most > 0 else None

    @property
    def shallowest(self) -> tuple[int, int, float] | None:
        """Zone, month (1 to 12) and depth over the table's of the shallowest watering.

        None where no month waters both by the card and by the table.
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where((self.table_mm > 0) & (self.depth_mm > 0),
                             self.depth_mm / self.table_mm, np.inf)  # fmt: skip
        zone, month = np.unravel_index(int(ratio.argmin()), ratio.shape)
        least = float(ratio[zone, month])
        return (int(zone), int(month) + 1, least) if np.isfinite(least) else None


def harm_of(broken: Iterable[Broken]) -> float:
    """How much some limits are broken: days in a hundred over, octaves as ten."""
    return float(sum(b.harm for b in broken))


def judge(
    needs: CardNeeds,
    settings: Sequence[Setting],
    schedule: Schedule,
    by_hand: Sequence[Hand],
    spared: np.ndarray | None = None,
) -> Judged:
    """A card's settings played through the years, and measured by the table.

    Fillings of zones and months that are `spared` are left out.
    """
    zones = len(needs.zones)
    minutes = _steps_of(needs, settings) * needs.minute_step
    water = schedule.minutes_in_months(zones) * needs.flow_l_min[:, None]
    fill_l = needs.fill_min * needs.fill_days * needs.flow_l_min[:, None]
    for hand in by_hand:
        cell = hand.zone, hand.month - 1
        minutes[cell], water[cell] = hand.cycles * hand.cycle_min, needs.table_l[cell]
    fills = (minutes > 0) & (needs.fill_days > 0)
    if spared is not None:
        fills &= ~spared
    scheduled = scheduled_mm(needs, schedule, by_hand, fills)
    laid = scheduled * ~needs.season.held
    played = needs.season.play(laid, needs.start_mm[:, 0])
    dry = needs.season.of_valve(needs.season.dry_shares(played))
    rate_mm_min = (needs.rate_mm_h / MIN_PER_H)[:, None]
    depth = minutes * rate_mm_min
    lengths = [
        float(run) * needs.minute_step
        for setting in settings
        for group in setting.groups
        for run in group.runs().ravel()
        if run > 0
    ]
    return Judged(
        dry=dry,
        table_dry=needs.table_dry,
        minutes=minutes,
        table_minutes=needs.table_mm / rate_mm_min,
        depth_mm=depth,
        table_mm=needs.table_mm,
        water_l=water + fill_l * fills,
        table_l=needs.table_l + fill_l,
        filled=tuple(needs.fills(fills)),
        shortest_run_min=min(lengths, default=None),
        broken=tuple(_broken(needs, dry, depth)),
        area_m2=needs.flow_l_min * MIN_PER_H / needs.rate_mm_h,
        scheduled_mm=scheduled,
        start_mm=needs.season.starts_mm(played),
    )


def scheduled_mm(
    needs: CardNeeds,
    schedule: Schedule,
    by_hand: Sequence[Hand],
    fills: np.ndarray,
) -> np.ndarray:
    """What a card, its starts by hand and its fillings lay down, (zone, year, day)."""
    season = needs.season
    water = season.scheduled_mm(schedule)
    rate = (needs.rate_mm_h / MIN_PER_H)[:, None, None]
    for month in np.flatnonzero(fills.any(axis=0)).tolist():
        nights = needs.fill_days[:, month] * fills[:, month]
        on = season.fill_on(month, nights)
        fill = on * needs.fill_min[:, month, None, None] * rate
        water[:, :, season.days_of(month)] += fill
    for hand in by_hand:
        days = season.days_of(hand.month - 1)
        water[hand.zone, :, days] = needs.table_water_mm[hand.zone, :, days]
    return water


def _steps_of(needs: CardNeeds, settings: Sequence[Setting]) -> np.ndarray:
    """Steps that each zone runs on a watering day, (zone, month)."""
    found = np.zeros(needs.table_mm.shape)
    for setting in settings:
        for group in setting.groups:
            rows = np.ix_(group.zones, setting.months)
            found[rows] += group.runs() * group.starts
    return found


def _broken(
    needs: CardNeeds, dry: np.ndarray, depth_mm: np.ndarray
) -> Iterator[Broken]:
    """Limits that are not kept, by zone and month."""
    for zone, month in np.argwhere(dry > needs.most_dry + _SAME_DRY).tolist():
        value, limit = float(dry[zone, month]), float(needs.most_dry[zone, month])
        yield Broken("dry", zone, month + 1, value, limit)
    waters = (depth_mm > 0) & needs.waters
    ratio = np.divide(depth_mm, needs.table_mm, out=np.ones_like(depth_mm),
                      where=waters)  # fmt: skip
    for zone, month in np.argwhere(ratio < SHALLOWEST - _SAME_DEPTH).tolist():
        yield Broken("shallow", zone, month + 1, float(ratio[zone, month]), SHALLOWEST)
    for zone, month in np.argwhere(ratio > DEEPEST + _SAME_DEPTH).tolist():
        yield Broken("deep", zone, month + 1, float(ratio[zone, month]), DEEPEST)


def to_mend(
    needs: CardNeeds, judged: Judged, of: Iterable[Broken]
) -> tuple[np.ndarray, np.ndarray]:
    """Dry shares passed, and months that should not be left out, (zone, month).

    Ground that is dry after months without water is not mended by more water in the
    month that it shows in, but by none left out before it.
    """
    over, must = np.zeros(judged.dry.shape), np.zeros(judged.dry.shape, dtype=bool)
    left_out = needs.waters & (judged.minutes == 0)
    for broken in of:
        if broken.what != "dry":
            continue
        zone, month = broken.zone, broken.month - 1
        before = month if left_out[zone, month] else (month - 1) % 12
        while left_out[zone, before] and not must[zone, before]:
            must[zone, before] = True
            before = (before - 1) % 12
        if not must[zone, (before + 1) % 12]:
            over[zone, month] = broken.value - broken.limit
    return over, must


def worth_their_visits(found: Sequence[Judged]) -> int:
    """Row of what breaks least, then saves water, of cards with more and more visits.

    Nights on which a hand fills dry ground count as some of what breaks.
    A trifle of a broken limit is let pass for any water that is worth a visit where no
    card keeps all limits, and for much of it where one does.
    """
    harm = [judged.harm + _A_NIGHT * judged.nights for judged in found]
    near = [row for row, one in enumerate(harm) if one <= min(harm) + _TRIFLE_HARM]
    best, kept = _saving(found, near), [row for row in near if not harm[row]]
    if not kept:
        return best
    keeps = _saving(found, kept)
    water_l = [float(found[row].water_l.sum()) for row in (best, keeps)]
    return best if water_l[0] < (1 - _MUCH_WATER) * water_l[1] else keeps


def _saving(found: Sequence[Judged], rows: Sequence[int]) -> int:
    """Of cards with more and more visits what takes least, trifles left out."""
    best, *more = rows
    for row in more:
        if found[row].water_l.sum() < (1 - TRIFLE_SHARE) * found[best].water_l.sum():
            best = row
    return best
