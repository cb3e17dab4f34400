"""What was taken for granted, and what was read but left out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from scheduler.cautions import Caution
from scheduler.inputs.site import Assumed
from scheduler.report.counting import listed, named, plural, verb
from scheduler.report.shown import date_text, quantity, value_text
from scheduler.report.words.climate import assumption_sentence

_MOST_ROWS = 12
"""Rows of a sheet that are told one by one."""


def assumed_text(assumed: Assumed, units: str) -> str:
    """What was assumed, and for which zones."""
    text = _value(assumed, units)
    return f"{text} ({named('zone', assumed.zones)})" if assumed.zones else text


def _value(assumed: Assumed, units: str) -> str:
    field = assumed.field
    name = field.name
    for ending, unit in (("_percent", " %"), ("_min", " min")):
        if name.endswith(ending) and assumed.value is not None:
            words = name.removesuffix(ending).replace("_", " ")
            return f"{words} {value_text(assumed.value)}{unit}"
    name = name.removesuffix("_days").replace("_", " ")
    if assumed.value is None:
        return f"{name} {field.otherwise}"
    if field.dimension:
        return f"{name} {quantity(assumed.value, field.dimension, units)}"
    return f"{name} {value_text(assumed.value)}"


def assumptions(cautions: Sequence[Caution], zones: int, units: str) -> list[str]:
    """What was assumed, a line for each set of zones; `zones` is how many there are."""
    told: list[str] = []
    rest: list[str] = []
    alike: dict[str, list[str]] = {}
    by_zones: dict[tuple[str, ...], list[str]] = {}
    for caution in cautions:
        if caution.code not in SENTENCES:
            continue
        if "assumed" in caution.values:
            assumed = caution.values["assumed"]
            by_zones.setdefault(assumed.zones, []).append(_value(assumed, units))
            continue
        text = SENTENCES[caution.code](caution.values, units)
        if caution.zone is not None:
            alike.setdefault(text, []).append(caution.zone)
            continue
        (told if caution.code == "value-assumed" else rest).append(text)

    def place(which: Sequence[str]) -> str:
        if not which:
            return "site"
        return "all zones" if len(which) == zones > 1 else named("zone", which)

    # Several windows may have left the same blank.
    lines = [
        f"{place(which)}: {', '.join(dict.fromkeys(texts))}"
        for which, texts in by_zones.items()
    ]
    lines += [f"{place(which)}: {text}" for text, which in alike.items()]
    return told + lines + rest


def _assumed(values: Mapping[str, Any], units: str) -> str:
    if "climate" in values:
        return assumption_sentence(values["climate"])
    return assumed_text(values["assumed"], units)


def _uniformity(values: Mapping[str, Any], units: str) -> str:
    """What a usual uniformity is, and the minutes of a plan anew by what was found."""
    minutes = ""
    if "minutes" in values:
        now, then = (f"{values[n]:.0f}" for n in ("minutes", "minutes_measured"))
        come_to = "stay" if now == then else f"come to {then}"
        minutes = f", and planned by that the busiest week's {now} minutes {come_to}"
    return (
        f"{named('zone', values['zones'])}: uniformity {values['uniformity']:.2f} for "
        f"{values['head_kind']} heads holds for new, good work; audited homes measured "
        f"{values['measured_uniformity']:.2f}{minutes}: a catch-can test tells which, "
        "and `doubt` whether that is worth the drive"
    )


def _salt_washed(values: Mapping[str, Any], units: str) -> str:
    """What washes the salt of the water below the roots."""
    share = 100 * values["share"]
    if values["by"] == "water":
        more = 100 * values["share"] / (1 - values["share"])
        return (
            f"salt: {more:.0f} % more water is laid down, so that {share:.0f} % of it "
            "washes below the roots"
        )
    if values["by"] == "sprinklers":
        return (
            f"salt: {share:.0f} % of the water has to wash below the roots; under 10 % "
            "the unevenness of sprinklers does it, so none is added"
        )
    return "salt: rain that passes through the roots washes it down, so none is added"


def _grown_in(values: Mapping[str, Any], units: str) -> str:
    return (
        f"planted {date_text(values['planted'])}, grown in by now: planted and stage "
        "can be left blank"
    )


def _not_used_by_days(values: Mapping[str, Any], units: str) -> str:
    return (
        "read and checked, but a plan by days plays the rain of every day instead: "
        f"{_places(values['names'])}"
    )


def _key_replaced(values: Mapping[str, Any], units: str) -> str:
    return (
        f"read, but no longer used: {_places([values['name']])}; a card is judged by "
        f"the days on which plants go short: {values['by']}"
    )


def _places(names: Sequence[str]) -> str:
    """Keys by the file and table that they are in."""
    places: dict[str, list[str]] = {}
    for name in names:
        file, _, dotted = name.partition(": ")
        table, _, key = dotted.rpartition(".")
        table = table.partition("[")[0]
        place = f"{file} [{table}]" if table else file
        if key and key not in places.setdefault(place, []):
            places[place].append(key)
        places.setdefault(place, [])
    texts = [f"{place} {', '.join(keys)}".rstrip() for place, keys in places.items()]
    return "; ".join(texts)


def _hidden(values: Mapping[str, Any], units: str) -> str:
    rows = values["rows"]
    told = named("row", [*map(str, rows[:_MOST_ROWS])])
    more = f" and {len(rows) - _MOST_ROWS} more" if len(rows) > _MOST_ROWS else ""
    return (
        f'sheet "{values["sheet"]}" of {values["workbook"]}: {told}{more} '
        f"{verb(len(rows), 'are')} hidden in the spreadsheet, and read all the same"
    )


def _not_read(values: Mapping[str, Any], units: str) -> str:
    sheets = values["sheets"]
    names = listed([f'"{name}"' for name in sheets])
    which = plural(len(sheets), "sheet")
    return f"{which} {names} of {values['workbook']}: not read"


SENTENCES: Mapping[str, Callable[[Mapping[str, Any], str], str]] = {
    "value-assumed": _assumed,
    "salt-washed": _salt_washed,
    "uniformity-assumed": _uniformity,
    "key-replaced": _key_replaced,
    "grown-in": _grown_in,
    "not-used-by-days": _not_used_by_days,
    "rows-hidden": _hidden,
    "sheets-not-read": _not_read,
}
