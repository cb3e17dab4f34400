"""How much less is asked for on the command line, and whether it can be."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.less.less import Less, fewer_days, less_water, year_l
from scheduler.calendar import ALL_DATES, WEEK
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.settings import NEVER, read_stage
from scheduler.inputs.site import Site, Window
from scheduler.plan.site import SitePlan, plan_site
from scheduler.plan.times.common_days import (
    CommonDays,
    common_days,
    with_common_days,
)
from scheduler.report.words.questions import less as words
from scheduler.units import L_PER_GAL, L_PER_M3


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for; None where not. Percents are of the table's water.

    Once a stage is read `windows` are its own, empty where the site's hold, and
    `percent_of_stage` tells whose percent it is.
    """

    percent: float | None = None
    volume_l: float | None = None
    cost: float | None = None
    days: int | None = None
    stage: str | None = None
    windows: tuple[Window, ...] | None = None
    percent_of_stage: bool = False

    @property
    def amounts(self) -> int:
        """How many amounts of water or money are asked for."""
        given = (self.percent, self.volume_l, self.cost)
        return sum(amount is not None for amount in given)

    @property
    def nothing(self) -> bool:
        """Whether nothing is asked for at all."""
        return not self.amounts and self.days is None and self.stage is None


def volume_asked(
    gal: float | None, liters: float | None, m3: float | None
) -> float | None:
    """The volume that is given in one of the units, None where in none. [L]"""
    given = [(gal, L_PER_GAL), (liters, 1.0), (m3, L_PER_M3)]
    found = [value * per for value, per in given if value is not None]
    if len(found) > 1:
        raise _refused("less", "", words.TOO_MUCH_ASKED, words.ONE_OF)
    return found[0] if found else None


def refuse_by_months(plan: SitePlan) -> None:
    """InputError for a table by months, which knows no dry days."""
    if plan.settings is None:
        place = plan.site.names.place("site.toml")
        raise _refused(place, "plan.by", words.BY_MONTHS, words.BY_DAYS)


def days_of(wanted: Wanted) -> tuple[int, int] | None:
    """Fewest and most days a week of the windows asked for; None: as by the table."""
    if wanted.days is not None:
        return wanted.days, wanted.days
    if not wanted.windows:
        return None
    given = [
        min(window.most_days_a_week, _days_it_has(window))
        for window in wanted.windows
        if not window.stages
    ]
    return (min(given), max(given)) if given else None


def _days_it_has(window: Window) -> int:
    """Most dates of a window in a week; odd and even ones are four."""
    if not window.months:
        return 0
    return len(window.weekdays) if window.parity == ALL_DATES else (WEEK + 1) // 2


def days_in_common(wanted: Wanted, site: Site) -> tuple[CommonDays, ...]:
    """Days of the whole site where so many a week were asked for, else none."""
    if not wanted.days:
        return ()
    return common_days(site.windows, _kinds(site), wanted.days)


def told(wanted: Wanted, site: Site) -> str:
    """What is asked for in words, its stage read before; "" for sums alone."""
    if wanted.percent is None and wanted.stage is None and wanted.days is None:
        return ""
    common = days_in_common(wanted, site)
    windows = [window for window in wanted.windows or () if window.months]
    return words.asked(wanted.percent, wanted.stage, days_of(wanted), common, windows)


def to_key_in(wanted: Wanted, found: Less, folder: Path) -> str:
    """The command for the card of what was asked for."""
    percent = None if wanted.percent_of_stage else wanted.percent
    if wanted.volume_l is not None or wanted.cost is not None:
        percent = 100 * (1 - float(found.after_l.sum() / found.before_l.sum()))
    given = [] if percent is None else [("--less", f"{percent:.4g}")]
    if wanted.stage is not None:
        given.append(("--stage", wanted.stage))
    if wanted.days is not None:
        given.append(("--days", str(wanted.days)))
    return words.command(str(folder), given)


def with_stage(wanted: Wanted, folder: Path) -> Wanted:
    """What is asked for with what its stage asks for, if any.

    What is asked for beside a stage goes before its own percent.
    """
    if wanted.stage is None or wanted.windows is not None:
        return wanted
    if wanted.amounts > 1 or wanted.days is not None:
        raise _refused("less", "", words.TOO_MUCH_ASKED, words.ONE_OF)
    stage = read_stage(folder, wanted.stage)
    own = bool(wanted.amounts)
    return replace(
        wanted,
        percent=wanted.percent if own else stage.percent,
        stage=stage.name,
        windows=stage.windows,
        percent_of_stage=not own,
    )


def less_asked(
    plan: SitePlan,
    wanted: Wanted,
    folder: Path,
    units: str,
    today: datetime.date | None = None,
) -> Less:
    """So much less water, or fewer days; InputError where that says nothing."""
    refuse_by_months(plan)
    wanted = with_stage(wanted, folder)
    there, percent = _site_then(plan.site, wanted), wanted.percent
    if wanted.amounts > 1:
        raise _refused("less", "", words.TOO_MUCH_ASKED, words.ONE_OF)
    start = None
    if there is not None:
        start = plan_site(there, today)
    if wanted.cost is not None:
        return _within_cost(plan, wanted.cost, start)
    total = float(year_l(plan).sum())
    if wanted.volume_l is not None:
        if not 0 <= wanted.volume_l <= total:
            told = words.volume_over(wanted.volume_l, total, units)
            option = words.volume_option(units)
            raise _refused("less", option, told, words.volumes(total, units))
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


def _site_then(site: Site, wanted: Wanted) -> Site | None:
    """The site under the windows that hold instead of its own, None where those do.

    A stage that names windows stands alone: new plantings have those exceptions that
    it makes for them.
    """
    if wanted.stage is not None:
        given = wanted.windows or ()
        grown = tuple(window for window in given if not window.stages)
        made = tuple(window for window in given if window.stages)
        if not given:
            return None
        return replace(site, windows=grown or site.windows, exceptions=made)
    if wanted.days is None:
        return None
    if not 0 <= wanted.days <= WEEK:
        raise _refused("less", "--days", words.no_days(wanted.days), words.DAYS)
    if wanted.days == 0:
        return replace(site, windows=(NEVER,))
    fewer = with_common_days(site.windows, _kinds(site), wanted.days)
    return replace(site, windows=fewer or (NEVER,))


def _kinds(site: Site) -> tuple[str, ...]:
    """Kinds of head that a site has."""
    return tuple(HEAD_KINDS[kind] for kind in sorted({*site.zones.head_kind.tolist()}))


def _refused(file: str, field: str, wrong: str, accepted: str) -> InputError:
    return InputError([Problem(file, None, field, wrong, accepted)])
