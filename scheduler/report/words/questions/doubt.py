"""What `doubt` says, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.findings.doubt import Doubted, Doubts, Measurement
from scheduler.report import shown
from scheduler.report.counting import counted, listed, named, named_of
from scheduler.report.frames import Headings

ALL_ZONES = "all"
NAMES = {
    "available_water": "available water",
    "root_depth": "root depth",
    "depletion": "allowed depletion",
    "uniformity": "uniformity",
    "flow": "flow",
    "pressure": "pressure",
    "area": "area",
    "coefficient": "plant coefficient",
    "intake": "intake rate",
    "et0": "ET0",
    "rain": "rain",
}
_DIMENSIONS = {
    "available_water": "storage",
    "root_depth": "depth",
    "flow": "flow",
    "pressure": "pressure",
    "area": "area",
    "intake": "rate",
}
MEASURES = {
    "probe": "soil probe",
    "cans": "catch cans",
    "meter": "water meter",
    "gauge": "pressure gauge",
    "tape": "tape measure",
    "runoff": "run until water stands",
    "season": "watch a season",
    "climate": "a nearer weather file",
}
TYPED = {
    "probe": "Soil probe: type the depth of the roots into root_depth_in or "
    "root_depth_mm of zones.csv, the soil by feel into its soil.",
    "runoff": "Minutes until water stands: below the plan's, less goes in. A soil of "
    "soils.csv of your own, named in soil of zones.csv, takes an intake_in_h or "
    "intake_mm_h: change it until field prints the minutes that you read.",
}
"""Where a reading is typed that meter.csv and cans.csv do not take."""
_WRONG_NOZZLES = {"unmatched-heads"}
_OF_NOZZLES = {"meter", "gauge", "cans"}
"""Measurements that new nozzles make void."""
SOURCES = {
    "uc": "range of the soil's class (University of California)",
    "practice": "common practice",
    "memory": "a station some miles off (a rule of thumb)",
    "fao": "FAO-56, by a fifth (a rule of thumb)",
    "audits": "audits of homes, and heads in good order",
    "wucols": "width of a class of plants (UC-WUCOLS)",
    "asce": "half and double; reports differ tenfold (ASCE 1949)",
}
OF_ROWS = Headings(
    {
        "zone": "zone",
        "what": "what",
        "low": "low",
        "value": "plan",
        "high": "high",
        "water_low": "water\nif low",
        "water_high": "water\nif high",
        "minutes_low": "min a week\nif low",
        "minutes_high": "\nif high",
        "dry_low": "dry days of 100\nlow",
        "dry_high": "dry\nhigh",
        "measure": "settled by",
    }
)
OF_MEASURES = Headings(
    {
        "what": "measure",
        "zone": "zone",
        "takes": "minutes",
        "wrong": "hangs on it\na year",
        "dry": "dry days\nof 100, up to",
        "worth": "",
    }
)
ROWS = Headings(
    {
        "zone": "zone",
        "field": "field",
        "low": "low in SI",
        "value": "plan in SI",
        "high": "high in SI",
        "water_low_year": "water if low",
        "water_high_year": "water if high",
        "minutes_low_week": "minutes if low",
        "minutes_high_week": "minutes if high",
        "dry_low_percent": "dry if low",
        "dry_high_percent": "dry if high",
        "wrong_year": "hangs on it",
        "measure": "settled by",
        "source": "range",
    }
)
HANGS_SHEET = "It hangs on"
WHAT_IT_HANGS_ON, WHAT_TO_MEASURE = "What the answer hangs on", "What to measure"
WORTH, NOT_WORTH, NO_DRIVE = "worth the drive", "not worth it", "no drive"
BAR_AXIS = "water of a year if low and if high, % of the zone's"
PICTURE_NOTES = (
    "A bar goes from the water that would be right at one end of the range to that at "
    "the other; of flow and pressure, what would come out. Line: the table. Pale "
    "(orange): nothing that is measured on site settles it.",
)


def title(site: str) -> str:
    """Heading of the answer."""
    return f"What to doubt: {site}"


def facts() -> list[str]:
    """What is asked of each number."""
    return [
        "Each number that was assumed or could be wrong, at both ends of its range: "
        "the water that would be right then, and how often plants go short if the "
        "table is run all the same."
    ]


def value_text(field: str, value: float, units: str) -> str:
    """A value of a field with its unit; of the whole site as a percent."""
    if not math.isfinite(value):
        return ""
    if field in _DIMENSIONS:
        return shown.quantity(value, _DIMENSIONS[field], units)
    if field in ("et0", "rain"):
        return f"{100 * value:.0f} %"
    return f"{value:.2f}"


def takes(one: Measurement) -> str:
    """Minutes that it takes on site, "-" where it is no work there."""
    return str(one.takes_min) if one.takes_min else "-"


def verdict(one: Measurement) -> str:
    """Whether it is worth the drive."""
    if not one.takes_min:
        return NO_DRIVE
    return WORTH if one.worth else NOT_WORTH


def _wrong_nozzles(found: Doubts) -> set[str]:
    """Zones whose nozzles are to be changed."""
    cautions = found.plan.cautions
    return {c.zone for c in cautions if c.code in _WRONG_NOZZLES and c.zone}


def change_first(found: Doubts) -> list[str]:
    """That wrong nozzles are to be changed before anything is measured."""
    zones, wrong = found.plan.site.zones.zone, _wrong_nozzles(found)
    if not wrong:
        return []
    names = [zone for zone in zones if zone in wrong]
    return [
        f"First change the nozzles that check names in {named('zone', names)}: what "
        "meter, gauge and cans show before does not hold after."
    ]


def said(found: Doubts) -> list[str]:
    """What is worth the drive, what it takes in all, and what acts together."""
    zones = found.plan.site.zones.zone
    worth = [one for one in found.measurements if one.worth and one.takes_min]
    lines, wrong = change_first(found), _wrong_nozzles(found)
    late = [one for one in worth
            if one.what in _OF_NOZZLES and _zone(one.zone, zones) in wrong]  # fmt: skip
    now = [one for one in worth if one not in late]
    if now:
        lines.append(f"Worth the drive, {_drive(now, zones)}.")
    if late:
        lines.append(
            f"Worth it once the nozzles are changed, {_drive(late, zones)}: by then "
            "look again what doubt says."
        )
    if not worth:
        lines.append("Nothing here is worth a drive of its own.")
    for first, second, both in found.pairs():
        where = named_of("zone", [zones[row] for row in both], len(zones))
        lines.append(
            f"{_capital(NAMES[first])} and {NAMES[second]} act as one ({where}): both "
            "wrong the same way count twice, and one measured is half the answer."
        )
    return lines


def _drive(worth: Sequence[Measurement], zones: tuple[str, ...]) -> str:
    """What is measured where, and the minutes in all."""
    minutes = sum(one.takes_min for one in worth)
    by_what: dict[str, list[str]] = {}
    for one in worth:
        by_what.setdefault(one.what, []).append(_zone(one.zone, zones))
    told = [
        f"{MEASURES[what]} in {named_of('zone', rows, len(zones))}"
        for what, rows in by_what.items()
    ]
    return f"{counted(minutes, 'minute')} in all: {listed(told)}"


def first_measured(found: Doubts) -> list[str]:
    """Lines of the field sheet: what is worth measuring, and where it is typed."""
    lines = said(found)[: -len(found.pairs()) or None]
    worth = {one.what for one in found.measurements if one.worth and one.takes_min}
    return [*lines, *(TYPED[what] for what in TYPED if what in worth)]


def _zone(zone: int | None, zones: tuple[str, ...]) -> str:
    return ALL_ZONES if zone is None else zones[zone]


def zone_of(row: Doubted | Measurement, found: Doubts) -> str:
    """Zone of a row, or all of them."""
    return _zone(row.zone, found.plan.site.zones.zone)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def notes(found: Doubts) -> list[str]:
    """How it is reckoned, and where the ranges come from."""
    sources = dict.fromkeys((row.field, row.source) for row in found.rows)
    ranges: dict[str, list[str]] = {}
    for field, source in sources:
        ranges.setdefault(SOURCES[source], []).append(NAMES[field])
    told = [f"{_capital(listed(names))}: {source}." for source, names in ranges.items()]
    settled: dict[str, dict[str, None]] = {}
    for one in found.measurements:
        settled.setdefault(MEASURES[one.what], {}).update(
            dict.fromkeys(NAMES[field] for field in one.fields)
        )
    by_tool = "; ".join(f"{what}: {listed(list(of))}" for what, of in settled.items())
    return [
        f"What settles what: {by_tool}.",
        "The days of the table are kept and its minutes changed until plants go short "
        "as often as by the table, or nearly as seldom as minutes alone can do; one "
        "number is changed at a time.",
        "What hangs on a number is what the table would give too much or too little. "
        "Flow and pressure leave the water that would be right as it is, for fewer or "
        "more minutes give it, but change what the table's minutes lay down.",
        "Worth the drive is what a hundredth of the site's water hangs on, and also a "
        "tenth of the zone's water or ten dry days of a hundred more than by the table "
        "(of those shown, the table's own come off first). Minutes on "
        "site are common practice: cans 40 a zone, probe, meter and tape 10, gauge 5; "
        "a run goes on until water stands, as the field sheet has it.",
        *told,
    ]
