"""The public library: a site read, planned, and seen night by night, card and budget.

Each function gives a frozen result. Its `to_frame()` is a pandas DataFrame with the
numbers that the verb of that name prints as CSV, the unit at the end of a column's
name; bare names are counts, factors, minutes that say so, or text, and a blank is
missing. Its `record` holds everything behind it, as arrays in SI.

>>> import scheduler
>>> site = scheduler.read_site("examples/home")
>>> table = scheduler.plan(site).to_frame()
>>> july = table[table.month == 7].set_index("zone")
>>> print(f"zone 3, July: {july.et0_mm_day['3']:.1f} mm/day of ET0")
zone 3, July: 7.3 mm/day of ET0
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.budget.savings import Budget as BudgetRecord
from scheduler.budget.savings import budget_site
from scheduler.cautions import Caution
from scheduler.errors import InputError
from scheduler.inputs.folder import read_site as read_folder
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Site as SiteRecord
from scheduler.plan.card.plan import Card as CardRecord
from scheduler.plan.card.plan import plan_card
from scheduler.plan.night.plan import NightPlan, plan_night
from scheduler.plan.site import SitePlan, plan_site
from scheduler.report.frames import Table
from scheduler.report.views import budget as budget_view
from scheduler.report.views import card as card_view
from scheduler.report.views import months as month_tables
from scheduler.report.views import night as night_view
from scheduler.report.views.controller import keyed

if TYPE_CHECKING:
    import pandas as pd

__all__ = [
    "Budget",
    "Card",
    "Caution",
    "InputError",
    "Night",
    "Plan",
    "Site",
    "budget",
    "card",
    "night",
    "plan",
    "read_site",
]

SYSTEMS = ("metric", "us")


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """A site as it was read: `record` has every setting, zone and head in SI."""

    record: SiteRecord

    def to_frame(self) -> pd.DataFrame:
        """Zones as they were read, a row each, in SI; NaN where a cell was blank."""
        import pandas as pd

        site = self.record
        zones = site.zones
        named = {"plant": site.plants.names, "soil": site.soils.names,
                 "head_kind": HEAD_KINDS}  # fmt: skip
        columns: dict[str, Any] = {}
        for field in fields(zones):
            values = getattr(zones, field.name)
            names = named.get(field.name)
            columns[field.name] = [names[row] for row in values] if names else values
        return pd.DataFrame(columns)


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """A site's watering table: `record` has the working behind it as arrays in SI."""

    record: SitePlan

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What the plan cannot promise: code, zone, month, and values in SI."""
        return self.record.cautions

    def to_frame(self, units: str = "metric") -> pd.DataFrame:
        """A row for each zone and month, in file order; units "metric" or "us"."""
        return _frame(month_tables.table_rows(self.record), units)


@dataclass(frozen=True, slots=True, eq=False)
class Night:
    """One watering night on the clock."""

    record: NightPlan

    @property
    def fits(self) -> bool:
        """Whether every run falls within the permitted hours."""
        return self.record.night.fits

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What cannot be kept in the night and its month."""
        return self.record.cautions

    def to_frame(self, units: str = "metric") -> pd.DataFrame:
        """A row for each run, by its start; times are ISO 8601 texts."""
        return _frame(night_view.to_table(self.record), units)


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """What to key in for a year, and how it waters beside the table."""

    plan: SitePlan
    record: CardRecord
    cautions: tuple[Caution, ...]

    def to_frame(self, units: str = "metric") -> pd.DataFrame:
        """A row for each visit, program and zone."""
        return _frame(keyed.to_table(self.plan, self.record), units)


@dataclass(frozen=True, slots=True, eq=False)
class Budget:
    """A year's water and bill: `record` has the allowance, today and the savings."""

    record: BudgetRecord

    def to_frame(self, units: str = "metric") -> pd.DataFrame:
        """A row for each zone and month; `cost` is in the currency of the site."""
        return _frame(budget_view.to_table(self.record), units)


def _frame(table: Table, units: str) -> pd.DataFrame:
    """A report's table for a notebook, in units that are known."""
    if units not in SYSTEMS:
        raise ValueError(f"units must be metric or us, got {units!r}")
    return table.to_pandas(units)


def read_site(path: str | Path) -> Site:
    """A site from its folder or workbook, checked whole.

    Parameters
    ----------
    path : str or Path
        Folder with site.toml, zones.csv and the rest, or a workbook of their sheets.

    Returns
    -------
    Site
        The site in SI, with what was assumed where cells were blank.

    Raises
    ------
    InputError
        With every problem of the files at once, in `problems`: each has `file`,
        `line`, `field`, `wrong`, `accepted` and `hint`.
    """
    return Site(read_folder(Path(path), datetime.date.today()))


def plan(site: Site, today: datetime.date | None = None) -> Plan:
    """The month-by-month watering table of a site.

    Parameters
    ----------
    site : Site
        As `read_site` gives it.
    today : date, optional
        From when the steps of new plantings are told; today where none is given.

    Returns
    -------
    Plan
        Arrays of the table are (zone, month), January first; depths in mm, minutes,
        volumes in L. What cannot be kept is in `cautions`.

    Raises
    ------
    InputError
        If the weather fills no whole year.

    References
    ----------
    `scheduler method` prints every formula with its source.
    """
    return Plan(plan_site(site.record, today or datetime.date.today()))


def night(plan: Plan, when: int | datetime.date, year: int | None = None) -> Night:
    """One watering night on the clock: the order of runs that ends soonest.

    Parameters
    ----------
    plan : Plan
        As `plan` gives it.
    when : int or date
        A month, 1 to 12, for its fullest night; or the date of a night.
    year : int, optional
        Year of the month; this year where none is given. A date has its own.

    Returns
    -------
    Night
        Runs with start and end, by the site's clock. Minutes are whole controller
        steps.

    Raises
    ------
    ValueError
        If `when` is a number, but none from 1 to 12.
    """
    if isinstance(when, datetime.date):
        return Night(plan_night(plan.record, when.year, when.month, when))
    if when not in range(1, 13):
        raise ValueError(f"when must be a month from 1 to 12, or a date, got {when!r}")
    year = datetime.date.today().year if year is None else year
    return Night(plan_night(plan.record, year, when))


def card(plan: Plan, visits: int = 4, year: int | None = None) -> Card:
    """What to key into the controller, with so many visits a year.

    Parameters
    ----------
    plan : Plan
        As `plan` gives it.
    visits : int
        Times a year that someone comes to key in anew, 1 to 12.
    year : int, optional
        Year of first dates of intervals; where none is given, those to come.

    Returns
    -------
    Card
        Programs by visit: days, starts, base run times in minutes, percents by month.

    Raises
    ------
    ValueError
        If `visits` is not from 1 to 12.
    """
    if visits not in range(1, 13):
        raise ValueError(f"visits must be from 1 to 12, got {visits!r}")
    start = datetime.date(year, 1, 1) if year else datetime.date.today()
    found = plan_card(plan.record, start, visits)
    told = (*plan.cautions, *card_view.broken(plan.record, found))
    return Card(plan.record, found, told)


def budget(plan: Plan) -> Budget:
    """A year's water and bill, against the allowance and what runs today.

    Parameters
    ----------
    plan : Plan
        As `plan` gives it.

    Returns
    -------
    Budget
        Volumes are (zone, month) in L, money in the currency of the site.

    Raises
    ------
    InputError
        If the special landscape area is larger than the ground.

    References
    ----------
    MWELO, for allowance and estimated use, as `scheduler method` prints them.
    """
    return Budget(budget_site(plan.record))
