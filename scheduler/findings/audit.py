"""What an auditor would tell of a site: repairs, coefficients, hours, lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from scheduler import units
from scheduler.calendar import DAYS_IN_MONTH, WEEKDAYS
from scheduler.cautions import Caution
from scheduler.inputs import library
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.inputs import of_valves
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import is_open_between, windows_in_force
from scheduler.plan.zones import with_uniformity
from scheduler.rates.uniformity import held_uniformity

POOR_UNIFORMITY = 0.55
"""Under this heads are repaired before anything is scheduled (common practice)."""
MOST_COEFFICIENT = 1.2
"""Landscape coefficient over which hardly any planting drinks (FAO-56, the highest
coefficient of crops in its tables)."""
MIDDAY_MIN = (10 * 60, 16 * 60)
"""Minutes of a day in which sun and wind take most of what is thrown (common
practice)."""
TOO_WINDY_M_S = 10 * units.M_S_PER_MPH
"""Wind over which nothing that throws is run (common practice)."""
DRAINS_FROM_PERCENT = 5.0
"""Slope from which the lowest heads drain a line (rule of this program)."""
_DRAINING = ("spray", "multi-stream")
"""Kinds of body whose check valve is an extra; rotors have one as a rule (common
practice)."""


def with_audited_minutes(plan: SitePlan) -> SitePlan:
    """The plan, its cautions on usual uniformities telling what audits' would change.

    The minutes are those of the busiest week, then those of its zones planned anew.
    """
    cautions = [
        _with_minutes(plan, told) if told.code == "uniformity-assumed" else told
        for told in plan.cautions
    ]
    return replace(plan, cautions=tuple(cautions))


def _with_minutes(plan: SitePlan, caution: Caution) -> Caution:
    zones, rates, values = plan.site.zones, plan.rates, caution.values
    rows = np.array([zones.zone.index(zone) for zone in values["zones"]])
    audited = np.full(len(zones), values["measured_uniformity"])
    found = held_uniformity(zones, audited, rates.imbalance, rates.modelled_uniformity)
    anew = plan_valves(of_valves(with_uniformity(plan.inputs, found), rows))
    now, then = (
        float(schedule.minutes_per_week[of].sum(axis=0).max())
        for schedule, of in ((plan.plan.schedule, rows), (anew.schedule, slice(None)))
    )
    return replace(caution, values={**values, "minutes": now, "minutes_measured": then})


def audit_cautions(plan: SitePlan) -> Iterator[Caution]:
    """What to repair, and what hours, wind and slope take, site by site and by zone."""
    yield from _poor_uniformity(plan)
    yield from _coefficients(plan)
    yield from _hours(plan)
    yield from _draining_lines(plan)


def _poor_uniformity(plan: SitePlan) -> Iterator[Caution]:
    """Zones found or said to be uneven; heads that do not match are told as such."""
    rates = plan.rates
    for row, zone in enumerate(plan.site.zones.zone):
        source, found = rates.uniformity_source[row], float(rates.uniformity[row])
        known = source in ("catch-can", "given", "coverage model")
        if known and found < POOR_UNIFORMITY * (1 - 1e-9):
            values = {"uniformity": found, "source": source}
            yield Caution("uniformity-low", zone, None, values)


def _coefficients(plan: SitePlan) -> Iterator[Caution]:
    coefficient = plan.inputs.ground.landscape_coefficient
    for row, zone in enumerate(plan.site.zones.zone):
        month = int(np.argmax(coefficient[row]))
        most = float(coefficient[row, month])
        if most > MOST_COEFFICIENT * (1 + 1e-9):
            values = {
                "landscape_coefficient": most,
                "plant_coefficient": float(plan.plant_coefficient[row, month]),
                "most": MOST_COEFFICIENT,
            }
            yield Caution("coefficient-high", zone, month + 1, values)


def _hours(plan: SitePlan) -> Iterator[Caution]:
    """Hours of the middle of the day, and wind, while heads throw."""
    site = plan.site
    drips = library.head_kinds().drips[site.zones.head_kind]
    throwing = {HEAD_KINDS[kind] for kind in site.zones.head_kind[~drips].tolist()}
    if not throwing:
        return
    told = set()
    for window in windows_in_force(site.windows, throwing):
        hours = window.opens, window.closes
        if is_open_between(window, *MIDDAY_MIN) and hours not in told:
            told.add(hours)
            values = {"opens": window.opens, "closes": window.closes}
            yield Caution("window-by-day", None, None, values)
    wind = site.supply.wind_m_s
    if wind is not None and wind > TOO_WINDY_M_S * (1 + 1e-9):
        yield Caution("too-windy", None, None, {"wind_m_s": wind})


def _draining_lines(plan: SitePlan) -> Iterator[Caution]:
    """Zones on a slope whose lines run out of their lowest heads after every cycle."""
    zones, schedule = plan.site.zones, plan.plan.schedule
    a_year = schedule.cycles * schedule.days_per_week * DAYS_IN_MONTH / len(WEEKDAYS)
    steep = zones.slope_percent >= DRAINS_FROM_PERCENT * (1 - 1e-9)
    drain = np.isin(zones.head_kind, [HEAD_KINDS.index(kind) for kind in _DRAINING])
    rows = np.flatnonzero(steep & drain)
    if rows.size:
        values = {
            "zones": tuple(zones.zone[row] for row in rows.tolist()),
            "slope_percent": float(zones.slope_percent[rows].max()),
            "cycles": round(float(a_year[rows].sum())),
        }
        yield Caution("line-drains", None, None, values)
