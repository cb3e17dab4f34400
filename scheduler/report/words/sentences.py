"""Cautions in the reader's words and units, and what every report says at its end."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from scheduler.cautions import ONLY_TOLD as ONLY_TOLD
from scheduler.cautions import Caution, badness
from scheduler.report.counting import named
from scheduler.report.shown import months_text
from scheduler.report.words.cautions import (
    assumed,
    cans,
    ground,
    heads,
    nozzles,
    plantings,
    plants,
    readings,
    schedule,
    supply,
    unlikely,
)
from scheduler.report.words.cautions.assumed import assumptions as assumptions

CAUTIONS, ASSUMED = "Cautions", "Assumed"
WHAT_THAT_SAYS, HOW_RECKONED = "What that says", "How it is reckoned"
"""Headings that reports share."""

WATCH = (
    "A plan is a starting point: watch the zone run, and mend minutes by what you see.",
    "Local watering rules come first, whatever the table says.",
)

WORK_SAFELY = (
    "Before you touch pipes or wires: keep the backflow preventer working and to the",
    "local plumbing code; leave to licensed people what the law leaves to them, and",
    "mains wiring to an electrician; have utilities marked before you dig; drain or",
    "blow out lines before frost at low pressure; with recycled water keep its signs.",
)
_OF_FROST = "drain or blow out lines before frost at low pressure; "


def work_safely(can_freeze: bool = True) -> str:
    """Care at work in one line, without the frost of lines that cannot freeze."""
    told = " ".join(WORK_SAFELY)
    return told if can_freeze else told.replace(_OF_FROST, "")


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    **schedule.SENTENCES,
    **supply.SENTENCES,
    **heads.SENTENCES,
    **cans.SENTENCES,
    **readings.SENTENCES,
    **unlikely.SENTENCES,
    **nozzles.SENTENCES,
    **plants.SENTENCES,
    **plantings.SENTENCES,
    **ground.SENTENCES,
    **assumed.SENTENCES,
}
"""Sentence of each code, made of a caution's values and the reader's units."""


_AT_WORK = {
    *supply.SENTENCES,
    *heads.SENTENCES,
    *nozzles.SENTENCES,
    "frost-month",
    "frost-nights",
    "filter-needed",
    "recycled-signs",
}
"""Codes that send somebody to pipes, heads or the supply."""


def closing(
    cautions: Iterable[Caution], can_freeze: bool = True
) -> list[tuple[str, ...]]:
    """What a report ends with: WATCH, after care at work where cautions ask for it."""
    work = any(caution.code in _AT_WORK for caution in cautions)
    care = WORK_SAFELY if can_freeze else (work_safely(can_freeze),)
    return [care, WATCH] if work else [WATCH]


def sentence(caution: Caution, units: str) -> str:
    """One caution as a sentence, without its zone and month."""
    return SENTENCES[caution.code](caution.values, units)


def grouped(cautions: Iterable[Caution], units: str, coded: bool = True) -> list[str]:
    """Cautions for people: alike ones in one line, with their zones and months.

    An owner is not told their codes.
    """
    groups: dict[tuple[str, str], list[Caution]] = {}
    for caution in cautions:
        groups.setdefault((caution.code, caution.zone or ""), []).append(caution)
    merged: dict[tuple[str, str, str], list[str]] = {}
    for (code, zone), members in groups.items():
        months = [caution.month for caution in members if caution.month]
        values = max(members, key=badness).values
        if len(members) > 1:
            values = {**values, "worst_of_several": True}
        when = months_text(months) if months else ""
        text = SENTENCES[code](values, units)
        merged.setdefault((code, text, when), []).append(zone)
    lines = []
    for (code, text, when), zones in merged.items():
        known = [zone for zone in zones if zone]
        where = named("zone", known) if known else ""
        place = ", ".join(part for part in (where, when) if part)
        lines.append(": ".join(filter(None, (code * coded, place, text))))
    return lines


def as_data(items: Sequence[Caution], units: str) -> list[dict[str, Any]]:
    """Cautions for programs, with their text in the reader's units."""
    return [
        {
            "code": caution.code,
            "zone": caution.zone,
            "month": caution.month,
            "text": sentence(caution, units),
        }
        for caution in items
    ]
