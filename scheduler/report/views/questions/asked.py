"""How much less is asked for on the command line, and whether it can be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.less.less import Less, fewer_days, less_water, year_l
from scheduler.calendar import WEEK
from scheduler.errors import InputError, Problem
from scheduler.inputs.settings import NEVER, read_stage
from scheduler.inputs.site import Site, Window
from scheduler.plan.site import SitePlan, plan_site
from scheduler.report.words.questions import less as words
from scheduler.units import L_PER_GAL, L_PER_M3


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for; None where not. Percents are of the table's water."""

    percent: float | None = None
    volume_l: float | None = None
    cost: float | None = None
    days: int | None = None
    stage: str | None = None


def volume_asked(
    gal: float | None, liters: float | None, m3: float | None
) -> float | None:
    """The volume that is given in one of the units, None where in none. [L]"""
    given = [(gal, L_PER_GAL), (liters, 1.0), (m3, L_PER_M3)]
    found = [value * per for value, per in given if value is not None]
    if len(found) > 1:
        raise _refused("less", "--volume", words.TOO_MUCH_ASKED, words.ONE_OF)
    return found[0] if found else None


def refuse_by_months(plan: SitePlan) -> None:
    """InputError for a table by months, which knows no dry days."""
    if plan.settings is None:
        place = plan.site.names.place("site.toml")
        raise _refused(place, "plan.by", words.BY_MONTHS, words.BY_DAYS)


def less_asked(plan: SitePlan, wanted: Wanted, folder: Path, units: str) -> Less:
    """So much less water, or fewer days; InputError where that says nothing.

    A stage may ask for both; what is asked for beside it goes before its own percent.
    """
    refuse_by_months(plan)
    windows, percent = _windows(plan.site, wanted, folder), wanted.percent
    if wanted.stage is not None and percent is None:
        percent = read_stage(folder, wanted.stage).percent
    amounts = sum(x is not None for x in (wanted.percent, wanted.volume_l, wanted.cost))
    if amounts > 1 or (wanted.days is not None and wanted.stage is not None):
        raise _refused("less", "", words.TOO_MUCH_ASKED, words.ONE_OF)
    start = None
    if windows is not None:
        start = plan_site(replace(plan.site, windows=windows))
    if wanted.cost is not None:
        return _within_cost(plan, wanted.cost, start)
    total = float(year_l(plan).sum())
    if wanted.volume_l is not None:
        if not 0 <= wanted.volume_l <= total:
            told = words.volume_over(wanted.volume_l, total, units)
            raise _refused("less", "--volume", told, words.volumes(total, units))
        return less_water(plan, wanted.volume_l, np.sum, wanted.volume_l, start)
    if percent is not None:
        if not 0 <= percent <= 100:
            raise _refused(
                "less", "--percent", words.no_percent(percent), words.PERCENTS
            )
        target = total * (1 - percent / 100)
        return less_water(plan, target, np.sum, target, start)
    if start is None:
        raise _refused("less", "", words.NOTHING_ASKED, words.ONE_OF)
    return fewer_days(plan, start)


def _within_cost(plan: SitePlan, cost: float, start: SitePlan | None) -> Less:
    """Settings whose bills of a year come to no more than some money."""
    water, of_table = plan.site.water, year_l(plan)
    now = cost_of_year(of_table.sum(axis=0), water)
    if now is None:
        place = plan.site.names.place("site.toml")
        raise _refused(place, "water.tiers", words.NO_PRICE, words.PRICES)
    fixed = cost_of_year(np.zeros(of_table.shape[1]), water)
    assert fixed is not None
    if not float(fixed) <= cost <= float(now):
        told = words.cost_beyond(cost, water.currency)
        raise _refused("less", "--cost", told, words.costs(fixed, now, water.currency))

    def spent(volume_l: np.ndarray) -> float:
        found = cost_of_year(volume_l.sum(axis=0), water)
        return float(found or 0)

    return less_water(plan, cost, spent, None, start)


def _windows(site: Site, wanted: Wanted, folder: Path) -> tuple[Window, ...] | None:
    """Windows that hold instead of the site's, None where those do."""
    if wanted.stage is not None:
        return read_stage(folder, wanted.stage).windows or None
    if wanted.days is None:
        return None
    if not 0 <= wanted.days <= WEEK:
        raise _refused("less", "--days", words.no_days(wanted.days), words.DAYS)
    if wanted.days == 0:
        return (NEVER,)
    return tuple(
        replace(window, most_days_a_week=min(wanted.days, window.most_days_a_week))
        for window in site.windows
    )


def _refused(file: str, field: str, wrong: str, accepted: str) -> InputError:
    return InputError([Problem(file, None, field, wrong, accepted)])
