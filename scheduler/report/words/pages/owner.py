"""What the owner's page says, in sentences; amounts of money come ready to be shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from scheduler.demand.frost import FrostSeason
from scheduler.report.counting import counted, listed, plural, verb
from scheduler.report.words.frost import DATES_MOVE, skip_nights, span
from scheduler.report.words.pages import spoken

PLAN, ALLOWANCE, OLD_SETTINGS = "This plan", "Allowance", "Old settings"
BEFORE = "Before, as planned"
ALL_ZONES = "all zones"
NO_PRICE = "No price of the water is known, so no cost is shown."
NO_ADDING_UP = "Each is planned by itself: savings do not add up."
MENDS = "The plan leaves out some of what the old settings lose; mends save the rest."
QUOTES = "What the work costs is not known here: ask, and set the saving against it."
OF_THE_TABLE = (
    "They are reckoned from the plan before water was given up: no plant goes short "
    "for them."
)
KEPT_DRIER = (
    " Less rain than that finds room in ground that is kept drier, and is no reason to "
    "switch off."
)
DEAREST = "Saved water is the dearest of the bill, so it counts for more money."
NO_WATER = "no water in any month"
NO_HOURS = "There are no permitted hours in which it could run."
NO_RAIN = "no rain is counted, and watering wets some spots less than others"
ENOUGH = "It runs in no month: rain and soil give what it needs."

OFF_FOR_FROST = "because pipes may freeze"
OFF_WITHOUT_HOURS = "because no hours are permitted"
OFF_FOR_FROST_OR_RAIN = "for frost, or as rain and soil give enough"
OFF_FOR_RAIN = "as rain and soil give enough"

IN_TURNS = (
    "Run in turns with a pause",
    "the ground takes water in more slowly than the sprinklers bring it",
)
HOT = "Hot places", "sun and heat from walls or paving make plants drink more"
SHADED = "Shade", "plants get by with less"
OFTEN, SELDOM = "Watered often", "Watered seldom"

_LOST = {
    "over-plan": ("pass", "the sprinklers' own flow: a leak, or larger nozzles"),
    "runoff": ("run", "off the ground"),
    "uneven": ("only make", "up for sprinklers that water unevenly"),
    "wrong-days": ("sink", "below the roots, for days are wrong"),
    "rain": ("drain", "away because rain came on top"),
    "too-long": ("sink", "below the roots, for runs are too long"),
}
"""How water is lost: verb, and how."""

DRY_DRIP = (
    "A dry plant among green ones: look whether its emitter is blocked or pulled off, "
    "and the filter clean. More minutes would only drown the rest."
)
"""In place of the first of WATCH_FOR where nothing but drip waters."""
WATCH_FOR = (
    "A dry spot in a green zone: look whether the nearest sprinkler is blocked, tilted "
    "or grown over. More minutes would only drown the rest.",
    "Water on paving or down the curb: tell whoever sets the controller, with zone and "
    "time. The turns are too long there.",
    "Mist, a gushing head, or wet ground though nothing ran: close the main "
    "shut-off and have it mended.",
)
SHUT_OFF_WORKS = (
    "A wet week: the rain shut-off stops the watering by itself. A zone that runs in "
    "the rain says that it is broken or switched off: have it mended."
)
HEAT = (
    "A heat wave: where leaves hang, or grass keeps footprints, in the morning too, "
    "start that program once by hand{}, while nothing else runs: on a day that it "
    "leaves out, else on one of its own; where a start has no room, one cycle of "
    "each dry station, or its run where the page in the door has no cycle. Look the "
    "next morning, and stop once plants stand."
)
IN_HOURS = " in permitted hours"
AFTER_OFF = (
    "After the controller was off: a program that waters every so many days may count "
    "anew on some controllers; try once whether this one does. If so, key in the next "
    "date of the page in the door again, each time."
)
SPRING = (
    "In spring: open the water slowly, run each zone for two minutes, and look for "
    "what winter broke."
)
NEW_PLANTS = "New plants need water more often in their first weeks: ask for it."


def away(percents: bool, by_hand: bool, rain: bool, frost: bool) -> str:
    """What to do when nobody is there, with what falls due in the meantime."""
    due = {
        "percents": percents,
        "starts by hand": by_hand,
        "off after rain": rain,
        "off for frost": frost,
    }
    what = [name for name, falls in due.items() if falls]
    does = f", and do what falls due: {listed(what)}" if what else ""
    return (
        "Away: leave the controller as it is, and have someone look at the plants once "
        f"a week{does}. Grass short of water dulls and keeps footprints; brown comes "
        "later."
    )


def year(volume_l: float, area_m2: float, units: str) -> str:
    """How much water a year takes, and how deep it would stand."""
    return (
        f"The zones get {spoken.quantity(volume_l, 'volume', units)} of water a "
        f"year: {spoken.quantity(volume_l / area_m2, 'depth', units)} deep "
        f"over their {spoken.quantity(area_m2, 'area', units)}."
    )


def cost(whole: str, fixed: str) -> str:
    """What the water costs; `fixed` is "" where nothing of it is a fixed charge."""
    whereof = f", {fixed} of it fixed charges" if fixed else ""
    return f"The water costs {whole}{whereof}, as if nothing else were on the bill."


def balance(need: float, rain: float | None, added: float, units: str) -> str:
    """What plants drink, what rain gives, and what is added, as depths are shown."""

    def told(number: float) -> str:
        return spoken.with_unit(number, "depth", units)

    text = f"While they run, the plants drink {told(need)}"
    if rain is None:
        lays = told(need + added)
        return f"{text}. The zones are set to get {lays}: {NO_RAIN}."
    text += f", and {told(rain)} of that come as rain that they can use"
    if added > 0:
        text += (
            f". The zones get the rest and {told(added)} more, because watering wets "
            "some spots less than others"
        )
    return f"{text}."


def rain_comes_off() -> str:
    """That a plan which counts no rain gets less than it says from a shut-off."""
    return (
        "The rain shut-off holds back what rain makes needless, so a usual year takes "
        "less than is told here; how much less is not reckoned in a plan by months."
    )


def drinks_and_gets(need: float, more: bool, units: str) -> str:
    """What plants drink, as depths are shown; `more`: no less is laid down."""
    text = (
        f"While they run, the plants can drink {spoken.with_unit(need, 'depth', units)}"
    )
    if not more:
        return f"{text}; rain and the soil bring the rest, and make up for losses."
    return (
        f"{text}; what is over makes up for spots that get less than others, and for "
        "rain that falls when it likes."
    )


def held_back(volume_l: float, units: str) -> str:
    """What the rain shut-off holds back of the plan."""
    held = spoken.quantity(volume_l, "volume", units)
    return f"In a usual year the rain shut-off saves {held} of that."


def goes_short(days: int) -> str:
    """Days of a usual year on which plants of a zone go short."""
    if not days:
        return "It hardly ever goes short."
    return f"Short on {counted(days, 'day')}."


def saved(volume_l: float, money: str, units: str) -> str:
    """What a step saves in a year; `money` is "" where no cost is known."""
    saves = spoken.quantity(volume_l, "volume", units)
    return f"{saves}{f' and {money}' if money else ''} a year"


def no_rain_shutoff(saves: str) -> str:
    """What to do in a wet week without a shut-off; `saves` what one would, or ""."""
    return (
        f"{_wet_week(saves)} Switch the controller off, and on again when the soil has "
        "dried a finger deep."
    )


def rain_rule(
    rain_mm: float, days_off: int, saves: str, units: str, until: str = ""
) -> str:
    """The rule for rain that a hand can follow; `saves` as in `no_rain_shutoff`.

    Up to the date `until`, if there is one, new plantings must not go dry.
    """
    rain = spoken.rain(rain_mm, units)
    if until:
        return (
            f"{_wet_week(saves)} After {rain} of rain in a day (rain gauge), "
            f"{spoken.but_new(days_off, until)}"
        )
    return (
        f"{_wet_week(saves)} After {rain} of rain in a day (rain gauge), switch the "
        f"controller off for {spoken.days_after_rain(days_off)}, then on again."
    )


def _wet_week(saves: str) -> str:
    would = f"; one would save {saves}" if saves else ""
    return f"A wet week: there is no rain shut-off{would}."


def thirstiest(month: int, volume_l: float, units: str) -> str:
    """Month 1 to 12 that takes the most water."""
    return (
        f"{spoken.MONTH_NAMES[month - 1]} takes the most, "
        f"{spoken.quantity(volume_l, 'volume', units)}."
    )


def nothing_runs(months: Sequence[int], ever: bool, why: str) -> str:
    """Months 1 to 12 in which nothing runs; `ever` is whether something does at all."""
    when = spoken.months(months) if ever else "any month"
    return f"Nothing runs in {when}, {why}."


def beside_allowance(over_l: float, units: str) -> str:
    """The plan against the allowance."""
    return (
        f"The plan is {spoken.quantity(abs(over_l), 'volume', units)} "
        f"{'over' if over_l > 0 else 'under'} the allowance: what a landscape rule "
        "grants ground of this size in this climate, where there is such a rule."
    )


def beside_today(
    less_l: float, money: str, saves: bool, units: str, shut_off: bool = False
) -> str:
    """The plan against the old settings; `money` is "" where no cost is known.

    `shut_off`: what the rain shut-off holds back is taken off both.
    """
    begins = (
        "After what the rain shut-off holds back of each, it"
        if shut_off
        else "The plan"
    )
    text = (
        f"{begins} takes {spoken.quantity(abs(less_l), 'volume', units)} "
        f"{'less' if less_l >= 0 else 'more'} than the old settings"
    )
    if money:
        text += f", and costs {money} {'less' if saves else 'more'} a year"
    return f"{text}."


def bills_rise(rise: Sequence[tuple[Sequence[int], str, str]]) -> str:
    """Bills that rise: their months (1 to 12), by the old settings and by the plan."""
    told = [f"{spoken.months(of)} from {now} to {then}" for of, now, then in rise]
    return (
        f"Not every bill falls: {listed(told)}, for it gives more then than they did."
    )


def goes(of_today: bool, lost: Sequence[tuple[str, float, str]]) -> str:
    """Where most water is lost: zone, share of its water, and how."""
    whose = "by the old settings" if of_today else "by this plan"
    where: dict[str, list[str]] = {}
    for name, part, how in lost:
        where.setdefault(how, []).append(f"in {name} {spoken.share(part)}")
    told = [
        f"{listed(parts)} {verb(len(parts), _LOST[how][0])} {_LOST[how][1]}"
        for how, parts in where.items()
    ]
    return f"Where water goes that plants do not get, {whose}: {'; '.join(told)}."


def saving(step: str, saves: str, others: Sequence[tuple[str, str]]) -> str:
    """A step with what it saves, and what its like saves in the next of other zones."""
    text = f"{step}: saves {saves}"
    if others:
        name, saved = others[0]
        text += f"; the like in {name} {saved}"
        if len(others) > 1:
            text += f", less in each of {len(others) - 1} more"
    return f"{text}."


def step(code: str, values: Mapping[str, Any], place: str, drips: bool) -> str:
    """A step that saves, by its code; `place` is the zone's name, which may drip."""
    if code == "season":
        when = spoken.months(values["months"])
        short = "which leaves plants a tenth short"
        if "dry_then" in values:
            more = round(values["dry_then"]) - round(values["dry_now"])
            short = f"with plants short on {counted(max(more, 0), 'more day')} a year"
        return f"A tenth less water in {when}, {short}"
    if code == "rain-shutoff":
        return "A rain shut-off, with the watering set to suit it"
    if code == "days":
        return "Watering on any day of the week, if the local rule changes"
    if code == "plant":
        then, now = map(spoken.plant, (values["then"], values["now"]))
        return f"{place}: {then} in place of {now}, if it suits the place"
    if code == "own-valve":
        return f"{place}: a valve of its own for the {values['part']}"
    if code == "part-heads":
        return f"{place}: sprinklers of less water on the {values['part']}"
    if code == "matched-heads":
        return f"{place}: nozzles that match, so that it is wetted evenly"
    if drips:
        return f"{place}: emitters and filter clean, pressure right"
    return f"{place}: nozzles clean, heads upright, pressure right"


def by_months(volumes_l: Mapping[int, float], units: str) -> str:
    """Water of the months 1 to 12 that run."""
    return ", ".join(
        f"{spoken.MONTH_NAMES[month - 1]} {spoken.quantity(volume, 'volume', units)}"
        for month, volume in volumes_l.items()
    )


def picture(year: str, today: str) -> str:
    """The year's water for those who do not see the picture; `today` may be ""."""
    old = f". {OLD_SETTINGS}: {today}" if today else ""
    return f"Water by month: {year}{old}."


def zone(plant: str, soil: str, area_m2: float, units: str) -> str:
    """What grows in a zone, on what, and how large it is."""
    told = spoken.plant(plant)
    area = spoken.quantity(area_m2, "area", units)
    return f"{told[:1].upper()}{told[1:]} on {soil}, {area}."


def each_plant(count: int, week_l: float, units: str) -> str:
    """What one plant gets in that week."""
    # A plant's cubic meters say nothing to anyone.
    liters = f"{week_l:,.0f} {plural(round(week_l), 'liter')}"
    water = liters if units == "metric" else spoken.quantity(week_l, "volume", units)
    if count == 1:
        return f"It then gets {water} a week."
    return f"Each of its {count} plants then gets {water} a week."


def shares_valve(decides: str, others: Sequence[str], share: float) -> str:
    """What parts of a zone share a valve, and the share of its water that is spent."""
    told = (
        f"One valve waters {listed([decides, *others])}, and it has to run for the "
        f"{decides}"
    )
    if share < 0.005:
        return f"{told}."
    return f"{told}: {spoken.share(share)} of its water is more than the rest needs."


def drinks(month: int, need_mm_week: float, rain: float | None, units: str) -> str:
    """What plants drink in a week of a month (1 to 12), and the rain's share of it."""
    week = spoken.quantity(need_mm_week, "depth", units)
    told = f"In {spoken.MONTH_NAMES[month - 1]} it drinks {week} a week"
    return f"{told}." if rain is None else f"{told}; rain gives {rain_share(rain)}."


def rain_share(part: float) -> str:
    """Share of the need that rain gives."""
    return f"{spoken.share(part)} of it"


def uneven(share: str) -> tuple[str, str]:
    """Heading and text of zones that are wetted unevenly; share in words."""
    return (
        "Wetted unevenly",
        f"about {share} of the water is there only so that the driest spots get enough",
    )


def store(least_days: int, most_days: int) -> str:
    """For how long the soil holds water."""
    span = f"{least_days}"
    if least_days < most_days:
        span = f"{least_days} to {most_days}"
    return (
        f"at its thirstiest the soil at the roots holds water for {span} "
        f"{plural(most_days, 'day')}"
    )


def stations(numbers: Sequence[int]) -> str:
    """Stations in runs: `stations 1 to 7, 9 and 12`."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = []
    for run in runs:
        long = len(run) > 2
        told += [f"{run[0]} to {run[-1]}"] if long else [*map(str, run)]
    return f"stations {listed(told)}"


def frost(
    season: FrostSeason | None, lines_can_freeze: bool | None, waters: bool, units: str
) -> str:
    """What to do about frost; `waters`: something runs in months that have some."""
    if season is None or lines_can_freeze is False:
        told = skip_nights(False, units)
        return f"Frost: {told[:1].lower()}{told[1:]}"
    if lines_can_freeze is None and waters:
        return f"Frost: decide as it says at the top. {skip_nights(None, units)}"
    told = f"Frost: have lines that can freeze {span(season, units)}. {DATES_MOVE}"
    return f"{told} {skip_nights(True, units)}" if waters else told
