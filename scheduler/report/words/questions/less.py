"""What `less` says, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.less.less import Less, Rung, knee, mean_dry
from scheduler.budget.less.on_card import OnCard
from scheduler.calendar import ALL_WEEK
from scheduler.inputs.forms.columns import quoted
from scheduler.inputs.site import Window
from scheduler.plan.times.common_days import CommonDays
from scheduler.report import shown
from scheduler.report.counting import (
    counted,
    listed,
    named,
    named_of,
    of_hundred,
    verb,
)
from scheduler.report.frames import Headings

OF_ZONES = Headings(
    {
        "zone": "zone",
        "name": "name",
        "plant": "plant",
        "before": "water\nbefore",
        "after": "water\nafter",
        "less": "less",
        "dry_before": "dry days of 100\nbefore",
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
        "less_percent": "less, percent",
        "dry_days_percent_before": "dry days of 100 before",
        "dry_days_percent_after": "dry days of 100 after",
        "turned_off": "turned off",
    }
)
TOTALS = Headings(
    {
        "what": "year",
        "water": "water",
        "less": "less, percent",
        "cost": "cost",
        "dry": "dry days of 100",
    }
)
TOTALS_SHEET, MINUTES_SHEET = "Year", "Minutes a week"
OF_TOTALS = ("by the table", "with less")
ITS_TABLE = 'Below, "the table" and "the plan" are those settings.'
OTHER_DAYS = (
    "Other days, or drip left free as many rules leave it (head_kinds), are written as "
    "a stage in stages.toml."
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


_TRIFLE = 0.005
_WHOLE = 1e-6
LAST_YEAR = (
    "Percents are of the table. A rule mostly means what was used last year: with "
    "today's runs in current.csv this says how far the table is below that."
)


def title(found: Less) -> str:
    """Heading of the answer: where only days are fewer it may take more water."""
    what = "With other watering days" if found.ways is None else "With less water"
    return f"{what}: {found.before.site.name}"


def asked(
    percent: float | None,
    stage: str | None,
    days: tuple[int, int] | None,
    common: Sequence[CommonDays] = (),
    windows: Sequence[Window] = (),
) -> str:
    """What is asked for; `days` are the fewest and most of a week that a window has.

    `common` are the days that the whole site waters on, where it is to keep to some;
    `windows` are a stage's own.
    """
    what = [] if percent is None else [f"{percent:g} % less than by the table"]
    if days is not None and not windows:
        what.append(_days_asked(days[1]) + _on_days(common))
    if windows:
        what.append(
            "its windows in place of all of the site's, whatever those forbid: "
            + "; ".join(map(shown.window_text, windows))
        )
    told = " and ".join(what) or "nothing beside its name"
    return told if stage is None else f"{quoted(stage)}, {told}"


def _days_asked(most: int) -> str:
    if not most:
        return "no watering day at all"
    return f"at most {counted(most, 'watering day')} a week"


def _on_days(common: Sequence[CommonDays]) -> str:
    """Which days the whole site waters on, and who gets none of them."""
    if not common:
        return ""
    on = []
    for days in common:
        text = shown.days_text(days.weekdays, days.parity, 0)
        if not days.parity and days.weekdays != ALL_WEEK:
            text = listed(text.split())
        when = f" in {shown.months_text(list(days.months))}" if len(common) > 1 else ""
        on.append(f"{text}{when}")
    text = f", the same for the whole site, on {'; '.join(on)}"
    without = list(dict.fromkeys(kind for days in common for kind in days.without))
    if without:
        text += (
            f" (the windows have no such days in common: {listed(without)} "
            f"{verb(len(without), 'get')} none where that is so)"
        )
    return text


def asked_first(what: str, found: Less) -> str:
    """What is asked for and whether it is reached; "" where sums alone are."""
    if not what:
        return ""
    if found.target_l is None:
        return f"Asked: {what}."
    before, after = float(found.before_l.sum()), float(found.after_l.sum())
    saved = 1 - after / before if before else 0.0
    reached = "reached" if found.reached else "not reached"
    return f"Asked: {what}. It is {reached}: {_less(saved)}."


def on_card(what: str, card: OnCard, units: str, in_common: bool) -> list[str]:
    """What the card takes of the water asked for; `in_common` by days of the site."""
    now, then = (
        shown.quantity(litres, "volume", units)
        for litres in (card.table_l, card.water_l)
    )
    line = (
        f"Asked: {what}. This card, as it is keyed in, takes {_less(card.less)} "
        f"({then} a year in place of the table's {now})."
    )
    if in_common:
        line += f" {OTHER_DAYS}"
    own = shown.quantity(card.settings_l, "volume", units)
    if card.asked is None:
        return [f"{line} It is made from settings of the zones of {own}. {ITS_TABLE}"]
    made = f"{100 * card.given_up:.0f} % ({own})"
    line += f" It is made from settings of the zones that give up {made}"
    if abs(card.given_up - card.less) >= _TRIFLE:
        takes = "more" if card.given_up > card.less else "less"
        line += (
            f": this controller's programs cannot hold every one of them, and take "
            f"{takes}"
        )
    line += "."
    if not card.reached:
        line += " Of the cards tried for it none comes nearer."
    return [f"{line} {ITS_TABLE}"]


def command(site: str, given: Sequence[tuple[str, str]]) -> str:
    """What to run for the card."""
    words = ["scheduler card", _for_shell(site)]
    words += [f"{option} {_for_shell(value)}" for option, value in given]
    return " ".join(words)


def _for_shell(word: str) -> str:
    """A word as a shell takes it whole."""
    plain = all(letter.isalnum() or letter in "._-/\\:" for letter in word)
    return word if plain else f'"{word}"'


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


def volume_option(units: str) -> str:
    """The option for a volume in the reader's units."""
    return "--volume-gal" if units == "us" else "--volume-l"


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


def facts(found: Less, what: str, units: str) -> list[str]:
    """What is asked for, how much less it is, in water and money, and what is dry."""
    before, after = float(found.before_l.sum()), float(found.after_l.sum())
    saved = 1 - after / before if before else 0.0
    lines = [line for line in [asked_first(what, found)] if line]
    was, then_l = (shown.quantity(of, "volume", units) for of in (before, after))
    dry = [
        100 * mean_dry(found.before, of) for of in (found.dry_before, found.dry_after)
    ]
    counted_days = ~np.isnan(found.after.plan.dry_share)
    of_zone = (counted_days * found.after.inputs.periods.days).sum(axis=1)
    days = float(np.average(of_zone, weights=found.after.rates.area_m2))
    lines.append(
        f"By the settings of the zones {then_l} a year in place of {was}, "
        f"{_less(saved)}; plants go short on {of_hundred(dry[1] / 100)} "
        f"({dry[1] * days / 100:.0f} a year) in place of {dry[0]:.0f}."
    )
    water = found.before.site.water
    of_year = (found.before_l.sum(axis=0), found.after_l.sum(axis=0))
    now, then = (cost_of_year(volume, water) for volume in of_year)
    if now is not None and then is not None:
        lines.append(
            f"The year's water bills come to {shown.money(then, water.currency)} in "
            f"place of {shown.money(now, water.currency)}."
        )
    return lines


def beside_today(found: Less, percent: float | None, units: str) -> str:
    """The table and what was found beside today's use; `percent` is what is asked for.

    What the table takes is counted as today's use is, by weeks.
    """
    today_l, beside_l = found.today_l, found.today_beside_l
    if not today_l or not beside_l:
        return LAST_YEAR
    table = 1 - found.table_l / beside_l
    played = float(found.before_l.sum())
    after = 1 - found.table_l / beside_l * (float(found.after_l.sum()) / (played or 1))
    counts = "as budget counts: the table"
    if beside_l != today_l:
        counts = (
            "as budget counts. After what the rain shut-off holds back of each, the "
            "table"
        )
    line = (
        f"Today the controller runs {shown.quantity(today_l, 'volume', units)} a year, "
        f"{counts} alone is {_below(table)} it, these settings are {_below(after)} it."
    )
    if percent is None or not found.table_l:
        return line
    asks = 1 - beside_l * (1 - percent / 100) / found.table_l
    if asks <= 0:
        return f"{line} The table alone is {percent:g} % and more below today."
    return (
        f"{line} {percent:g} % less than today asks for --percent "
        f"{math.ceil(100 * asks - _WHOLE)}."
    )


def _below(share: float) -> str:
    return f"{abs(100 * share):.0f} % {'below' if share > -_TRIFLE else 'above'}"


def _less(share: float) -> str:
    """So much less, or more."""
    return f"{abs(100 * share):.0f} % {'less' if share > -_TRIFLE else 'more'}"


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
    for row, word in ((most, "hurt most"), (least, "hurt least")):
        if lost[most] <= 0 or len(waters) == 1:
            break
        name = shown.zone_title(zones.zone[row], zones.name[row])
        now, was = found.dry_after[row], found.dry_before[row]
        dry = f"dry on {of_hundred(now)} in place of {100 * was:.0f}"
        saved = 1 - after[row] / before[row]
        water = "as much" if abs(saved) < _TRIFLE else _less(saved)
        how = f": {water} water, " if saved > -_TRIFLE else (
            f", though it takes {water} water: ")  # fmt: skip
        lines.append(f"{name} is {word}{how}{dry}.")
    lines += salt_said(found)
    lines += _beyond_reach(found, units)
    if found.ways is not None and found.gap_percent >= 0.5:
        lines.append(
            "Of all settings that were played none does over "
            f"{found.gap_percent:.0f} % less harm than these."
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
            f"{off} {verb(len(names), 'get')} none at all, where that does least harm "
            "for the water it saves."
        )
    elif found.turned_off:
        lines.append(f"Watering is not permitted on any day in {off}.")
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
        f"on {of_hundred(at.dry_share)} there."
    )
    if off is None:
        return line
    line += (
        f" From {100 * off.saved:.0f} % on {counted(off.turned_off, 'zone')} or more "
        "get none"
    )
    running = [rung.dry_share for rung in rungs if not rung.turned_off]
    if running and off.dry_share < max(running):
        line += ", and what is left gives the others some again"
    return f"{line}."


def salt_said(found: Less) -> list[str]:
    """What giving up water does where some is laid down against salt."""
    zones = found.before.site.zones
    before, after = found.before_l.sum(axis=1), found.after_l.sum(axis=1)
    washed = {
        caution.zone
        for caution in found.before.cautions
        if caution.code == "salt-washed" and caution.values["by"] != "rain"
    }
    names = [
        zone
        for row, zone in enumerate(zones.zone)
        if zone in washed and after[row] < (1 - _TRIFLE) * before[row]
    ]
    if not names:
        return []
    return [
        f"{named('Zone', names)} {verb(len(names), 'give')} up water that washes salt "
        "down too: salt gathers about the roots. Have the soil's salt measured, and "
        "wash it down with deep waterings once water is permitted again."
    ]
