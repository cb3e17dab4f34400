"""The field sheet: what each zone must show, with room to write what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.findings.field import FieldCheck, commissioned
from scheduler.inputs.forms.dimensions import DIMENSIONS, Unit
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Notes, Paragraph
from scheduler.report.frames import Column, Table
from scheduler.report.words import sentences
from scheduler.report.words.heads import field as words

_DIAL_OF_BILL = {"ccf": "ft3", "kgal": "gal", "m3": "m3"}
_DIGITS = {"gal": 1, "ft3": 2, "m3": 3, "l": 0}
_LONGEST_NAME = 14
_PAGE_NAME = 42


def dial_of(plan: SitePlan, units: str, asked: str | None = None) -> Unit:
    """Unit of the dial: as asked, as read before, as on the bill, or the reader's."""
    usual = DIMENSIONS["volume"].shown(units).suffix
    billed = _DIAL_OF_BILL.get(plan.site.water.billing_unit, usual)
    return DIMENSIONS["volume"].unit(asked or plan.site.metered.dial or billed)


def blocks(
    plan: SitePlan,
    check: FieldCheck,
    dial: Unit,
    units: str,
    on_page: bool = False,
    first: Sequence[str] = (),
) -> list[Block]:
    """How to read, what must be read, what to look for, and what to do with it.

    `first` are lines on what is worth measuring.
    A page has room for whole names, and cells to write in without a line in them.
    """
    kinds = [HEAD_KINDS[kind] for kind in np.unique(plan.site.zones.head_kind).tolist()]
    return [
        Heading(
            words.title(plan.site.name, check.minutes),
            1,
            [standing(plan), *first],
        ),
        Paragraph(words.how_to(check.minutes, dial.symbol), ""),
        Heading(words.METER, 3),
        _meter_table(plan, check, dial, units, on_page),
        Heading(words.CANS, 3),
        _can_table(plan, check, on_page),
        Notes([words.looks(kind) for kind in kinds], words.LOOK),
        Paragraph([words.FEED_BACK], ""),
        Paragraph(sentences.WORK_SAFELY),
        Paragraph(sentences.WATCH),
    ]


def standing(plan: SitePlan) -> str:
    """Whether the plan is computed or commissioned."""
    metered, tested = commissioned(plan).sum(), (plan.tests.cans > 0).sum()
    return words.standing(int(metered), int(tested), len(plan.site.zones))


def to_table(plan: SitePlan, check: FieldCheck, dial: Unit) -> Table:
    """A row a zone: what must be read, with its limits."""
    column = words.COLUMNS.column
    return Table(
        (
            *_named(plan, _PAGE_NAME),
            column("minutes", [check.minutes] * len(check.volume_l),
                   text=shown.minutes),
            column("flow", check.flow_l_min.tolist(), "flow"),
            *_volumes(check, dial),
            column("pressure", check.pressure_kpa.tolist(), "pressure"),
            column("least_pressure", check.least_pressure_kpa.tolist(), "pressure"),
            column("most_pressure", check.most_pressure_kpa.tolist(), "pressure"),
            *_cans(check),
            column("runoff_after_min", check.runoff_after_min.tolist(), text=_stands),
            column("state", _states(check)),
            column("look_for", [words.LOOKS[HEAD_KINDS[kind]]
                                for kind in plan.site.zones.head_kind]),
        )
    )  # fmt: skip


def to_data(check: FieldCheck, plan: SitePlan) -> dict[str, Any]:
    """What each zone must show, for programs."""
    zones = plan.site.zones
    stands = np.where(np.isinf(check.runoff_after_min), np.nan, check.runoff_after_min)
    return {
        "zones": [
            {
                "zone": zones.zone[row],
                "name": zones.name[row],
                "flow_l_min": check.flow_l_min[row],
                "minutes": check.minutes,
                "volume_l": check.volume_l[row],
                "volume_least_l": check.least_volume_l[row],
                "volume_most_l": check.most_volume_l[row],
                "can_mean_mm": check.can_mean_mm[row],
                "can_least_mm": check.can_least_mm[row],
                "can_most_mm": check.can_most_mm[row],
                "pressure_kpa": check.pressure_kpa[row],
                "pressure_least_kpa": check.least_pressure_kpa[row],
                "pressure_most_kpa": check.most_pressure_kpa[row],
                "runoff_after_min": stands[row],
                "look_for": words.LOOKS[HEAD_KINDS[zones.head_kind[row]]],
                "commissioned": check.commissioned[row],
                "tested": check.tested[row],
            }
            for row in range(len(zones))
        ]
    }


def _meter_table(
    plan: SitePlan, check: FieldCheck, dial: Unit, units: str, on_page: bool
) -> Table:
    column = words.COLUMNS.column
    low, high = (
        column("least_pressure", kpa.tolist(), "pressure").cells(units)
        for kpa in (check.least_pressure_kpa, check.most_pressure_kpa)
    )
    limits = [words.between(a, b) for a, b in zip(low, high, strict=True)]
    return Table(
        (
            *_named(plan, _PAGE_NAME if on_page else _LONGEST_NAME),
            *_volumes(check, dial),
            _blank(plan, "start", on_page),
            _blank(plan, "end", on_page),
            column("pressure", check.pressure_kpa.tolist(), "pressure"),
            column("pressure_limits", limits),
            _blank(plan, "pressure_read", on_page),
            column("state", _states(check)),
        )
    )


def _can_table(plan: SitePlan, check: FieldCheck, on_page: bool) -> Table:
    column = words.COLUMNS.column
    return Table(
        (
            *_named(plan, _PAGE_NAME if on_page else _LONGEST_NAME),
            *_cans(check),
            words.COLUMNS.column("caught", [
                _line(on_page) if has_cans else ""
                for has_cans in np.isfinite(check.can_mean_mm).tolist()
            ]),
            column("runoff_after_min", check.runoff_after_min.tolist(), text=_stands),
            _blank(plan, "seen", on_page),
        )
    )  # fmt: skip


def _named(plan: SitePlan, most: int) -> list[Column]:
    zones = plan.site.zones
    return [
        words.COLUMNS.column("zone", zones.zone),
        words.COLUMNS.column("name", [shown.cut(name, most) for name in zones.name]),
    ]


def _volumes(check: FieldCheck, dial: Unit) -> list[Column]:
    """What the dial must move, in its own unit, whatever else is shown."""

    def column(key: str, name: str, volume_l: np.ndarray) -> Column:
        told = [dial.from_si(volume) for volume in volume_l.tolist()]
        label = f"{words.COLUMNS.labels[key]}\n{dial.symbol}"
        return Column(f"{name}_{dial.suffix}", label, told, text=text, unit=dial.symbol)

    def text(volume: float) -> str:
        return shown.number(volume, _DIGITS[dial.suffix])

    return [
        column("volume", "volume", check.volume_l),
        column("least", "volume_least", check.least_volume_l),
        column("most", "volume_most", check.most_volume_l),
    ]


def _cans(check: FieldCheck) -> list[Column]:
    """What cans must catch."""
    column = words.COLUMNS.column
    return [
        column("can_mean", check.can_mean_mm.tolist(), "catch"),
        column("can_least", check.can_least_mm.tolist(), "catch"),
        column("can_most", check.can_most_mm.tolist(), "catch"),
    ]


def _blank(plan: SitePlan, name: str, on_page: bool) -> Column:
    return words.COLUMNS.column(name, [_line(on_page)] * len(plan.site.zones))


def _line(on_page: bool) -> str:
    """What fills a cell to write in."""
    return "" if on_page else words.BLANK


def _states(check: FieldCheck) -> Sequence[str]:
    pairs = zip(check.commissioned.tolist(), check.tested.tolist(), strict=True)
    return [words.STATES[pair] for pair in pairs]


def _stands(after_min: float) -> str:
    if np.isinf(after_min):
        return words.NEVER
    if after_min > words.LONG_MIN:
        return words.LONG
    return shown.number(after_min, 1 if after_min < 10 else 0)
