"""One day of one quarter of a zone's ground, in the terms of FAO-56."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduler.balance import day as lines
from scheduler.balance import unwetted
from scheduler.balance.unwetted import UnwettedDays
from scheduler.balance.years import Years
from scheduler.budget.parts import rate_of_part
from scheduler.calendar import DAYS_IN_YEAR, FULL_WEEKDAYS, Days
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.dates import read_played_date
from scheduler.lines import HOUSE_RULE, Line
from scheduler.plan.by_days import season_of
from scheduler.plan.inputs import of_valves
from scheduler.plan.season import Season
from scheduler.plan.site import SitePlan
from scheduler.report.asked import zone_row
from scheduler.report.views.workings.steps import Step, Working
from scheduler.report.words import workings as words
from scheduler.units import MIN_PER_H

QUARTERS = ("driest", "second", "third", "wettest")
"""Quarters of the ground by the water they get, least first."""


def years_played(years: Years) -> tuple[int, ...]:
    """Numbers of the years: those of the calendar, or 1 and on where invented."""
    return years.numbers or tuple(range(1, len(years) + 1))


def explain_day(
    plan: SitePlan,
    zone: str,
    month: int,
    date: str,
    quarter: str,
    units: str,
    part: int | None = None,
) -> list[Step]:
    """Steps of one day of a part of a zone, or else of the part that it runs for.

    Raises InputError for a date that was not played.
    """
    if plan.settings is None:
        raise InputError(
            [Problem(plan.site.names.place("site.toml"), None, "--date",
                     words.NO_DAYS_PLAYED,
                     words.BY_DAYS_KEY)]
        )  # fmt: skip
    row, place = zone_row(plan.site, zone), QUARTERS.index(quarter)
    year, day = read_played_date(date, month, years_played(plan.years))
    w = Working(units)
    w.section = words.NEED
    part = int(plan.decides[row, month - 1]) if part is None else part
    when = month - 1, year, day
    _need(w, plan, part, when)
    season = season_of(of_valves(plan.inputs, np.array([row])))
    own = int(part - plan.parts(row)[0])
    if plan.inputs.ground.wetted_share[part] < 1:
        w.section = words.UNWETTED
        _unwetted(w, plan, part, when, season.unwetted_days, own)
    w.section = words.WATER_ON_QUARTER
    _water(w, plan, part, (year, day), place)
    _ground(w, plan, part, when, season, (own, place))
    told = plan.site.names.of_source
    return [replace(step, source=told(step.source)) for step in w.steps]


def _source(plan: SitePlan) -> str:
    return words.weather(plan.months.source, plan.years.invented)


def _need(w: Working, plan: SitePlan, part: int, when: tuple[int, int, int]) -> None:
    month, year, day = when
    row = int(plan.inputs.ground.valve[part])
    w.given("et0_today", plan.years.et0_mm[year, day], _source(plan))
    coefficient = plan.inputs.ground.landscape_coefficient[part, month]
    w.given("landscape_coefficient", coefficient, words.AS_EXPLAINED)
    dormant = plan.inputs.dormant[row, month]
    w.line(lines.NEED_DORMANT if dormant else lines.NEED_TODAY)


def _water(
    w: Working, plan: SitePlan, part: int, when: tuple[int, int], quarter: int
) -> None:
    assert plan.settings is not None
    row = int(plan.inputs.ground.valve[part])
    weekday = Days.of_common_years(len(plan.years)).weekday.reshape(-1, DAYS_IN_YEAR)
    name = FULL_WEEKDAYS[int(weekday[when])].capitalize()
    w.given_text(words.WEEKDAY, name, words.YEARS_PLAYED)
    scheduled = float(plan.settings.scheduled_mm[row, *when])
    delivered = float(plan.settings.water_mm[row, *when])
    rate = float(plan.inputs.valve.rate_mm_h[row])
    if scheduled > delivered:
        w.given_text(*words.HELD_BACK, words.HELD_BACK_WHY)
    w.given("minutes_today", delivered / rate * MIN_PER_H, words.KEPT)
    w.given("rate", rate_of_part(plan, part), words.AS_EXPLAINED)
    w.line(lines.WATERED_MEAN)
    w.given("uniformity", plan.inputs.valve.uniformity[row], words.AS_TOLD)
    w.line(lines.DEPTH_OF_QUARTER[quarter])
    w.line(lines.WATERED)
    if plan.inputs.ground.wetted_share[part] < 1:
        w.line(unwetted.RAIN_ON_WETTED)
    else:
        w.given("rain_today", plan.years.rain_mm[when], _source(plan))


def _store(w: Working, plan: SitePlan, part: int, month: int) -> None:
    """The store of a part in a month, as it is given."""
    for name in ("total_available_water", "allowed_depletion"):
        values = getattr(plan.inputs.ground, f"{name}_mm")
        value = values[part, min(month, values.shape[1] - 1)]
        w.given(name, value, words.AS_EXPLAINED)


def _unwetted(
    w: Working,
    plan: SitePlan,
    part: int,
    when: tuple[int, int, int],
    days: UnwettedDays,
    own: int,
) -> None:
    """The ground that rain alone fills; `own` is the part's row in `days`."""
    month, year, day = when
    w.given("wetted_share", plan.inputs.ground.wetted_share[part], words.AS_EXPLAINED)
    w.line(unwetted.UNWETTED_SHARE)
    _store(w, plan, part, month)
    w.line(unwetted.TOTAL)
    w.line(unwetted.ALLOWED)
    w.given("rain_today", plan.years.rain_mm[year, day], _source(plan))
    w.given("unwetted_start", days.before_mm(day)[own, year], words.DAY_BEFORE)
    w.line(unwetted.REFILLED)
    w.line(unwetted.STRESS)
    w.line(unwetted.TAKEN, days.taken_mm[own, year, day])
    w.line(unwetted.NEED_WETTED)


def _ground(
    w: Working,
    plan: SitePlan,
    part: int,
    when: tuple[int, int, int],
    season: Season,
    place: tuple[int, int],
) -> None:
    """A quarter of the ground that is watered; `place` is part and quarter in it."""
    assert plan.settings is not None
    month, year, day = when
    own, quarter = place
    row = int(plan.inputs.ground.valve[part])
    one, settings, parts = np.array([row]), plan.settings, plan.parts(row)
    played = season.play(settings.water_mm[one], settings.start_mm[parts, 0])
    at = own, year, day, quarter
    before = (played.depletion_mm[own, year, day - 1, quarter] if day
              else played.start_mm[own, year, quarter])  # fmt: skip
    some = plan.inputs.ground.wetted_share[part] < 1
    w.section = words.WETTED_GROUND if some else words.GROUND

    def line(line: Line, value_mm: float | None = None) -> None:
        w.line(unwetted.of_wetted(line) if some else line, value_mm)

    if not some:
        _store(w, plan, part, month)
    w.given("start_depletion", before, words.DAY_BEFORE)
    line(lines.REFILLED)
    line(lines.DRAINED, played.drained_mm[at])
    line(lines.STRESS)
    line(lines.TAKEN, played.et_mm[at])
    line(lines.END, played.depletion_mm[at])
    line(lines.ASKED, played.asked_mm[at])
    line(lines.DRY_OVER)
    told = words.DRY if played.dry[at] else words.NOT_DRY
    w.given_text(words.QUARTER_IS, told, HOUSE_RULE)


def title(plan: SitePlan, zone: str, date: str, quarter: str) -> str:
    """Heading of a day's working."""
    zones, row = plan.site.zones, zone_row(plan.site, zone)
    return words.day_title(zones.zone[row], zones.name[row], date.strip(), quarter)
