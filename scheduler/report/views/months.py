"""Tables of the watering table: all zones, the months of one, and every row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH, PARITIES, weekday_names
from scheduler.demand.leaching import gross_factor
from scheduler.inputs.site import Zones
from scheduler.plan.site import SitePlan
from scheduler.plan.table import why_off
from scheduler.report import shown
from scheduler.report.frames import Column, Table
from scheduler.report.words import table as words


def zone_months(plan: SitePlan, zone: int) -> Table:
    """Twelve months of one zone, as the text report shows them."""
    p, schedule = plan.plan, plan.plan.schedule
    days = [
        shown.days_text(
            int(schedule.weekdays[zone, m]),
            int(schedule.parity[zone, m]),
            int(schedule.every_days[zone, m]),
        )
        or words.off(
            why_off(int(p.flags[zone, m])),
            bool(p.plant_need_mm[zone, m]),
            plan.settings is not None,
        )
        for m in range(12)
    ]
    cycles = [
        f"{int(n)} x {shown.minutes(c)}" if n else ""
        for n, c in zip(schedule.cycles[zone], schedule.cycle_min[zone], strict=True)
    ]

    def of_zone(values: np.ndarray) -> list[float]:
        return values[zone].tolist()

    headings = words.OF_ZONE if plan.settings is None else words.OF_ZONE_BY_DAYS
    column, runs = headings.column, schedule.cycles[zone] > 0
    unmet = p.unmet_mm[zone] * gross_factor(
        plan.inputs.valve.run_time_multiplier[zone],
        plan.ground.leaching_requirement[zone],
    )
    apply = np.where(runs, p.gross_need_mm[zone] - unmet, np.nan).tolist()
    return Table(
        (
            column("month", shown.MONTH_LABELS),
            column("et0", plan.months.et0_mm_day.tolist(), "depth_day"),
            column("plant_need", of_zone(p.plant_need_mm), "depth"),
            column("effective_rain", of_zone(p.effective_rain_mm), "depth"),
            column("apply", apply, "depth"),
            column("days", days),
            column(
                "minutes_per_day",
                of_zone(schedule.minutes_per_day),
                text=shown.minutes_or_blank,
            ),
            column("cycles", cycles),
            column(
                "soak_minutes", of_zone(schedule.soak_min), text=shown.minutes_or_blank
            ),
            column(
                "minutes_per_week",
                of_zone(schedule.minutes_per_week),
                text=_whole_minutes,
            ),
            *_dry_days(plan, p.dry_share[zone]),
            column("volume", of_zone(p.volume_l), "volume"),
        )
    )


def _dry_days(plan: SitePlan, share: np.ndarray) -> tuple[Column, ...]:
    """Days of a hundred on which plants go short; no column where not known."""
    if plan.settings is None:
        return ()
    days = (100 * share).tolist()
    return (words.OF_ZONE.column("dry_days_percent", days, text=_dry_or_blank),)


def _dry_or_blank(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else ""


def _whole_minutes(value: float) -> str:
    return shown.number(value) if value else ""


def overview(plan: SitePlan) -> Table:
    """Minutes a week of every zone and month, and of all zones together."""
    weekly = plan.plan.schedule.minutes_per_week
    zones = plan.site.zones
    labels = shown.zone_labels(zones, 27)
    column = words.OVERVIEW.column
    columns = [column("zone", [*labels, words.ALL_ZONES_HOURS])]
    for month, label in enumerate(shown.MONTH_LABELS):
        cells = [_whole_minutes(value) or "-" for value in weekly[:, month]]
        total = shown.number(float(weekly[:, month].sum()) / 60, 1)
        columns.append(column(label.lower(), [*cells, total]))
    return Table(tuple(columns))


def weekly_sheet(plan: SitePlan) -> Table:
    """The same minutes as numbers, for a workbook; blank where nothing runs."""
    weekly, zones = plan.plan.schedule.minutes_per_week, plan.site.zones
    column = words.OVERVIEW.column
    columns = [column("zone", shown.zone_labels(zones))]
    for month, label in enumerate(shown.MONTH_LABELS):
        cells = [value or np.nan for value in weekly[:, month].tolist()]
        columns.append(column(label.lower(), cells, text=_minutes_or_blank))
    return Table(tuple(columns))


def _minutes_or_blank(minutes: float) -> str:
    return "" if np.isnan(minutes) else _whole_minutes(minutes)


def in_a_year(
    zones: Zones, values: np.ndarray, dimension: str, unit: str = ""
) -> Table:
    """Values (zone, month) with their totals: the year's first, all zones' on top.

    Numbers as numbers, for a workbook; `unit` stands for one of no dimension.
    """
    summed = np.vstack([values.sum(axis=0), values])
    column = words.IN_A_YEAR.column
    text = _whole_minutes if not dimension else str
    columns = [
        column("zone", [words.ALL_ZONES, *zones.zone]),
        column("name", ["", *zones.name]),
        column("year", summed.sum(axis=1).tolist(), dimension, text, unit),
    ]
    for month, label in enumerate(shown.MONTH_LABELS):
        cells = summed[:, month].tolist()
        columns.append(column(label.lower(), cells, dimension, text, unit))
    return Table(tuple(columns), totals=(0,))


def year_sheets(plan: SitePlan) -> list[tuple[str, Table]]:
    """Minutes and water by zone and month, for the first sheets of a workbook."""
    weeks = np.asarray(DAYS_IN_MONTH) / 7
    minutes = plan.plan.schedule.minutes_per_week * weeks
    zones = plan.site.zones
    return [
        (words.MINUTES_SHEET, in_a_year(zones, minutes, "", words.MIN)),
        (words.WATER_SHEET, in_a_year(zones, plan.plan.volume_l, "volume")),
    ]


def table_rows(plan: SitePlan, only: int | None = None) -> Table:
    """The table, a row for each month of each zone or of only one, for CSV."""
    whole = _all_rows(plan)
    if only is None:
        return whole
    mine = slice(12 * only, 12 * only + 12)
    return Table(tuple(replace(c, values=c.values[mine]) for c in whole.columns))


def _all_rows(plan: SitePlan) -> Table:
    p, schedule, zones = plan.plan, plan.plan.schedule, plan.site.zones
    by_days = plan.settings is not None
    column = (words.ROWS_BY_DAYS if by_days else words.ROWS).column
    count = len(zones)

    def of_zone(values: Sequence[Any]) -> list[Any]:
        return [value for value in values for _ in range(12)]

    def of_cell(values: np.ndarray) -> list[Any]:
        return values.reshape(-1).tolist()

    def by_months(values: np.ndarray) -> list[Any]:
        return [np.nan] * (12 * count) if plan.settings else of_cell(values)

    return Table(
        (
            column("zone", of_zone(zones.zone)),
            column("station", of_zone(zones.station.tolist())),
            column("name", of_zone(zones.name)),
            column("month", [m for _ in range(count) for m in range(1, 13)]),
            column("et0", plan.months.et0_mm_day.tolist() * count, "depth_day"),
            column("plant_need", of_cell(p.plant_need_mm), "depth"),
            column("effective_rain", of_cell(p.effective_rain_mm), "depth"),
            column("net_need", of_cell(p.net_need_mm), "depth"),
            column("gross_need", of_cell(p.gross_need_mm), "depth"),
            column("carried_in", by_months(p.carried_in_mm), "depth"),
            column("gap_limit_days", by_months(p.gap_limit_days)),
            column(
                "days",
                [
                    " ".join(weekday_names(int(bits)))
                    for bits in schedule.told_weekdays.reshape(-1)
                ],
            ),
            column(
                "parity", [PARITIES[int(row)] for row in schedule.parity.reshape(-1)]
            ),
            column(
                "every_days",
                [int(days) or "" for days in schedule.every_days.reshape(-1)],
            ),
            column(
                "days_per_week", of_cell(schedule.days_per_week), text=shown.minutes
            ),
            column(
                "minutes_per_day", of_cell(schedule.minutes_per_day), text=shown.minutes
            ),
            column("cycles", of_cell(schedule.cycles)),
            column("cycle_minutes", of_cell(schedule.cycle_min), text=shown.minutes),
            column("soak_minutes", of_cell(schedule.soak_min), text=shown.minutes),
            column(
                "minutes_per_week",
                of_cell(schedule.minutes_per_week),
                text=shown.minutes,
            ),
            column("applied", of_cell(p.applied_mm), "depth"),
            column("unmet", by_months(p.unmet_mm), "depth"),
            column("volume", of_cell(p.volume_l), "volume"),
            *_dry_days(plan, p.dry_share.reshape(-1)),
            *_fillings(plan),
            *_grown_in(plan),
        )
    )


def _grown_in(plan: SitePlan) -> tuple[Column, ...]:
    """Date from which the rows of a zone hold, where a zone is new; else no column."""
    if not plan.plantings:
        return ()
    dates = {new.zone: new.grown_in.isoformat() for new in plan.plantings}
    rows = range(len(plan.site.zones))
    cells = [dates.get(row, "") for row in rows for _ in range(12)]
    return (words.ROWS.column("grown_in", cells),)


def _fillings(plan: SitePlan) -> tuple[Column, ...]:
    if plan.settings is None:
        return ()
    found, column = plan.plan, words.ROWS.column
    return (
        column(
            "fill_minutes",
            (found.fill_min * found.fill_days).reshape(-1).tolist(),
            text=shown.minutes,
        ),
        column("fill_days", found.fill_days.reshape(-1).tolist(), text=shown.minutes),
    )
