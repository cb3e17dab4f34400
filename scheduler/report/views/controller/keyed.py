"""What is keyed into the controller: rows for a spreadsheet, data for programs."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from scheduler.calendar import PARITIES, weekday_names
from scheduler.plan.card.after.fillings import dates_of_fills, fillings, goes_on
from scheduler.plan.card.needs import Fill, Hand
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, Visit, dates_by_hand, first_dates
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.frames import Table
from scheduler.report.views.plantings import card as plantings
from scheduler.report.views.plantings import held
from scheduler.report.words.controller import card as words


def minutes_or_blank(value: float | str) -> str:
    """Minutes as they are shown; words as they are."""
    return value if isinstance(value, str) else shown.minutes(value)


def to_table(plan: SitePlan, card: Card, asked: Sequence[str] = ()) -> Table:
    """A row for each visit, program and zone, then for what is started by hand.

    With new plantings it says from when on a run is keyed in, once their steps end, and
    which percent comes then in that month; with less water, what was `asked` for.
    """
    rows = [
        {"visit": number, "months": " ".join(map(str, visit.months)), **row}
        for number, visit in enumerate(card.visits, 1)
        for row in (*_program_rows(plan, card, visit), *_hand_rows(plan, card, visit))
    ]
    for row, line in zip(rows, asked, strict=False):
        row["asked"] = line
    times = {"base_minutes", "cycle_minutes", "soak_minutes", "then_percent",
             *_PERCENTS}  # fmt: skip
    names = ("visit", "months", "program", "days", "parity", "every_days", "first_date",
             "starts", "station", "zone", "name", "base_minutes", "cycle_minutes",
             "soak_minutes", *_PERCENTS,
             *("from", "then_percent") * bool(held.held(plan, card)),
             *("asked",) * bool(asked))  # fmt: skip
    return Table(
        tuple(
            words.COLUMNS.column(
                name,
                [row.get(name, "") for row in rows],
                text=minutes_or_blank if name in times else str,
            )
            for name in names
        )
    )


def sheets(plan: SitePlan, card: Card) -> list[tuple[str, Table]]:
    """First sheets of a workbook: steps of new plantings, and water by zone."""
    judged, labels = card.judged, shown.zone_labels(plan.site.zones)

    def volumes(volume_l: np.ndarray) -> list[float]:
        of_zone = volume_l.sum(axis=1)
        return [*of_zone.tolist(), float(of_zone.sum())]

    column = words.OF_ZONES.column
    table = Table(
        (
            column("zone", [*labels, words.ALL_ZONES]),
            column("card", volumes(judged.water_l), "volume"),
            column("table", volumes(judged.table_l), "volume"),
        ),
        totals=(-1,),
    )
    return [*plantings.sheets(plan, card), (words.WATER_SHEET, table)]


_PERCENTS = tuple(f"{label.lower()}_percent" for label in shown.MONTH_LABELS)


def _program_rows(plan: SitePlan, card: Card, visit: Visit) -> Iterator[dict[str, Any]]:
    for program in visit.programs:
        pattern = program.pattern
        percents = _percents_of(plan, card, visit, program)
        then = next((p.then for p in percents.values() if p.until), "")
        begins = _from(plan, card, visit, program)
        first = program.first_date or _first_of_some_dates(plan, card, visit, program)
        for place, row in enumerate(program.zones):
            yield {
                "program": program.name,
                "days": " ".join(weekday_names(pattern.weekdays)),
                "parity": PARITIES[pattern.parity],
                "every_days": pattern.every_days or "",
                "first_date": first or "",
                "starts": " ".join(map(clock_text, program.starts_min)),
                **_zone_cells(plan, row),
                "base_minutes": program.base_min[place],
                "cycle_minutes": program.cycle_min[place] or "",
                "soak_minutes": program.soak_min[place] or "",
                **{_PERCENTS[month - 1]: p.percent for month, p in percents.items()},
                "from": begins.get(row, ""),
                "then_percent": then,
            }


def _first_of_some_dates(
    plan: SitePlan, card: Card, visit: Visit, program: Program
) -> datetime.date | None:
    """First date of a program on some weekdays of odd or even dates, else None."""
    if not program.pattern.some_dates:
        return None
    filled, months = card.judged.filled, visit.months
    ready = goes_on(plan, visit, filled, months, visit.date)
    since = ready.get(visit.date.month, visit.date)
    return next(first_dates(program, months, since), None)


def _percents_of(
    plan: SitePlan, card: Card, visit: Visit, program: Program
) -> dict[int, held.Percent]:
    """Percents of a program by month, as they are keyed in."""
    found = held.percents(plan, card, visit)
    return (
        found.get(program.name)
        or found.get("")
        or {month: held.Percent(p) for month, p in program.percent.items()}
    )


def _from(
    plan: SitePlan, card: Card, visit: Visit, program: Program
) -> dict[int, datetime.date]:
    """Zones of a program that are keyed in as steps of new plantings end, and when."""
    carried = {
        zone: one.until
        for one in held.held(plan, card)
        if one.name == program.name and any(map(one.holds, visit.months))
        for zone in program.zones
    }
    return {**carried, **held.waiting(plan, card, program, visit.date)}


def _hand_rows(plan: SitePlan, card: Card, visit: Visit) -> Iterator[dict[str, Any]]:
    """What is started by hand; the days of a filling are dates."""
    runs: list[Fill | Hand] = [*card.judged.filled, *card.by_hand]
    filled = [fill for fill in card.judged.filled if fill.month in visit.months]
    found, _ = fillings(plan, visit, filled, visit.months, visit.date)
    on = dates_of_fills(filled, found)
    for run in runs:
        if run.month not in visit.months:
            continue
        when: dict[str, Any]
        if isinstance(run, Fill):
            when = {"program": words.FILL_BY_HAND, "days": " ".join(map(str, on[run]))}
        else:
            days = " ".join(weekday_names(run.weekdays))
            dates = dates_by_hand([run], visit.months, visit.date)
            when = {"program": words.BY_HAND, "days": days,
                    "every_days": run.every_days,
                    "first_date": dates[0] if dates else ""}  # fmt: skip
        yield {
            **when,
            **_zone_cells(plan, run.zone),
            "base_minutes": run.cycles * run.cycle_min,
            "cycle_minutes": run.cycle_min if run.cycles > 1 else "",
            "soak_minutes": run.soak_min if run.cycles > 1 else "",
            _PERCENTS[run.month - 1]: 100.0,
        }


def _zone_cells(plan: SitePlan, row: int) -> dict[str, Any]:
    zones = plan.site.zones
    return {
        "station": int(zones.station[row]),
        "zone": zones.zone[row],
        "name": zones.name[row],
    }


def to_data(plan: SitePlan, card: Card) -> dict[str, Any]:
    """The card for programs."""
    judged, zones = card.judged, plan.site.zones.zone
    shallow = judged.shallowest
    return {
        "visits": [
            {
                "months": list(visit.months),
                "date": visit.date.isoformat(),
                "programs": [
                    _program_data(plan, card, visit, p) for p in visit.programs
                ],
            }
            for visit in card.visits
        ],
        "by_hand": [
            {
                "zone": zones[hand.zone],
                "month": hand.month,
                "days": list(weekday_names(hand.weekdays)),
                "every_days": hand.every_days,
                "cycles": hand.cycles,
                "cycle_minutes": hand.cycle_min,
                "soak_minutes": hand.soak_min,
            }
            for hand in card.by_hand
        ],
        "fills": [
            {
                "zone": zones[fill.zone],
                "month": fill.month,
                "minutes": fill.cycles * fill.cycle_min,
                "days": fill.days,
                "cycles": fill.cycles,
                "cycle_minutes": fill.cycle_min,
                "soak_minutes": fill.soak_min,
            }
            for fill in judged.filled
        ],
        "water_l_year": float(judged.water_l.sum()),
        "table_water_l_year": float(judged.table_l.sum()),
        "extra_water_percent": judged.extra_water_percent,
        "gap_percent": card.gap_percent,
        "dry_days_percent": judged.dry_days_percent(),
        "table_dry_days_percent": judged.dry_days_percent(of_table=True),
        "shallowest": None
        if shallow is None
        else {"zone": zones[shallow[0]], "month": shallow[1], "share": shallow[2]},
        "shortest_run_minutes": judged.shortest_run_min,
        "broken": [
            {
                "limit": one.what,
                "zone": zones[one.zone],
                "month": one.month,
                "value": one.value,
                "bound": one.limit,
            }
            for one in judged.broken
        ],
        "zones": [_zone_data(card, row, zone) for row, zone in enumerate(zones)],
        **plantings.to_data(plan, card),
    }


def _zone_data(card: Card, row: int, zone: str) -> dict[str, Any]:
    """A zone's months beside the table's; a dry share of frost is null."""
    judged = card.judged
    return {
        "zone": zone,
        "months": [
            {
                "month": month + 1,
                "minutes_per_day": float(judged.minutes[row, month]),
                "table_minutes_per_day": float(judged.table_minutes[row, month]),
                "applied_mm_day": float(judged.depth_mm[row, month]),
                "table_applied_mm_day": float(judged.table_mm[row, month]),
                "dry_days_percent": _percent(judged.dry[row, month]),
                "table_dry_days_percent": _percent(judged.table_dry[row, month]),
                "volume_l": float(judged.water_l[row, month]),
            }
            for month in range(12)
        ],
    }


def _percent(share: float) -> float | None:
    return None if np.isnan(share) else float(100 * share)


def _program_data(
    plan: SitePlan, card: Card, visit: Visit, program: Program
) -> dict[str, Any]:
    """A program as it is keyed in; what waits for steps to end says from when on."""
    pattern, first = program.pattern, program.first_date
    percents = _percents_of(plan, card, visit, program)
    then = {str(month): p.then for month, p in percents.items() if p.until}
    return {
        "program": program.name,
        "days": list(weekday_names(pattern.weekdays)),
        "parity": PARITIES[pattern.parity] or None,
        "every_days": pattern.every_days or None,
        "first_date": first.isoformat() if first else None,
        "starts": [clock_text(start) for start in program.starts_min],
        "zones": list(_zones_data(plan, card, visit, program)),
        "month_percent": {str(month): p.percent for month, p in percents.items()},
        **({"then_percent": then} if then else {}),
    }


def _zones_data(
    plan: SitePlan, card: Card, visit: Visit, program: Program
) -> Iterator[dict[str, Any]]:
    """Zones in the order they run; cycle and soak where the controller splits runs."""
    begins = _from(plan, card, visit, program)
    for row, base, cycle, soak in zip(
        program.zones, program.base_min, program.cycle_min, program.soak_min,
        strict=True,
    ):  # fmt: skip
        zone = {"zone": plan.site.zones.zone[row], "base_minutes": base}
        if plan.site.controller.soak_built_in:
            zone |= {"cycle_minutes": cycle or None, "soak_minutes": soak or None}
        if row in begins:
            zone["from"] = begins[row].isoformat()
        yield zone
