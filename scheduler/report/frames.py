"""Tables of the reports: each defined once, as columns that know their unit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.calendar import PARITIES, weekday_names
from scheduler.demand.leaching import gross_factor
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan import table
from scheduler.plan.site import SitePlan
from scheduler.report import shown

if TYPE_CHECKING:
    import pandas as pd

REFERENCE_STORE_MM = 76.2
"""Storage that TR-21's printed table is for, 3 in: used for reference grass."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: SI values, its name for programs, its label for people.

    `label` may break over lines; `text` turns a value of no dimension into words.
    """

    name: str
    label: str
    values: Sequence[Any]
    dimension: str = ""
    text: Callable[[Any], str] = str

    def header(self, units: str) -> str:
        """Name with its unit, for CSV."""
        if not self.dimension:
            return self.name
        return f"{self.name}_{DIMENSIONS[self.dimension].shown(units).suffix}"

    def title(self, units: str) -> str:
        """Label with its unit below, for people."""
        if not self.dimension:
            return self.label
        return f"{self.label}\n{shown.symbol(self.dimension, units)}"

    def cells(self, units: str) -> list[str]:
        """Values as people are shown them."""
        if self.dimension:
            return [shown.amount(value, self.dimension, units) for value in self.values]
        return [self.text(value) for value in self.values]

    def data(self, units: str) -> list[Any]:
        """Values for CSV: numbers in the reader's unit, to six digits."""
        if not self.dimension:
            return [_plain(value) for value in self.values]
        unit = DIMENSIONS[self.dimension].shown(units)
        return [_plain(unit.from_si(float(value))) for value in self.values]


@dataclass(frozen=True, slots=True)
class Table:
    """A table of a report."""

    columns: tuple[Column, ...]

    def rows(self, units: str) -> list[tuple[str, ...]]:
        """Rows as people are shown them."""
        return list(zip(*(c.cells(units) for c in self.columns), strict=True))

    def to_pandas(self, units: str = "metric") -> pd.DataFrame:
        """Table for a notebook: headers as in the CSV, blanks missing, money floats."""
        import pandas as pd

        return pd.DataFrame(
            {c.header(units): list(map(_for_frame, c.data(units)))
             for c in self.columns}
        )  # fmt: skip


def _for_frame(value: Any) -> Any:
    if isinstance(value, Decimal):
        return float(value)
    return None if value == "" else value


def _plain(value: Any) -> Any:
    if isinstance(value, (float, np.floating)):
        return None if not np.isfinite(value) else float(f"{float(value):.6g}")
    if isinstance(value, np.integer):
        return int(value)
    return value


def off_reason(plan: SitePlan, zone: int, month: int) -> str:
    """Why a zone does not run in a month, in a word or two."""
    flags = int(plan.plan.flags[zone, month])
    if flags & table.FROST:
        return "off: frost"
    if flags & table.NOT_PERMITTED:
        return "off: not permitted"
    if flags & table.CARRIED:
        return "off: soil carries"
    # What a month before left to pay may be too light as well; rain is why it is off.
    if flags & table.NO_NEED:
        return "off: rain suffices"
    if flags & table.LIGHT:
        return "off: need too small"
    return "off: under a step"


def zone_months(plan: SitePlan, zone: int) -> Table:
    """Twelve months of one zone, as the text report shows them."""
    p, schedule = plan.plan, plan.plan.schedule
    days = [
        shown.days_text(
            int(schedule.weekdays[zone, m]),
            int(schedule.parity[zone, m]),
            int(schedule.every_days[zone, m]),
        )
        or off_reason(plan, zone, m)
        for m in range(12)
    ]
    cycles = [
        f"{int(n)} x {shown.minutes(c)}" if n else ""
        for n, c in zip(schedule.cycles[zone], schedule.cycle_min[zone], strict=True)
    ]

    def of_zone(values: np.ndarray) -> list[float]:
        return values[zone].tolist()

    runs = schedule.cycles[zone] > 0
    unmet = p.unmet_mm[zone] * gross_factor(
        plan.inputs.valve.run_time_multiplier[zone],
        plan.inputs.ground.leaching_requirement[zone],
    )
    apply = np.where(runs, p.gross_need_mm[zone] - unmet, np.nan).tolist()
    return Table(
        (
            Column("month", "", shown.MONTH_LABELS),
            Column("et0", "ET0", plan.months.et0_mm_day.tolist(), "depth_day"),
            Column("plant_need", "need", of_zone(p.plant_need_mm), "depth"),
            Column("effective_rain", "rain", of_zone(p.effective_rain_mm), "depth"),
            Column("apply", "apply", apply, "depth"),
            Column("days", "watering days", days),
            Column("minutes_per_day", "min\na day", of_zone(schedule.minutes_per_day),
                   text=_minutes_or_blank),
            Column("cycles", "cycles\nx min", cycles),
            Column("soak_minutes", "soak\nmin", of_zone(schedule.soak_min),
                   text=_minutes_or_blank),
            Column("minutes_per_week", "min\na week",
                   of_zone(schedule.minutes_per_week), text=_whole_minutes),
            *_dry_days(plan, p.dry_share[zone]),
            Column("volume", "volume", of_zone(p.volume_l), "volume"),
        )
    )  # fmt: skip


def _dry_days(plan: SitePlan, share: np.ndarray) -> tuple[Column, ...]:
    """Days of a hundred on which plants go short; no column where not known."""
    if plan.settings is None:
        return ()
    days = (100 * share).tolist()
    return (Column("dry_days_percent", "dry of\n100 d", days, text=_dry_or_blank),)


def _dry_or_blank(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else ""


def _minutes_or_blank(value: float) -> str:
    return shown.minutes(value) if value else ""


def _whole_minutes(value: float) -> str:
    return shown.number(value) if value else ""


def overview(plan: SitePlan) -> Table:
    """Minutes a week of every zone and month, and of all zones together."""
    weekly = plan.plan.schedule.minutes_per_week
    zones = plan.site.zones
    labels = [
        shown.cut(shown.zone_label(zone, name), 27)
        for zone, name in zip(zones.zone, zones.name, strict=True)
    ]
    columns = [Column("zone", "zone", [*labels, "all zones, hours"])]
    for month, label in enumerate(shown.MONTH_LABELS):
        cells = [_whole_minutes(value) or "-" for value in weekly[:, month]]
        total = shown.number(float(weekly[:, month].sum()) / 60, 1)
        columns.append(Column(label.lower(), label, [*cells, total]))
    return Table(tuple(columns))


def table_rows(plan: SitePlan) -> Table:
    """The whole table, a row for each zone and month, for CSV and markdown."""
    p, schedule, zones = plan.plan, plan.plan.schedule, plan.site.zones
    count = len(zones)

    def of_zone(values: Sequence[Any]) -> list[Any]:
        return [value for value in values for _ in range(12)]

    def of_cell(values: np.ndarray) -> list[Any]:
        return values.reshape(-1).tolist()

    return Table(
        (
            Column("zone", "zone", of_zone(zones.zone)),
            Column("station", "station", of_zone(zones.station.tolist())),
            Column("name", "name", of_zone(zones.name)),
            Column("month", "month", [m for _ in range(count) for m in range(1, 13)]),
            Column("et0", "ET0", plan.months.et0_mm_day.tolist() * count, "depth_day"),
            Column("plant_need", "need", of_cell(p.plant_need_mm), "depth"),
            Column("effective_rain", "rain", of_cell(p.effective_rain_mm), "depth"),
            Column("net_need", "net need", of_cell(p.net_need_mm), "depth"),
            Column("gross_need", "to apply", of_cell(p.gross_need_mm), "depth"),
            Column("carried_in", "carried in", of_cell(p.carried_in_mm), "depth"),
            Column("gap_limit_days", "gap limit", of_cell(p.gap_limit_days)),
            Column("days", "days", [" ".join(weekday_names(int(bits)))
                                    for bits in schedule.weekdays.reshape(-1)]),
            Column("parity", "parity", [PARITIES[int(row)]
                                        for row in schedule.parity.reshape(-1)]),
            Column("every_days", "every days", [int(days) or ""
                                          for days in schedule.every_days.reshape(-1)]),
            Column("days_per_week", "days a week", of_cell(schedule.days_per_week),
                   text=shown.minutes),
            Column("minutes_per_day", "min a day", of_cell(schedule.minutes_per_day),
                   text=shown.minutes),
            Column("cycles", "cycles", of_cell(schedule.cycles)),
            Column("cycle_minutes", "cycle min", of_cell(schedule.cycle_min),
                   text=shown.minutes),
            Column("soak_minutes", "soak min", of_cell(schedule.soak_min),
                   text=shown.minutes),
            Column("minutes_per_week", "min a week",
                   of_cell(schedule.minutes_per_week), text=shown.minutes),
            Column("applied", "applied", of_cell(p.applied_mm), "depth"),
            Column("unmet", "unmet", of_cell(p.unmet_mm), "depth"),
            Column("volume", "volume", of_cell(p.volume_l), "volume"),
            *_dry_days(plan, p.dry_share.reshape(-1)),
            *_fillings(plan),
        )
    )  # fmt: skip


def _fillings(plan: SitePlan) -> tuple[Column, ...]:
    if plan.settings is None:
        return ()
    found = plan.plan
    return (
        Column("fill_minutes", "fill min", (found.fill_min * found.fill_days)
               .reshape(-1).tolist(), text=shown.minutes),
        Column("fill_days", "fill days", found.fill_days.reshape(-1).tolist(),
               text=shown.minutes),
    )  # fmt: skip


def zone_rates(plan: SitePlan) -> Table:
    """Precipitation rate and uniformity by zone."""
    zones, rates = plan.site.zones, plan.rates
    extra = (rates.run_time_multiplier * (0.4 + 0.6 * rates.usual_uniformity) - 1) * 100
    return Table(
        (
            Column("zone", "zone", zones.zone),
            Column("name", "name", [shown.cut(name, 19) for name in zones.name]),
            Column("head_kind", "heads", [HEAD_KINDS[k] for k in zones.head_kind]),
            Column("flow", "flow", rates.flow_l_min.tolist(), "flow"),
            Column("area", "area", rates.area_m2.tolist(), "area"),
            Column("rate", "rate", rates.rate_mm_h.tolist(), "rate"),
            Column("peak_rate", "peak", rates.peak_rate_mm_h.tolist(), "rate"),
            Column("uniformity", "DU", rates.uniformity.tolist(),
                   text="{:.2f}".format),
            Column("uniformity_source", "from", rates.uniformity_source,
                   text=lambda source: _UNIFORMITY_FROM.get(source, source)),
            Column("run_time_multiplier", "run-time\nmultiplier",
                   rates.run_time_multiplier.tolist(), text="{:.2f}".format),
            Column("imbalance_percent", "imbalance\ntime", extra.tolist(),
                   text=_extra_percent),
        )
    )  # fmt: skip


_UNIFORMITY_FROM = {
    "head imbalance": "heads",
    "kind of head": "usual",
    "coverage model": "model",
}
"""Shorter words for a column; 100 columns have to hold a zone's rates."""


def _extra_percent(value: float) -> str:
    return f"+{value:.0f} %" if value >= 0.5 else ""


def operating_points(plan: SitePlan) -> Table:
    """Flow and pressure of each zone, and where both come from."""
    zones, rates, points = plan.site.zones, plan.rates, plan.points
    return Table(
        (
            Column("zone", "zone", zones.zone),
            Column("name", "name", [shown.cut(name, 19) for name in zones.name]),
            Column("flow", "flow", rates.flow_l_min.tolist(), "flow"),
            Column("flow_source", "from", rates.flow_source),
            Column("pressure", "pressure", points.pressure_kpa.tolist(), "pressure"),
            Column("pressure_source", "from",
                   [PRESSURE_FROM[source] for source in points.source]),
            Column("chart_share", "of the\nchart's", points.chart_share.tolist(),
                   text=_share_percent),
        )
    )  # fmt: skip


PRESSURE_FROM = {
    "gauge": "gauge on the zone",
    "given": "[supply] pressure",
    "curve": "heads meet supply",
    "bucket": "bucket test",
    "": "not known: the chart's",
}
"""Where a zone's pressure comes from, in a few words."""


def head_rates(plan: SitePlan) -> Table:
    """Precipitation rate of each row of heads.csv."""
    site, head = plan.site, plan.rates.heads
    heads = site.heads
    return Table(
        (
            Column("zone", "zone", [site.zones.zone[row] for row in heads.zone]),
            Column("head", "head", heads.head),
            Column("count", "count", heads.count.astype(int).tolist()),
            Column("nozzle", "nozzle", heads.nozzle),
            Column("arc_deg", "arc °", heads.arc_deg.tolist(), text=shown.minutes),
            Column("flow", "flow each", head.flow_l_min.tolist(), "flow"),
            Column("area", "ground each", head.area_m2.tolist(), "area"),
            Column("rate", "rate", head.rate_mm_h.tolist(), "rate"),
            Column("share_of_mean", "of zone\nmean", head.share_of_mean.tolist(),
                   text=_share_percent),
        )
    )  # fmt: skip


def _share_percent(value: float) -> str:
    return f"{100 * value:.0f} %" if np.isfinite(value) else ""
