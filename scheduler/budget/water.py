"""Water of a year: the plan's, the allowance's, the ordinance's estimate, today's."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.budget.rain_rules import held_back_l, held_back_today_l, volume_l
from scheduler.budget.replay import schedule_of_current
from scheduler.calendar import DAYS_IN_MONTH, ONE_DAY
from scheduler.demand.leaching import gross_factor
from scheduler.domain import numbers_from, numbers_over, shares
from scheduler.errors import InputError, Problem
from scheduler.inputs.site import Current
from scheduler.lines import Line
from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan
from scheduler.plan.zones import is_drip

OVERHEAD_EFFICIENCY = 0.75
DRIP_EFFICIENCY = 0.81
"""Irrigation efficiency of the estimate (MWELO, 2015; second-hand)."""
SPECIAL_FACTOR = 1.0
"""ET adjustment factor of a special landscape area (MWELO)."""
ORDINANCE_CONVERSION = 0.62
"""Gallons in an inch on a square foot as the ordinance rounds it; exactly 144/231."""

ALLOWANCE = Line(
    "allowance",
    "et0_year * (allowance_factor * landscape_area"
    " + (1 - allowance_factor) * special_area)",
    "MWELO (second-hand)",
    "et0_year * 144 / 231 * (allowance_factor * landscape_area"
    " + (1 - allowance_factor) * special_area)",
)
ESTIMATED_USE = Line(
    "estimated_use",
    "et0_year * (plant_factor / efficiency * (area - zone_special_area)"
    " + zone_special_area)",
    "MWELO (second-hand)",
    "et0_year * 144 / 231 * (plant_factor / efficiency * (area - zone_special_area)"
    " + zone_special_area)",
)


@dataclass(frozen=True, slots=True)
class Growing:
    """Water of a zone planted lately while its steps last, `first` to `last`. [L]

    `table_l` is what grown-in plants get on those days.
    """

    zone: str
    first: datetime.date
    last: datetime.date
    steps_l: float
    table_l: float


def growing_in(plan: SitePlan) -> tuple[Growing, ...]:
    """Zones that still have steps, which no figure of the year counts."""
    found = []
    for new in (new for new in plan.plantings if new.steps):
        first, last = new.steps[0].first, new.steps[-1].last
        days = [first + ONE_DAY * day for day in range((last - first).days + 1)]
        by_day = plan.plan.volume_l[new.zone] / DAYS_IN_MONTH
        minutes = sum(len(step.dates) * step.minutes_per_day for step in new.steps)
        found.append(
            Growing(
                plan.site.zones.zone[new.zone],
                first,
                last,
                float(minutes * plan.rates.flow_l_min[new.zone]),
                float(sum(by_day[day.month - 1] for day in days)),
            )
        )
    return tuple(found)


DIFFERENCES = (
    "special-area",
    "site-factors",
    "frost",
    "rain",
    "uniformity",
    "leaching",
    "months-off",
    "cut",
    "rounding",
    "rate",
)
"""Where plan and estimate part, in the order that one is turned into the other."""


@dataclass(frozen=True, slots=True, eq=False)
class Difference:
    """What one cause adds to the estimate on the way to the plan, (zone,)."""

    code: str
    adds_l: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class YearOfWater:
    """Water of a year; (zone, month) for plan and today, (zone,) for the estimate.

    `today_l` is None without a current.csv; `not_run_today` are zones that it has no
    row for. `et0_mm` is the year's. `differences` lead from the estimate to the plan.
    `dry_days` (zone,) are days of a mean year on which plants go short, None by months;
    `held_back_l` and `today_held_back_l` (zone, month) are what a rain shut-off holds
    back of plan and today, None by months and where there is none.
    """

    et0_mm: float
    volume_l: np.ndarray
    today_l: np.ndarray | None
    not_run_today: tuple[str, ...]
    area_m2: np.ndarray
    special_area_m2: np.ndarray
    plant_factor: np.ndarray
    efficiency: np.ndarray
    allowance_l: float
    estimated_use_l: np.ndarray
    differences: tuple[Difference, ...]
    dry_days: np.ndarray | None
    held_back_l: np.ndarray | None
    today_held_back_l: np.ndarray | None

    @property
    def mean_dry_days(self) -> float | None:
        """Days of a mean year on which plants go short, by the zones' ground."""
        if self.dry_days is None:
            return None
        return float(np.average(self.dry_days, weights=self.area_m2))


def landscape_allowance(
    et0_mm: ArrayLike,
    area_m2: ArrayLike,
    special_area_m2: ArrayLike,
    factor: ArrayLike,
    conversion: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Most water that a landscape ordinance allows in a year.

    Parameters
    ----------
    et0_mm : array_like
        Reference evapotranspiration of the year. [mm]
    area_m2 : array_like
        Landscape area, the special area included. [m²]
    special_area_m2 : array_like
        Special landscape area. [m²]
    factor : array_like
        ET adjustment factor, over 0 and up to 1. [-]
    conversion : array_like
        Volume in a depth of one on an area of one: 1 in SI. [L/(mm m²)]

    Returns
    -------
    ndarray
        Volume. [L]

    Raises
    ------
    ValueError
        If a number is negative, a factor not over 0 and up to 1, or the special area
        larger than the whole.

    Notes
    -----
    MAWA = ET0 · conversion · [factor · area + (1 - factor) · special area]. The
    formula holds in any units with their conversion: inches, square feet and gallons
    take 144/231, which the ordinance rounds to 0.62.

    References
    ----------
    MWELO (second-hand).

    Examples
    --------
    The ordinance's example, in its units and with its conversion:

    >>> print(f"{landscape_allowance(51.1, 50_000, 0, 0.7, 0.62):,.0f} gal")
    1,108,870 gal
    """
    et0 = numbers_from("et0_mm", et0_mm, 0)
    area = numbers_from("area_m2", area_m2, 0)
    special = _special_area(special_area_m2, area)
    share = shares("factor", factor)
    ground = share * area + (SPECIAL_FACTOR - share) * special
    return np.asarray(et0 * numbers_over("conversion", conversion, 0) * ground)


def estimated_use(
    et0_mm: ArrayLike,
    plant_factor: ArrayLike,
    efficiency: ArrayLike,
    area_m2: ArrayLike,
    special_area_m2: ArrayLike = 0.0,
    conversion: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Water of a year by the estimate of a landscape ordinance.

    Parameters
    ----------
    et0_mm : array_like
        Reference evapotranspiration of the year. [mm]
    plant_factor : array_like
        Plant factor of the zone. [-]
    efficiency : array_like
        Irrigation efficiency of the zone, over 0 and up to 1. [-]
    area_m2 : array_like
        Area of the zone, its special part included. [m²]
    special_area_m2 : array_like
        Part of it that is special landscape area. [m²]
    conversion : array_like
        Volume in a depth of one on an area of one: 1 in SI. [L/(mm m²)]

    Returns
    -------
    ndarray
        Volume. [L]

    Raises
    ------
    ValueError
        If a number is negative, an efficiency not over 0 and up to 1, or the special
        area larger than the whole.

    Notes
    -----
    ETWU = ET0 · conversion · [plant factor / efficiency · (area - special area) +
    special area]. It takes no rain off, knows neither shade nor frost, and one
    efficiency stands for how evenly the water falls.

    References
    ----------
    MWELO (second-hand).

    Examples
    --------
    A meter of ET0 on 100 m² of plants of moderate need, under spray:

    >>> print(f"{estimated_use(1000, 0.5, 0.75, 100):.0f} L")
    66667 L
    """
    et0 = numbers_from("et0_mm", et0_mm, 0)
    plant = numbers_from("plant_factor", plant_factor, 0)
    area = numbers_from("area_m2", area_m2, 0)
    special = _special_area(special_area_m2, area)
    ground = plant / shares("efficiency", efficiency) * (area - special)
    ground = ground + SPECIAL_FACTOR * special
    return np.asarray(et0 * numbers_over("conversion", conversion, 0) * ground)


def _special_area(
    special_area_m2: ArrayLike, area_m2: NDArray[np.float64]
) -> NDArray[np.float64]:
    special = numbers_from("special_area_m2", special_area_m2, 0)
    if np.any(special > area_m2 * (1 + 1e-9)):
        raise ValueError("special_area_m2 must not be over area_m2")
    return special


def todays_volume(current: Current, flow_l_min: np.ndarray) -> NDArray[np.float64]:
    """Water of what the controller runs today, (zone, month)."""
    minutes = schedule_of_current(current).minutes_in_months(len(flow_l_min))
    return np.asarray(minutes * flow_l_min[:, None])


def special_area_by_zone(
    special_area_m2: float, area_m2: np.ndarray, thirst: np.ndarray
) -> NDArray[np.float64]:
    """Special landscape area laid on zones, the thirstiest first.

    No file says which zones are special. Beds for food, playing fields and water
    features are what the rule means, and they need the most water.
    """
    order = np.argsort(-thirst, kind="stable")
    before = np.cumsum(area_m2[order]) - area_m2[order]
    special = np.empty(len(area_m2))
    special[order] = np.clip(special_area_m2 - before, 0, area_m2[order])
    return special


def year_of_water(plan: SitePlan) -> YearOfWater:
    """Water of a year of a plan, beside allowance, estimate and today."""
    site, area = plan.site, plan.rates.area_m2
    et0 = plan.months.et0_mm_day * plan.inputs.periods.days
    year = float(et0.sum())
    factor = plan.plant_coefficient.mean(axis=1)
    if year > 0:
        factor = plan.plant_coefficient @ et0 / year
    efficiency = np.where(is_drip(site), DRIP_EFFICIENCY, OVERHEAD_EFFICIENCY)
    special_area = site.water.special_area_m2 or 0.0
    _check_special_area(plan, special_area, float(area.sum()))
    special = special_area_by_zone(special_area, area, factor / efficiency)
    estimate = estimated_use(year, factor, efficiency, area, special)
    current = site.current
    run: set[int] = set() if current is None else set(current.zone.tolist())
    today_l = None
    if current is not None:
        today_l = todays_volume(current, plan.rates.flow_l_min)
    return YearOfWater(
        et0_mm=year,
        volume_l=plan.plan.volume_l,
        today_l=today_l,
        not_run_today=()
        if current is None
        else tuple(z for row, z in enumerate(site.zones.zone) if row not in run),
        area_m2=area,
        special_area_m2=special,
        plant_factor=factor,
        efficiency=efficiency,
        allowance_l=float(
            landscape_allowance(
                year,
                float(area.sum()),
                min(special_area, float(area.sum())),
                site.water.allowance_factor,
            )
        ),
        estimated_use_l=estimate,
        differences=_differences(plan, estimate, efficiency),
        dry_days=None
        if plan.settings is None
        else days_a_year(plan.plan.dry_share, plan.inputs.periods.days),
        held_back_l=held_back_l(plan),
        today_held_back_l=None if today_l is None else held_back_today_l(plan, today_l),
    )


def as_keyed_in(year: YearOfWater, plan: SitePlan, card: Card) -> YearOfWater:
    """A plan's year with what its card waters in place of the table."""
    judged, held = card.judged, year.held_back_l
    if held is not None and plan.season is not None:
        held = volume_l(plan.inputs, judged.scheduled_mm * plan.season.held)
    dry = year.dry_days
    if dry is not None:
        dry = days_a_year(judged.dry, plan.inputs.periods.days)
    return replace(year, volume_l=judged.water_l, dry_days=dry, held_back_l=held)


def days_a_year(dry_share: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Days of a mean year, (zone,), of shares of the months; NaN in frost."""
    return np.asarray(np.nansum(dry_share * days, axis=1))


def _check_special_area(plan: SitePlan, special_area_m2: float, area_m2: float) -> None:
    if special_area_m2 > area_m2 * (1 + 1e-9):
        raise InputError(
            [
                Problem(
                    plan.site.names.place("site.toml"),
                    None,
                    "water.special_area",
                    "is more than the ground of all zones together",
                    "a part of the zones' ground",
                )
            ]
        )


def _differences(
    plan: SitePlan, estimate_l: np.ndarray, efficiency: np.ndarray
) -> tuple[Difference, ...]:
    """Volumes on the way from the estimate to the plan, each less the one before."""
    p, inputs, area = plan.plan, plan.inputs, plan.rates.area_m2
    et0 = inputs.et0_mm_day * inputs.periods.days
    warm, runs = ~inputs.frost, p.schedule.cycles > 0
    net = (p.net_need_mm * warm).sum(axis=1)
    multiplier = inputs.valve.run_time_multiplier
    gross = gross_factor(multiplier, plan.ground.leaching_requirement)
    wanted = (p.gross_need_mm * runs).sum(axis=1)
    unmet = (p.unmet_mm * runs).sum(axis=1) * gross
    volumes: Sequence[np.ndarray] = (
        estimate_l,
        (et0 * plan.plant_coefficient).sum(axis=1) * area / efficiency,
        p.plant_need_mm.sum(axis=1) * area / efficiency,
        (p.plant_need_mm * warm).sum(axis=1) * area / efficiency,
        net * area / efficiency,
        net * area * multiplier,
        net * area * gross,
        wanted * area,
        (wanted - unmet) * area,
        p.applied_mm.sum(axis=1) * area,
        p.volume_l.sum(axis=1),
    )
    return tuple(
        Difference(code, after - before)
        for code, before, after in zip(
            DIFFERENCES, volumes[:-1], volumes[1:], strict=True
        )
    )
