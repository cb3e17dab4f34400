"""The watering table in words: its headings, its zones, and how it was planned."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.balance.years import Years
from scheduler.budget.rain_rules import held_back_l
from scheduler.findings.field import commissioned
from scheduler.findings.plants import plant_l_week
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Site
from scheduler.plan.site import SitePlan
from scheduler.plan.table import Off
from scheduler.report.counting import counted, named, verb
from scheduler.report.frames import Headings
from scheduler.report.shown import (
    MONTH_LABELS,
    minutes,
    months_text,
    number,
    quantity,
)
from scheduler.report.shown import zone_title as zone_heading
from scheduler.report.words.climate import method_words

OVERVIEW = Headings(
    {"zone": "zone", **{month.lower(): month for month in MONTH_LABELS}}
)
IN_A_YEAR = Headings(
    {
        "zone": "zone",
        "name": "name",
        "year": "year",
        **{month.lower(): month for month in MONTH_LABELS},
    }
)
ALL_ZONES, MIN = "all zones", "min"
MINUTES_SHEET, WATER_SHEET = "Minutes", "Water"
"""Names of a workbook's first sheets."""
_OF_ZONE = {
    "month": "",
    "et0": "ET0",
    "plant_need": "need",
    "effective_rain": "rain",
    "apply": "apply",
    "days": "watering days",
    "minutes_per_day": "min\na day",
    "cycles": "cycles\nx min",
    "soak_minutes": "soak\nmin",
    "minutes_per_week": "min\na week",
    "dry_days_percent": "dry\ndays\nof 100",
    "volume": "volume",
}
OF_ZONE = Headings(_OF_ZONE)
OF_ZONE_BY_DAYS = Headings({**_OF_ZONE, "effective_rain": "rain,\nsoil"})
"""By days it is all that the need has beside the water."""
_ROWS = {
    "zone": "zone",
    "station": "station",
    "name": "name",
    "month": "month",
    "et0": "ET0",
    "plant_need": "need",
    "effective_rain": "rain",
    "net_need": "net need",
    "gross_need": "to apply",
    "carried_in": "carried in",
    "gap_limit_days": "gap limit days",
    "days": "days",
    "parity": "parity",
    "every_days": "every days",
    "days_per_week": "days a week",
    "minutes_per_day": "min a day",
    "cycles": "cycles",
    "cycle_minutes": "cycle min",
    "soak_minutes": "soak min",
    "minutes_per_week": "min a week",
    "applied": "applied",
    "unmet": "unmet",
    "volume": "volume",
    "fill_minutes": "fill min",
    "fill_days": "fill days",
    "grown_in": "holds from",
}
ROWS = Headings(_ROWS)
ROWS_BY_DAYS = Headings({**_ROWS, "effective_rain": "rain, soil"})
MINUTES_A_WEEK = "Minutes a week"
INTERVALS_GO_ON = (
    "Waterings at an interval go on from the last one of the month before."
)
ALL_ZONES_HOURS = "all zones, hours"

_OFF_CHART = 0.05
"""Share by which a pressure is off the chart's before the table tells it."""
_PEAK_TOLD_OVER = 1.02
"""A peak rate is told where it is so many times the zone's."""
_OFF = {
    Off.FROST: "frost",
    Off.NOT_PERMITTED: "not permitted",
    Off.CARRIED: "soil carries",
    Off.NO_NEED: "rain suffices",
    Off.LIGHT: "need too small",
    Off.UNDER_STEP: "under a step",
}


_ENOUGH = "wet enough"
"""By days what the soil holds counts with the rain."""


def title(site: str) -> str:
    """Heading of the table."""
    return f"Watering table: {site}"


def facts(plan: SitePlan, units: str) -> str:
    """Climate, way of planning, and water of a year."""
    site, months = plan.site, plan.months
    total = quantity(float(plan.plan.volume_l.sum()), "volume", units)
    way = planned_by_days(plan.years) if plan.settings is not None else by_months(site)
    zones, held_l = len(site.zones), held_back_l(plan)
    held = ""
    if held_l is not None:
        back = quantity(float(held_l.sum()), "volume", units)
        held = f"; {back} of it the rain shut-off will hold back"
    return (
        f"Climate {months.source}; ET0: {method_words(months.method)}; {way}. "
        f"{counted(zones, 'zone')} {verb(zones, 'use')} {total} a year{held}."
    )


def off_chart(plan: SitePlan) -> list[str]:
    """Which zones run off their chart's pressure, and what that does to their flow."""
    share, rates = plan.points.chart_share, plan.rates
    own = np.array(rates.flow_source) == "sum of heads"
    own &= ~plan.site.zones.regulated
    rows = np.flatnonzero(own & (np.abs(share - 1) > _OFF_CHART)).tolist()
    if not rows:
        return []
    whose = "their charts'" if len(rows) > 1 else "its chart's"
    pressures, flows = share[rows], np.sqrt(share[rows])
    return [
        f"{named('Zone', [plan.site.zones.zone[row] for row in rows])} "
        f"{verb(len(rows), 'run')} at {_percents(pressures)} of "
        f"{whose} pressure, so at "
        f"{_percents(flows)} of the flow that is printed there."
    ]


def _percents(shares: np.ndarray) -> str:
    low, high = f"{100 * shares.min():.0f}", f"{100 * shares.max():.0f}"
    return f"{low} %" if low == high else f"{low} to {high} %"


def zone_title(plan: SitePlan, row: int) -> str:
    """Heading of a zone, with its station where that is another number."""
    zones = plan.site.zones
    title, station = zone_heading(zones.zone[row], zones.name[row]), zones.station[row]
    same = str(int(station)) == zones.zone[row]
    return title if same else f"{title} (station {int(station)})"


def zone_facts(plan: SitePlan, row: int, units: str) -> list[str]:
    """What grows in a zone, what waters it, and how evenly."""
    site, rates = plan.site, plan.rates
    zones = site.zones
    rate = quantity(float(rates.rate_mm_h[row]), "rate", units)
    if rates.peak_rate_mm_h[row] > _PEAK_TOLD_OVER * rates.rate_mm_h[row]:
        peak = quantity(float(rates.peak_rate_mm_h[row]), "rate", units)
        rate += f" (peak {peak})"
    metered = " metered" if commissioned(plan)[row] else ""
    longest = float(plan.plan.longest_cycle_min[row])
    return [
        *(_ground(plan, part, units) for part in plan.parts(row).tolist()),
        f"{HEAD_KINDS[zones.head_kind[row]]}: "
        f"{quantity(float(rates.flow_l_min[row]), 'flow', units)}{metered} over "
        f"{quantity(float(rates.area_m2[row]), 'area', units)}, {rate}",
        f"uniformity {rates.uniformity[row]:.2f}, run-time multiplier "
        f"{rates.run_time_multiplier[row]:.2f}; "
        f"longest cycle {minutes(longest)} min",
    ]


def _ground(plan: SitePlan, part: int, units: str) -> str:
    """What grows on a part of a zone, and in what."""
    rows, roots = plan.stands_on.rows, plan.stands_on.roots
    depth = quantity(float(roots.root_depth_mm[part]), "depth", units, 0)
    store = quantity(float(roots.allowed_depletion_mm[part]), "depth", units)
    told = (
        f"{plan.site.plants.names[rows.plant[part]]} on "
        f"{plan.site.soils.names[rows.soil[part]]}, "
        f"{rows.slope_percent[part]:g} % slope; roots {depth}, "
        f"{store} may be used between waterings"
    )
    name = plan.stands_on.name[part]
    if not name:
        return told
    share = 100 * plan.inputs.ground.share[part]
    factor = float(rows.microclimate_factor[part])
    shade = f", microclimate factor {factor:g}" * (factor != 1)
    return f"{name} ({share:.0f} % of the ground{shade}): {told}"


def off(why: Off, needs: bool = True, by_days: bool = False) -> str:
    """Why a zone does not run in a month, in a word or two; `needs`: plants drink."""
    if why == Off.NO_NEED and needs and by_days:
        return f"off: {_ENOUGH}"
    return f"off: {_OFF[why]}" if needs or why != Off.NO_NEED else "off: none wanted"


def planned_by_days(years: Years) -> str:
    """How many years of days the table was played through, and whose they are."""
    if not years.invented:
        span = f"{years.first} to {years.last}"
        return f"played through the days of {len(years)} years, {span}"
    wet = "days of rain" if years.rain_days_given else "7 mm a wet day"
    return f"played through {len(years)} years of days invented from it ({wet})"


def by_months(site: Site) -> str:
    """How rain is counted where the table is by months."""
    rain = {
        "tr21": "counted by SCS TR-21",
        "share": f"{100 * site.rain_rule.share:.0f} % counted",
        "none": "not counted",
    }[site.rain_rule.method]
    return f"rain: {rain}"


def per_plant(plan: SitePlan, row: int, units: str) -> Iterator[str]:
    """Water of a plant in a week of the months that run, where plants are counted."""
    week_l = plant_l_week(plan, row)
    runs = np.flatnonzero(week_l > 0).tolist()
    if runs:
        unit = DIMENSIONS["volume"].shown(units)
        told = ", ".join(
            f"{MONTH_LABELS[month]} {_in_short(unit.from_si(float(week_l[month])))}"
            for month in runs
        )
        yield f"A plant gets, {unit.symbol} a week: {told}."


def _in_short(value: float) -> str:
    """Number to three figures at most, without an exponent."""
    return number(value, 1 if value < 100 else 0)


def shared_valve(plan: SitePlan, row: int) -> Iterator[str]:
    """Which part of a zone its valve runs for, month by month."""
    if len(plan.parts(row)) == 1:
        return
    names, lead = plan.stands_on.name, int(plan.leads[row])
    runs = plan.plan.schedule.cycles[row] > 0
    told = f"The valve runs for {names[lead]}"
    for part in plan.parts(row).tolist():
        mine = np.flatnonzero(runs & (plan.decides[row] == part)) + 1
        if part != lead and mine.size:
            told += f", in {months_text(mine.tolist())} for {names[part]}"
    yield f"{told}; need and depth are of that ground, volumes of the whole zone."


def fillings(plan: SitePlan, zone: int) -> Iterator[str]:
    """What fills dry ground first, where a season begins with it."""
    fill, days = plan.plan.fill_min[zone], plan.plan.fill_days[zone]
    for month in np.flatnonzero(days).tolist():
        on = counted(int(days[month]), "permitted day")
        first = "the first permitted day" if days[month] == 1 else f"the first {on}"
        yield (
            f"{MONTH_LABELS[month]} begins with {minutes(float(fill[month]))} min on "
            f"{first}, to fill the ground; then as above."
        )
