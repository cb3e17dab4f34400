"""The owner's page in plain words: what each zone needs through the year, and why."""

from __future__ import annotations

import calendar
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scheduler.budget.savings import Budget, Saving
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.plan.site import SitePlan
from scheduler.report.frames import off_reason
from scheduler.report.shown import listed, money
from scheduler.report.words import spoken

DAYS_A_WEEK = 7
STEPS_TOLD = 3

_DEAREST = " Saved water is the dearest of the bill, so it counts for more money."
_MOST_NAMED = 5
_UNEVEN_SHARE = 0.22
_SOON_DAYS, _LATE_DAYS = 3, 8
_HOT, _SHADED = 1.15, 0.85


@dataclass(frozen=True, slots=True)
class ZoneStory:
    """One zone for its owner.

    `month_shares` are its water by month over that of its thirstiest month, and
    `months_told` the same in words.
    """

    name: str
    station: int
    water: str
    cost: str
    month_shares: tuple[float, ...]
    months_told: str
    text: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why zones take as much water as they do, or run as they do."""

    heading: str
    zones: str
    text: str


def year_story(budget: Budget, units: str) -> list[str]:
    """The site's year in a few sentences: how much water, what it costs, and why."""
    year = budget.year
    total, area = float(year.volume_l.sum()), float(year.area_m2.sum())
    told = [
        f"The sprinklers give {spoken.quantity(total, 'volume', units)} of water a "
        f"year. That is {spoken.quantity(total / area, 'depth', units)} deep over the "
        f"{spoken.quantity(area, 'area', units)} that they water."
    ]
    if budget.cost is not None:
        fixed = sum((bill.fixed_charge for bill in budget.bills), Decimal(0))
        whereof = f", {_money(budget, fixed)} of it fixed charges" if fixed else ""
        told.append(f"The water costs {_money(budget, budget.cost)}{whereof}.")
    by_month = year.volume_l.sum(axis=0)
    off = np.flatnonzero(by_month == 0).tolist()
    if total > 0:
        told += [_balance(budget, units), _thirstiest(by_month, units)]
    if off:
        when = _months(off) if total > 0 else "any month"
        told.append(f"Nothing runs in {when}, {_why_off(budget.plan, off)}.")
    return told


def _balance(budget: Budget, units: str) -> str:
    """What plants drink, what rain gives, and what is added, while zones run.

    The parts are reckoned from one another as they are shown, so that they add up.
    """
    plan, area = budget.plan.plan, budget.year.area_m2
    runs = plan.volume_l > 0

    def deep(depth_mm: np.ndarray) -> float:
        over = (np.where(runs, depth_mm, 0.0).sum(axis=1) * area).sum()
        return spoken.rounded(float(over / area.sum()), "depth", units)

    def told(number: float) -> str:
        return spoken.counted(number, "depth", units)

    need, rain = deep(plan.plant_need_mm), deep(plan.effective_rain_mm)
    given = float(budget.year.volume_l.sum() / area.sum())
    added = spoken.rounded(given, "depth", units) - (need - rain)
    text = f"While they run, the plants drink {told(need)}"
    if budget.plan.site.rain_rule.method != "none":
        text += f", and {told(rain)} of that come as rain that they can use"
    if added > 0:
        text += (
            f". The sprinklers give the rest and {told(added)} more, because they wet "
            "some spots less than others"
        )
    return f"{text}."


def _thirstiest(by_month_l: np.ndarray, units: str) -> str:
    month = int(np.argmax(by_month_l))
    most = spoken.quantity(float(by_month_l[month]), "volume", units)
    return (
        f"{calendar.month_name[month + 1]} takes the most, {most}: sun, heat and dry "
        "air draw most out of plants then."
    )


def _months(rows: list[int]) -> str:
    return spoken.months([row + 1 for row in rows])


def _why_off(plan: SitePlan, months: list[int]) -> str:
    """Why no zone runs in months (0 to 11)."""
    zones = range(len(plan.site.zones))
    reasons = {off_reason(plan, row, month) for row in zones for month in months}
    if reasons == {"off: frost"}:
        return "because pipes may freeze"
    if "off: not permitted" in reasons:
        return "because no hours are permitted"
    if "off: frost" in reasons:
        return "for frost, or as rain and soil give enough"
    return "as rain and soil give enough"


def comparison_story(budget: Budget, units: str) -> list[str]:
    """The plan against the allowance and against today, in sentences."""
    year = budget.year
    total = float(year.volume_l.sum())
    told = []
    if year.allowance_l > 0:
        over = total - year.allowance_l
        told.append(
            f"The plan is {spoken.quantity(abs(over), 'volume', units)} "
            f"{'over' if over > 0 else 'under'} the allowance, which a landscape rule "
            "works out from the size of the ground and the climate alone. Whether it "
            "binds, the local rule says."
        )
    if year.today_l is not None:
        less = float(year.today_l.sum()) - total
        text = (
            f"It takes {spoken.quantity(abs(less), 'volume', units)} "
            f"{'less' if less >= 0 else 'more'} than the controller runs today"
        )
        if budget.cost is not None and budget.today_cost is not None:
            saved = budget.today_cost - budget.cost
            text += (
                f", and costs {_money(budget, abs(saved))} "
                f"{'less' if saved >= 0 else 'more'} a year"
            )
        told.append(f"{text}.")
    if budget.cost is None:
        told.append("No price of the water is known, so no cost is shown.")
    return told


def year_rows(budget: Budget, units: str) -> list[tuple[str, str, str, str]]:
    """Plan, allowance and today: water, cost, and share of the allowance."""
    year = budget.year
    rows: list[tuple[str, float, Decimal | None]] = [
        ("This plan", float(year.volume_l.sum()), budget.cost),
        ("Allowance", year.allowance_l, None),
    ]
    if year.today_l is not None:
        rows.append(("Today", float(year.today_l.sum()), budget.today_cost))
    return [
        (
            name,
            spoken.whole(volume, units),
            "" if cost is None else _money(budget, cost),
            f"{100 * volume / year.allowance_l:.0f} %" if year.allowance_l else "",
        )
        for name, volume, cost in rows
    ]


def savings_story(budget: Budget, units: str) -> list[str]:
    """The step of each kind that would save most, a sentence each."""
    told = []
    largest: dict[str, Saving] = {}
    for saving in budget.savings:
        largest.setdefault(saving.code, saving)
    for saving in list(largest.values())[:STEPS_TOLD]:
        text = (
            f"{_step(budget, saving)}: saves "
            f"{spoken.quantity(saving.saves_l, 'volume', units)}"
        )
        if saving.saves_cost is not None:
            text += f" and {_money(budget, saving.saves_cost)}"
        told.append(f"{text} a year.")
    if told:
        told.append(
            "Each is planned by itself: savings do not add up."
            + (_DEAREST if len(budget.plan.site.water.tiers) > 1 else "")
        )
    return told


def _step(budget: Budget, saving: Saving) -> str:
    if saving.code == "season":
        when = spoken.months(saving.values["months"])
        return f"A tenth less water in {when}, which leaves plants a tenth short"
    if saving.code == "days":
        return "Watering on any day of the week, if the local rule changes"
    zones = budget.plan.site.zones
    place = zones.name[saving.zone or 0]
    if saving.code == "plant":
        then, now = map(spoken.plant, (saving.values["then"], saving.values["now"]))
        return f"{place}: {then} in place of {now}, if it suits the place"
    if saving.code == "matched-heads":
        return f"{place}: nozzles that match, so that it is wetted evenly"
    return f"{place}: nozzles clean, heads upright, pressure right"


def zone_stories(budget: Budget, units: str) -> list[ZoneStory]:
    """Every zone: its water through the year, and what its plants drink."""
    zones = budget.plan.site.zones
    stories = []
    for row in range(len(zones)):
        volume = budget.year.volume_l[row]
        cost = ""
        if budget.charges:
            cost = _money(budget, sum(budget.charges[row], Decimal(0)))
        stories.append(
            ZoneStory(
                zones.name[row],
                int(zones.station[row]),
                spoken.quantity(float(volume.sum()), "volume", units),
                cost,
                tuple((volume / (volume.max() or 1.0)).tolist()),
                months_told(volume, units),
                f"{_what(budget.plan, row, units)} {_need(budget.plan, row, units)}",
            )
        )
    return stories


def months_told(volume_l: np.ndarray, units: str) -> str:
    """Water (12,) of the months that run, for those who do not see the bars."""
    running = np.flatnonzero(volume_l > 0).tolist()
    if not running:
        return "no water in any month"
    return ", ".join(
        f"{calendar.month_name[month + 1]} "
        f"{spoken.quantity(float(volume_l[month]), 'volume', units)}"
        for month in running
    )


def _what(plan: SitePlan, row: int, units: str) -> str:
    zones = plan.site.zones
    plant = spoken.plant(plan.site.plants.names[zones.plant[row]])
    soil = plan.site.soils.names[zones.soil[row]]
    area = spoken.quantity(float(plan.rates.area_m2[row]), "area", units)
    return f"{plant[:1].upper()}{plant[1:]} on {soil}, {area}."


def _need(plan: SitePlan, row: int, units: str) -> str:
    p, month = plan.plan, _busiest(plan, row)
    if month is None:
        reasons = {off_reason(plan, row, month) for month in range(12)}
        if "off: not permitted" in reasons:
            return "There are no permitted hours in which it could run."
        return "It runs in no month: rain and soil give what it needs."
    need = float(p.plant_need_mm[row, month])
    week = spoken.quantity(
        need / int(DAYS_IN_MONTH[month]) * DAYS_A_WEEK, "depth", units
    )
    told = f"In {calendar.month_name[month + 1]} its plants drink {week} a week"
    if plan.site.rain_rule.method == "none":
        return f"{told}."
    rain = spoken.share(float(p.effective_rain_mm[row, month]) / need)
    return f"{told}; rain gives {rain} of it."


def _busiest(plan: SitePlan, row: int) -> int | None:
    """Month (0 to 11) in which a zone takes the most water; None if it never runs."""
    volume = plan.plan.volume_l[row]
    return int(np.argmax(volume)) if volume.any() else None


def reasons(plan: SitePlan) -> list[Reason]:
    """What makes zones thirsty, or run often or in turns, and which zones."""
    busiest = [(row, _busiest(plan, row)) for row in range(len(plan.site.zones))]
    running = [(row, month) for row, month in busiest if month is not None]
    return [*_uneven(plan, running), *_in_turns(plan, running),
            *_sun_and_shade(plan, running), *_stores(plan, running)]  # fmt: skip


Running = Sequence[tuple[int, int]]
"""Rows of zones that run, each with its busiest month (0 to 11)."""


def _uneven(plan: SitePlan, running: Running) -> Iterator[Reason]:
    extra = 1 - 1 / plan.rates.run_time_multiplier
    by_share: dict[str, list[int]] = {}
    for row, _ in running:
        if extra[row] >= _UNEVEN_SHARE:
            by_share.setdefault(spoken.share(float(extra[row])), []).append(row)
    for share, rows in by_share.items():
        yield _reason(
            plan, "Wetted unevenly", rows,
            f"about {share} of the water is there only so that the driest spots get "
            "enough",
        )  # fmt: skip


def _in_turns(plan: SitePlan, running: Running) -> Iterator[Reason]:
    schedule = plan.plan.schedule
    rows = [
        row
        for row, month in running
        if schedule.cycles[row, month] > 1 and schedule.soak_min[row, month] > 0
    ]
    if rows:
        yield _reason(
            plan, "Run in turns with a pause", rows,
            "the ground takes water in more slowly than the sprinklers bring it",
        )  # fmt: skip


def _sun_and_shade(plan: SitePlan, running: Running) -> Iterator[Reason]:
    factor = plan.site.zones.microclimate_factor
    hot = [row for row, _ in running if factor[row] >= _HOT]
    if hot:
        yield _reason(
            plan, "Hot places", hot,
            "sun and heat from walls or paving make plants drink more",
        )  # fmt: skip
    shaded = [row for row, _ in running if factor[row] <= _SHADED]
    if shaded:
        yield _reason(plan, "Shade", shaded, "plants get by with less")


def _stores(plan: SitePlan, running: Running) -> Iterator[Reason]:
    """Zones whose soil is soon dry, and those whose soil holds water for long."""
    lasts = {}
    for row, month in running:
        a_day = float(plan.plan.plant_need_mm[row, month]) / int(DAYS_IN_MONTH[month])
        days = float(plan.roots.allowed_depletion_mm[row]) / a_day
        lasts[row] = max(round(days), 1)
    soon = [row for row, days in lasts.items() if days <= _SOON_DAYS]
    late = [row for row, days in lasts.items() if days >= _LATE_DAYS]
    for heading, rows in (("Watered often", soon), ("Watered seldom and long", late)):
        if rows:
            least, most = (f(lasts[row] for row in rows) for f in (min, max))
            span = f"{least} to {most}" if least < most else f"{most}"
            yield _reason(
                plan, heading, rows,
                f"at its thirstiest the soil at the roots holds water for {span} "
                f"day{'s' * (most > 1)}",
            )  # fmt: skip


def _reason(plan: SitePlan, heading: str, rows: Sequence[int], text: str) -> Reason:
    zones = plan.site.zones
    if len(rows) == len(zones):
        whose = "all zones"
    elif len(rows) > _MOST_NAMED:
        whose = f"stations {_runs(sorted(int(zones.station[row]) for row in rows))}"
    else:
        whose = listed([zones.name[row] for row in rows])
    return Reason(heading, whose, text)


def _runs(numbers: Sequence[int]) -> str:
    """Numbers in runs: `1 to 7, 9 and 12`."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [
        f"{run[0]} to {run[-1]}" if len(run) > 2 else listed([*map(str, run)])
        for run in runs
    ]
    return listed(told)


def watch_for(plan: SitePlan) -> list[str]:
    """What an owner can see, and what to do about it."""
    told = [
        "A dry spot in a green zone: look at the nearest sprinkler first. It may be "
        "blocked, tilted or grown over. More minutes would only drown the rest.",
        "Water on paving or down the curb: tell whoever sets the controller, with the "
        "zone and the time. The turns are too long there.",
        "Mist, a gushing head, or wet ground though nothing ran: close the main "
        "shut-off and have it mended.",
    ]
    if plan.site.controller.rain_shutoff_mm is None:
        told.append(
            "A wet week: there is no rain shut-off. Switch the controller off, and on "
            "again when the soil has dried a finger deep."
        )
    frost = np.flatnonzero(plan.months.frost).tolist()
    if frost:
        told.append(
            f"Frost ({_months(frost)}): have the lines drained before the first hard "
            "night."
        )
    told.append("New plants need water more often in their first weeks: ask for it.")
    return told


def _money(budget: Budget, amount: Decimal) -> str:
    return money(amount, budget.plan.site.water.currency)
