"""What a water budget says, in sentences."""

from __future__ import annotations

from decimal import Decimal
from pathlib import PurePath

import numpy as np

from scheduler.budget.cost import LITERS_PER_UNIT, rounded_to_cents
from scheduler.budget.goes import LOSSES, Goes, largest_losses
from scheduler.budget.savings import BesideToday, Budget, Saving, beside_today
from scheduler.budget.water import (
    DIFFERENCES,
    DRIP_EFFICIENCY,
    ORDINANCE_CONVERSION,
    OVERHEAD_EFFICIENCY,
    growing_in,
)
from scheduler.inputs.library import head_kinds
from scheduler.report import shown
from scheduler.report.counting import counted, listed, named, verb
from scheduler.report.frames import Headings
from scheduler.report.words.table import OVERVIEW

WATER_SHEET, BILLS_SHEET = "Zones by months", "Bills"
ZONES_SHEET, GOES_SHEET, SAVINGS_SHEET = "Zones", "Where water goes", "Savings"
"""Names of a workbook's sheets."""
OF_SITE = Headings(
    {
        "what": "",
        "months": "months",
        "volume": "water",
        "cost": "cost",
        "of_allowance": "of the\nallowance",
        "units": "units",
        "today": "today",
        "today_units": "today's units",
        "today_cost": "today's cost",
    }
)
OF_ZONES = Headings(
    {
        "zone": "zone",
        "area": "ground",
        "volume": "plan",
        "cost": "cost",
        "estimated_use": "estimated\nuse",
        "today": "today",
        "today_less_plan": "today\nless plan",
    }
)
OF_GOES = Headings(
    {
        "zone": "zone",
        "water": "water",
        "plants": "plants\ntook",
        "over-plan": "flow over\nplan",
        "runoff": "ran off",
        "uneven": "uneven\nheads",
        "wrong-days": "wrong\ndays",
        "rain": "rain came\non top",
        "too-long": "too long\na run",
    }
)
OF_SAVINGS = Headings(
    {"zone": "zone", "step": "step", "saves": "saves", "saves_cost": "saves"}
)
BY_MONTH = Headings({**OVERVIEW.labels, "year": "year"})
ROWS = Headings(
    {
        "zone": "zone",
        "station": "station",
        "name": "name",
        "month": "month",
        "volume": "volume",
        "cost": "cost",
        "today": "today",
    }
)
THE_YEAR, BY_ZONE = "The year", "By zone, a year"
DIFFERENCE = "From the estimated use to the plan"
ONE_STEP = "What one step would save"
GOES_TO = {"today": "Where today's water goes, a year",
           "table": "Where the plan's water goes, a year"}  # fmt: skip
_LOST = {
    "over-plan": "flows beyond what its heads would take, by the meter: a leak, or "
    "larger nozzles",
    "runoff": "runs off, for the ground does not take it in as fast",
    "uneven": "only makes up for heads that water unevenly",
    "wrong-days": "drains because it comes on the wrong days: on those of the plan the "
    "ground would hold it",
    "rain": "drains because rain came on top",
    "too-long": "drains because a run is longer than the roots have room for",
}
_TAKEN_OFF = {
    "over-plan": "what the meter shows beyond the heads' own flow",
    "runoff": "what runs off",
    "uneven": "of what drains, what the run-time multiplier adds for dry corners",
    "wrong-days": "what would not drain had each month's water come on the plan's days",
    "rain": "then what rain drives out",
    "too-long": "the rest is too long a run",
}
THIS_PLAN, TODAY = "this plan", "today"
AFTER_SHUT_OFF = "{}, after the rain shut-off"
LESS_THAN_TODAY = "today less plan"
ALLOWANCE, ESTIMATED_USE = "allowance", "estimated use"
ALL_ZONES, FIXED_CHARGES, YEAR = "all zones", "fixed charges", "year"
_CAUSES = dict(
    zip(
        DIFFERENCES,
        (
            "special area by what grows there, not by a factor of 1",
            "microclimate and density of the planting",
            "months off for frost",
            "rain",
            "uniformity of each zone in place of one efficiency",
            "water that carries salt below the roots",
            "months that rain and soil carry, or in which nothing may run",
            "more than the root zone can hold",
            "minutes in whole steps and cycles",
            "measured rates other than flow over area",
        ),
        strict=True,
    )
)
_CAUSES_BY_DAYS = {
    **_CAUSES,
    "rain": "rain, and what the ground holds of it",
    "months-off": "what drains to last through dry weeks, less dry days let pass",
    "rate": "filling where a season begins, and measured rates",
}
MOST_STEPS = 12
"""Steps that people are shown; programs get all of them."""


def title(site: str) -> str:
    """Heading of the budget."""
    return f"Water budget: {site}"


def by_zone_and_month(scale: str) -> str:
    """Heading of the volumes of zones and months, with their unit."""
    return f"Water by zone and month, {scale}"


def by_bill(budget: Budget) -> str:
    """Heading of the volumes of bills, or of months where there is no price."""
    return "By bill" if budget.bills else "By month"


def cause(code: str, by_days: bool) -> str:
    """What one step from the estimated use to the plan stands for."""
    return (_CAUSES_BY_DAYS if by_days else _CAUSES)[code]


def facts(budget: Budget, units: str) -> str:
    """Climate, ground, water and cost of the year."""
    plan, year = budget.plan, budget.year
    area, total = float(year.area_m2.sum()), float(year.volume_l.sum())
    digits = 1 if units == "us" else 0
    et0 = shown.quantity(year.et0_mm, "depth", units, digits)
    deep = shown.quantity(total / area, "depth", units, digits)
    text = (
        f"Climate {PurePath(plan.months.source).name}: ET0 of a year {et0}. "
        f"{counted(len(year.area_m2), 'zone')} on "
        f"{shown.quantity(area, 'area', units)} {verb(len(year.area_m2), 'take')} "
        f"{shown.quantity(total, 'volume', units)} a year, {deep} deep over that ground"
    )
    costs = budget.cost
    if costs is not None:
        text = f"{text}; it costs {_money(budget, costs)}"
    return f"{text}. {_AS_KEYED_IN}"


_AS_KEYED_IN = (
    "That is the watering table; card and sheet tell the water of what is keyed in, "
    "which comes near it."
)


def _money(budget: Budget, amount: Decimal) -> str:
    return shown.money(amount, budget.plan.site.water.currency)


def said(budget: Budget, units: str) -> list[str]:
    """Plan against allowance and against today, in words."""
    year, names = budget.year, budget.plan.site.names
    tiers = names.told_table("water.tiers", "[water] tiers in site.toml")
    total = float(year.volume_l.sum())
    lines = []
    if year.held_back_l is not None:
        held = shown.quantity(float(year.held_back_l.sum()), "volume", units)
        lines.append(
            f"The rain shut-off holds back {held} of the plan in a usual year; all "
            "figures here are before that."
        )
    lines += _growing_in(budget, units)
    if year.dry_days is not None:
        lines.append(_dry_days(budget))
    over = total - year.allowance_l
    if over > 0:
        lines.append(
            f"The plan is {shown.quantity(over, 'volume', units)} over the allowance."
        )
    else:
        lines.append(
            f"The plan is {shown.quantity(-over, 'volume', units)} under the allowance."
        )
    beside = beside_today(budget)
    if beside is not None:
        lines.append(_against_today(beside, budget, units))
    if year.not_run_today:
        lines.append(
            f"{names.told('current.csv')} has no row for "
            f"{named('zone', year.not_run_today)}: counted as not run today."
        )
    if budget.cost is None:
        lines.append(f"No cost is shown: {tiers} would give the water's price.")
    return lines


def _growing_in(budget: Budget, units: str) -> list[str]:
    """That new plantings count as grown in, and what they take till then."""
    found = growing_in(budget.plan)
    if not found:
        return []
    steps, table = (
        shown.quantity(sum(values), "volume", units)
        for values in ([one.steps_l for one in found], [one.table_l for one in found])
    )
    zones, count = named("zone", [one.zone for one in found]), len(found)
    first, last = min(one.first for one in found), max(one.last for one in found)
    return [
        f"{zones.capitalize()} {verb(count, 'are')} new, and all figures here are of "
        f"grown-in plants: from {shown.date_text(first)} to {shown.date_text(last)} "
        f"{'its' if count == 1 else 'their'} steps take {steps}, where grown-in plants "
        f"have {table}."
    ]


def _dry_days(budget: Budget) -> str:
    """Days on which plants go short, of the driest zone too."""
    year, zones = budget.year, budget.plan.site.zones
    mean = year.mean_dry_days
    assert year.dry_days is not None
    assert mean is not None
    driest = int(np.argmax(year.dry_days))
    place = _zone_name(zones.zone[driest], zones.name[driest])
    text = f"Plants go short on {counted(round(mean), 'day')} of a usual year"
    if len(zones) == 1 or round(float(year.dry_days[driest])) == round(mean):
        return f"{text}."
    return f"{text}, {place} on {round(float(year.dry_days[driest]))}."


def _against_today(beside: BesideToday, budget: Budget, units: str) -> str:
    begins = "It"
    if beside.shut_off:
        begins = "After what the rain shut-off holds back of each, it"
    word = "less" if beside.less_l >= 0 else "more"
    less = shown.quantity(abs(beside.less_l), "volume", units)
    text = f"{begins} takes {less} {word} than today"
    if beside.saves is None:
        return f"{text}."
    word = "less" if beside.saves >= 0 else "more"
    return f"{text}, and costs {_money(budget, abs(beside.saves))} {word}."


def steps(budget: Budget, units: str) -> list[str]:
    """Steps with what they save, the largest first."""
    lines = []
    for number, saving in enumerate(budget.savings[:MOST_STEPS], 1):
        saved = f"{shown.quantity(saving.saves_l, 'volume', units)} a year"
        if saving.saves_cost is not None:
            saved += f", {_money(budget, saving.saves_cost)}"
        lines.append(f"{number}. {saving_text(budget, saving)}: {saved}.")
    left = len(budget.savings) - MOST_STEPS
    if left > 0:
        lines.append(
            f"{left} more save less than these; --format xlsx or json has them all."
        )
    return lines


def _prices(budget: Budget, units: str) -> str:
    """What a unit costs, by the units of one bill."""
    water = budget.plan.site.water
    size = shown.quantity(float(LITERS_PER_UNIT[water.billing_unit]), "volume", units)
    steps = [
        f"{shown.price(price, water.currency)} "
        + (f"up to {float(limit):,g}" if limit.is_finite() else "above")
        for limit, price in water.tiers
    ]
    if len(steps) == 1:
        steps = [shown.price(water.tiers[0][1], water.currency)]
    return f"On one bill each {water.billing_unit} ({size}) costs {listed(steps)}."


def special_area(budget: Budget) -> list[str]:
    """Which zones the special area is laid on, where there is one."""
    special = np.flatnonzero(budget.year.special_area_m2 > 0).tolist()
    if not special:
        return []
    zones = named("zone", [budget.plan.site.zones.zone[row] for row in special])
    return [
        f"The special area is taken to be {zones}, where plants need the most water."
    ]


def notes(budget: Budget, units: str) -> list[str]:
    """How the figures are reckoned."""
    factor = budget.plan.site.water.allowance_factor
    lines = [
        f"Allowance: ET0 × [{factor:g} × ground + {1 - factor:.3g} × special area], by "
        "the model landscape ordinance; the factor is the local rule's. Units are "
        f"exact here; the ordinance rounds 0.6234 gal to {ORDINANCE_CONVERSION:g}.",
        "Estimated use: ET0 × plant factor / efficiency × ground, by the same "
        f"ordinance; efficiency {OVERHEAD_EFFICIENCY:g} overhead, "
        f"{DRIP_EFFICIENCY:g} drip and bubblers. Special area counts with a factor "
        f"of 1.",
        *special_area(budget),
    ]
    if budget.bills:
        lines.append(
            "Bills are for this water alone: where the house is on the same meter, its "
            "use fills the lower tiers, and the same water costs more. "
            f"{_prices(budget, units)} A fixed charge comes with every bill."
        )
    if budget.savings:
        lines.append(
            "Each step is planned by itself, with all else as it is: savings do not "
            "add up. A mend saves less than its fault wastes today: the plan leaves "
            "out some of that already, and no heads water quite evenly. Ask whether a "
            "plant suits the climate before you change it."
        )
    return lines


def saving_text(budget: Budget, saving: Saving) -> str:
    """One step in words, without what it saves."""
    values = saving.values
    if saving.code == "season":
        months = shown.months_text(values["months"])
        then = "plants then get a tenth less than they need"
        if "dry_then" in values:
            then = (
                f"plants then go short on {counted(round(values['dry_then']), 'day')} "
                f"of a year in place of {round(values['dry_now'])}"
            )
        return f"all zones: set 90 % of the plan's minutes in {months}; {then}"
    if saving.code == "days":
        return "all zones: water on any day of the week, if the local rule changes"
    if saving.code == "rain-shutoff":
        return "all zones: a rain shut-off, the table planned with it"
    zones = budget.plan.site.zones
    row = saving.zone if saving.zone is not None else 0
    place = _zone_name(zones.zone[row], zones.name[row])
    if saving.code == "plant":
        return f"{place}: {values['then']} in place of {values['now']}"
    if saving.code == "own-valve":
        return (
            f"{place}: a valve for each part, not one for {values['decides']} and all"
        )
    if saving.code == "part-heads":
        return f"{place}: heads of less water on {values['part']}, on the same valve"
    uniformity = f"uniformity from {values['now']:.2f} to {values['then']:.2f}"
    if saving.code == "matched-heads":
        return f"{place}: matched nozzles, {uniformity}"
    if head_kinds().drips[zones.head_kind[row]]:
        return f"{place}: {uniformity} (clean emitters and filter, right pressure)"
    return (
        f"{place}: {uniformity} (clean nozzles, straight heads, right pressure and "
        "spacing)"
    )


def _zone_name(zone: str, name: str) -> str:
    return f"zone {shown.zone_label(zone, name)}"


def goes(found: Goes, budget: Budget, units: str) -> list[str]:
    """The three largest losses, by zone, in plain words, and how they are counted."""
    zones = budget.plan.site.zones
    lines = []
    for loss, row in largest_losses(found):
        lost = float(found.lost_l[loss, row])
        share = 100 * lost / found.water_l[row]
        name = shown.zone_title(zones.zone[row], zones.name[row])
        lines.append(
            f"{name}: {share:.0f} % of its water, "
            f"{shown.quantity(lost, 'volume', units)}{_worth(found, budget, lost)}, "
            f"{_LOST[LOSSES[loss]]}."
        )
    ground = budget.plan.inputs.ground
    washed = np.unique(ground.valve[ground.leaching_requirement > 0]).tolist()
    if washed:
        lines.append(
            f"Some of what drains in {named('zone', [zones.zone[z] for z in washed])} "
            "washes salt below the roots, as the plan means it to."
        )
    return [
        *lines,
        "Played through the years of days, whose months begin on any weekday, so that "
        "sums differ a little from those above; taken off from left to right: "
        f"{'; '.join(_TAKEN_OFF[loss] for loss in found.known)}.",
    ]


def _worth(found: Goes, budget: Budget, volume_l: float) -> str:
    """What a volume costs at the year's mean price of water, in brackets."""
    bills = budget.today_bills if found.of == "today" else budget.bills
    whole = sum(bill.volume_l for bill in bills)
    if not whole:
        return ""
    charge = sum((bill.water_charge for bill in bills), Decimal(0))
    cost = rounded_to_cents(charge * Decimal(repr(volume_l / whole)))
    return f" ({shown.money(cost, budget.plan.site.water.currency)})"
