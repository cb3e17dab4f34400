"""What `less` says, in sentences."""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.less.less import Less, Rung, knee, mean_dry
from scheduler.report import shown
from scheduler.report.counting import counted, listed, named_of, verb
from scheduler.report.frames import Headings
from scheduler.report.words.replay import PLAYED_WATER

OF_ZONES = Headings(
    {
        "zone": "zone",
        "name": "name",
        "plant": "plant",
        "before": "water\nbefore",
        "after": "water\nafter",
        "less": "less",
        "dry_before": "dry of 100 days\nbefore",
        "dry_after": "\nafter",
        "keep": "kept",
    }
)
OF_CURVE = Headings(
    {
        "saved": "less",
        "water": "water\na year",
        "dry": "dry days\nof 100",
        "off": "zones\nturned off",
    }
)
ROWS = Headings(
    {
        "zone": "zone",
        "name": "name",
        "plant": "plant",
        "before_year": "water before",
        "after_year": "water after",
        "dry_days_percent_before": "dry days of 100 before",
        "dry_days_percent_after": "dry days of 100 after",
        "turned_off": "turned off",
    }
)
WHO_GIVES, THE_CURVE = "Who gives up what", "Water against dry days"
TO_KEY_IN = "Minutes a week, then"
BY_MONTHS = '"months" counts no dry days to weigh'
BY_DAYS = '"days", which also is what holds where the key is left out'
ONE_OF = (
    "one of --percent, --volume-gal, --volume-l, --volume-m3 and --cost, and with it "
    "or alone --days or --stage"
)
NOTHING_ASKED, TOO_MUCH_ASKED = "nothing is asked for", "too much is asked for at once"
PERCENTS = "0 to 100, the share of the table's water to give up"
NO_PRICE, PRICES = "are missing: there is no bill to bring down", "tiers of the bill"
DAYS = "0 to 7 watering days a week; 0 is rain alone"
TABLE, TARGET, KNEE = "the table", "asked for", "knee"
PICTURE_NOTES = (
    "Line: of all settings that were played the ones of least harm at each amount of "
    "water, all zones by their ground. Hollow: zones are turned off.",
)
WATER_AXIS, DRY_AXIS = "water of the table's, %", "dry days of a hundred"


def title(site: str) -> str:
    """Heading of the answer."""
    return f"With less water: {site}"


def no_percent(percent: float) -> str:
    """A percent that is none to give up."""
    if percent < 0:
        return f"{percent:g} % less would be more water"
    return f"{percent:g} % is more than there is"


def no_days(days: int) -> str:
    """Days that no week has."""
    return f"{days} is no number of days in a week"


def volume_over(volume_l: float, table_l: float, units: str) -> str:
    """A volume that needs nothing given up, or is none."""
    told = shown.quantity(volume_l, "volume", units)
    if volume_l < 0:
        return f"{told} is no water"
    return (
        f"{told} a year is over the {shown.quantity(table_l, 'volume', units)} that "
        "the table takes: nothing has to be given up"
    )


def volumes(table_l: float, units: str) -> str:
    """Volumes that may be asked for."""
    return f"0 to {shown.quantity(table_l, 'volume', units)}, of a year"


def cost_beyond(cost: float, currency: str) -> str:
    """A sum that the year's bills cannot come to, or come to as it is."""
    return (
        f"{shown.money(Decimal(repr(cost)), currency)} is none to bring bills down to"
    )


def costs(fixed: Decimal, now: Decimal, currency: str) -> str:
    """Sums that may be asked for."""
    return (
        f"{shown.money(fixed, currency)}, the year's fixed charges, to "
        f"{shown.money(now, currency)}, what the table's water costs"
    )


def facts(found: Less, units: str) -> list[str]:
    """How much less it is, in water and money, and what plants notice."""
    before, after = float(found.before_l.sum()), float(found.after_l.sum())
    saved = 1 - after / before if before else 0.0
    lines = [
        f"{shown.quantity(after, 'volume', units)} a year in place of "
        f"{shown.quantity(before, 'volume', units)}, {_less(saved)}; plants "
        f"go short on {100 * mean_dry(found.after, found.dry_after):.0f} days of a "
        f"hundred in place of {100 * mean_dry(found.before, found.dry_before):.0f}."
    ]
    water = found.before.site.water
    of_year = (found.before_l.sum(axis=0), found.after_l.sum(axis=0))
    now, then = (cost_of_year(volume, water) for volume in of_year)
    if now is not None and then is not None:
        lines.append(
            f"The year's water bills come to {shown.money(then, water.currency)} in "
            f"place of {shown.money(now, water.currency)}."
        )
    return lines


def _less(share: float) -> str:
    """So much less, or more."""
    return f"{abs(100 * share):.0f} % {'less' if share > -0.005 else 'more'}"


def less_or_more(share: float) -> str:
    """So much less, for a column of that name; more says so."""
    told = _less(share) if np.isfinite(share) else ""
    return told.removesuffix(" less")


def said(found: Less, units: str) -> list[str]:
    """Who gives up most and least, what could not be kept, and how near it is."""
    zones = found.before.site.zones
    before, after = found.before_l.sum(axis=1), found.after_l.sum(axis=1)
    waters = np.flatnonzero(before > 0)
    if not len(waters):
        return []
    lost = found.dry_after - found.dry_before
    lines = []
    most, least = (int(waters[np.argmax(lost[waters] * sign)]) for sign in (1, -1))
    for row, word in ((most, "hurt most"), (least, "hurt least"))[: len(waters)]:
        if lost[most] <= 0:
            break
        name = shown.zone_title(zones.zone[row], zones.name[row])
        lines.append(
            f"{name} is {word}: {_less(1 - after[row] / before[row])} water, dry on "
            f"{100 * found.dry_after[row]:.0f} days of a hundred in place of "
            f"{100 * found.dry_before[row]:.0f}."
        )
    lines += _beyond_reach(found, units)
    if found.ways is not None and found.gap_percent >= 0.5:
        lines.append(
            "No choice among the settings that were played does less harm than this "
            f"by more than {found.gap_percent:.0f} %."
        )
    return lines


def _beyond_reach(found: Less, units: str) -> list[str]:
    """What cannot be reached with all zones running, and what is left to the rain."""
    zones = found.before.site.zones
    lines = []
    names = [zones.zone[row] for row in found.turned_off]
    off = named_of("zone", names, len(zones))
    if found.turned_off and found.ways is not None:
        lines.append(
            f"With every zone running it cannot be less than "
            f"{shown.quantity(found.least_l, 'volume', units)} a year: a watering has "
            "to reach the roots, and plants wait at most twice their longest gap. So "
            f"{off} {verb(len(names), 'get')} none at all."
        )
    elif found.turned_off:
        lines.append(f"No day is permitted to {off}.")
    if found.turned_off:
        told = [
            f"{zones.zone[row]} on {100 * found.dry_after[row]:.0f}"
            for row in found.turned_off
        ]
        lines.append(
            "On rain alone plants go short, by zone: "
            f"{listed(told)} days of a hundred. Grass turns brown and may come back; "
            "water young trees by hand."
        )
    if not found.reached:
        lines.append("That is the least there is: what was asked for is not reached.")
    return lines


def curve_said(rungs: tuple[Rung, ...]) -> str:
    """Where giving up more begins to hurt."""
    at = knee(rungs)
    off = next((rung for rung in rungs if rung.turned_off), None)
    line = (
        f"Up to about {100 * at.saved:.0f} % less much is saved for little harm: dry "
        f"on {100 * at.dry_share:.0f} days of a hundred there."
    )
    if off is None:
        return line
    return (
        f"{line} From {100 * off.saved:.0f} % on "
        f"{counted(off.turned_off, 'zone')} or more get none."
    )


def notes() -> list[str]:
    """How it is reckoned."""
    return [
        "Water is what the valves deliver in a mean of the years played, days that a "
        "rain shut-off holds back left out; dry days are those of the three wetter "
        "quarters of each zone.",
        PLAYED_WATER,
        "A dry day counts by its ground, by the share of its month that is dry, and "
        "by what the plant stands (tolerance of the table of plants: lawns by their "
        "trials with less water, trees before lawns, vegetables last); keep in "
        "zones.csv, first or last, goes before that.",
        "No zone gets more water in a month than the table gives it; a watering stays "
        "one that reaches the roots.",
        "What to key in: card with --less and the same percent. A controller cannot "
        "hold every setting: where its card takes more water, ask it for as much more.",
    ]
