"""What could be wrong of a site, and over which range: each with its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.ground import Ground
from scheduler.inputs import library
from scheduler.plan import table
from scheduler.plan.site import SitePlan
from scheduler.rates.readings import MOST_OFF
from scheduler.units import MIN_PER_H

FIELDS = (
    "available_water",
    "root_depth",
    "depletion",
    "uniformity",
    "flow",
    "pressure",
    "area",
    "coefficient",
    "intake",
    "et0",
    "rain",
)
"""Inputs that are doubted; the last two are those of the whole site."""
MEASURES = {
    "available_water": "probe",
    "root_depth": "probe",
    "depletion": "probe",
    "uniformity": "cans",
    "flow": "meter",
    "pressure": "gauge",
    "area": "tape",
    "coefficient": "season",
    "intake": "runoff",
    "et0": "climate",
    "rain": "climate",
}
"""What would settle each."""
TAKES_MIN = {"cans": 40, "gauge": 5, "probe": 10, "meter": 10, "tape": 10}
"""Minutes that a measurement takes in a zone (common practice); a run until water
stands takes as long as it stands, and others none on site."""
UC_MM_M = {
    "sand": (63.0, 104.0),
    "loamy sand": (63.0, 104.0),
    "sandy loam": (104.0, 146.0),
    "loam": (125.0, 192.0),
    "silt loam": (125.0, 192.0),
    "silt": (125.0, 192.0),
    "sandy clay loam": (146.0, 208.0),
    "clay loam": (146.0, 208.0),
    "silty clay loam": (146.0, 208.0),
    "sandy clay": (133.0, 208.0),
    "silty clay": (133.0, 208.0),
    "clay": (133.0, 208.0),
}
"""Available water by texture (University of California, Soil Characteristics; read)."""
OTHER_SOIL = (0.75, 1.25)
ROOTS, DEPLETION, COEFFICIENT = (0.67, 1.5), (0.8, 1.2), (0.8, 1.2)
"""Over the usual value: roots as they are found (common practice); FAO-56's share that
may be used, which it lets move by a fifth with the weather (from memory); the width of
a class of plants, 0.4 to 0.6 (UC-WUCOLS; second-hand)."""
FLOW = (1 - MOST_OFF, 1 + MOST_OFF)
PRESSURE, AREA_OF_HEADS, AREA_GIVEN = (0.85, 1.15), (0.85, 1.15), (0.95, 1.05)
"""Pressure, and area by spacing and by tape, over what is planned with (common
practice)."""
INTAKE = (0.5, 2.0)
"""Ground of one texture differs tenfold in a state's report (ASCE 1949); half and
double are taken (common practice)."""
ET0, RAIN = (0.9, 1.1), (0.8, 1.2)
"""A station some miles off (from memory)."""
UNEVEN = 0.15
"""How far under the usual uniformity audits find kinds that no table tells of (common
practice)."""
MOST_EVEN = 0.95


@dataclass(frozen=True, slots=True, eq=False)
class Doubt:
    """One input at both ends of its range, in all zones, (zone,); NaN: not in doubt.

    `value` is what the plan goes by. Ends as factors: on the depth that a minute lays
    down and on the flow, (end, zone), and on the store, the share of it that may be
    used, and the need, (end, zone); `uniformity` (end, zone) are values.
    """

    field: str
    low: np.ndarray
    value: np.ndarray
    high: np.ndarray
    source: str
    depth: np.ndarray
    flow: np.ndarray
    store: np.ndarray
    allowed: np.ndarray
    need: np.ndarray
    uniformity: np.ndarray

    @property
    def in_doubt(self) -> np.ndarray:
        """Zones that have a range, (zone,)."""
        return np.isfinite(self.low) & np.isfinite(self.high)


def doubts_of(plan: SitePlan) -> Iterator[Doubt]:
    """Every number of a site that is assumed, or could be wrong."""
    site, zones, rates = plan.site, plan.site.zones, plan.rates
    kinds, count = library.head_kinds(), len(site.zones)
    soil = [site.soils.names[row] for row in zones.soil]
    water = site.soils.available_water_mm_m[zones.soil]
    ends = [
        UC_MM_M.get(name, (OTHER_SOIL[0] * mm, OTHER_SOIL[1] * mm))
        for name, mm in zip(soil, water.tolist(), strict=True)
    ]
    low, high = (np.array(end) for end in zip(*ends, strict=True))
    low, high = np.minimum(low, water), np.maximum(high, water)
    factor = np.stack([low, high]) / water
    yield _doubt(plan, "available_water", low, water, high, "uc", store=factor)
    roots = np.array([_lead(plan, plan.stands_on.roots.root_depth_mm, z)
                      for z in range(count)])  # fmt: skip
    blank = np.isnan(zones.root_depth_mm)
    yield _scaled(plan, "root_depth", roots, ROOTS, blank, "practice", "store")
    used = np.array([_lead(plan, plan.stands_on.roots.depletion, z)
                     for z in range(count)])  # fmt: skip
    yield _scaled(
        plan, "depletion", used, DEPLETION, np.isnan(zones.depletion), "fao", "allowed"
    )
    yield _of_uniformity(plan)
    drips = kinds.drips[zones.head_kind]
    by_rate = np.isfinite(zones.rate_mm_h) | (plan.tests.cans > 0)
    metered = np.isfinite(site.metered.flow_l_min) | np.isfinite(zones.flow_l_min)
    counts = ~metered & ~by_rate
    yield _scaled(plan, "flow", rates.flow_l_min, FLOW, counts, "practice", "flow")
    loose = counts & ~zones.regulated & ~drips & np.isnan(zones.pressure_kpa)
    gauge = plan.points.pressure_kpa
    yield _scaled(plan, "pressure", gauge, PRESSURE, loose, "practice", "pressure")
    measured = np.isfinite(zones.ground_m2) | np.isfinite(zones.canopy_m2)
    span = np.where(measured, np.array([AREA_GIVEN]).T, np.array([AREA_OF_HEADS]).T)
    area = np.where(by_rate, np.nan, rates.area_m2)
    yield _doubt(
        plan, "area", area * span[0], area, area * span[1], "practice", depth=1 / span
    )
    given = np.isfinite(zones.plant_factor)
    coefficient = plan.ground.landscape_coefficient.max(axis=1)
    yield _scaled(
        plan, "coefficient", coefficient, COEFFICIENT, ~given, "wucols", "need"
    )
    yield _of_intake(plan)


def _lead(plan: SitePlan, of_part: np.ndarray, zone: int) -> float:
    """Value of the part that a zone runs for."""
    return float(of_part[plan.leads[zone]])


def _doubt(
    plan: SitePlan,
    field: str,
    low: np.ndarray,
    value: np.ndarray,
    high: np.ndarray,
    source: str,
    **factors: np.ndarray,
) -> Doubt:
    """A doubt with the factors given, (end, zone), all others 1."""
    count = len(plan.site.zones)
    found = {name: np.ones((2, count)) for name in ("flow", "store", "allowed", "need")}
    found["depth"] = np.ones((2, count, len(plan.inputs.periods)))
    found["uniformity"] = np.stack([plan.rates.uniformity] * 2)
    for name, values in factors.items():
        wide = values[..., None] if name == "depth" and values.ndim == 2 else values
        found[name] = np.broadcast_to(wide, found[name].shape)
    return Doubt(field, low, value, high, source, **found)


def _scaled(
    plan: SitePlan,
    field: str,
    value: np.ndarray,
    span: tuple[float, float],
    open_: np.ndarray,
    source: str,
    what: str,
) -> Doubt:
    """A doubt over a span around the value, of the zones that it is `open_` for."""
    low, high = (np.where(open_, factor * value, np.nan) for factor in span)
    factor = np.stack([np.full(len(value), end) for end in span])
    if what == "pressure":
        factor = np.sqrt(factor)
    if what in ("flow", "pressure"):
        return _doubt(plan, field, low, value, high, source, depth=factor, flow=factor)
    return _doubt(plan, field, low, value, high, source, **{what: factor})


def _of_uniformity(plan: SitePlan) -> Doubt:
    """From what audits of homes found to what heads in good order reach."""
    kinds, kind = library.head_kinds(), plan.site.zones.head_kind
    usual, now = kinds.uniformity[kind], plan.rates.uniformity
    found = kinds.measured_uniformity[kind]
    found = np.where(np.isnan(found), usual - UNEVEN, found)
    low, high = now * found / usual, now * kinds.reachable_uniformity[kind] / usual
    high = np.minimum(high, MOST_EVEN)
    tested = (plan.tests.cans > 0) | np.isfinite(plan.site.zones.uniformity)
    low, high = (np.where(tested, np.nan, end) for end in (low, high))
    ends = np.where(np.isnan(low), now, np.stack([low, high]))
    return _doubt(plan, "uniformity", low, now, high, "audits", uniformity=ends)


def takes_min(plan: SitePlan, what: str, zone: int | None) -> int:
    """Minutes that a measurement takes in a zone; 0 where it is no work on site.

    Water stands when the field sheet says so; where by the plan's intake it never does,
    a run as long as ground of half that intake stands settles it.
    """
    if what != "runoff" or zone is None:
        return TAKES_MIN.get(what, 0)
    after = float(plan.plan.runoff_limit_min[zone])
    if np.isinf(after):
        ground = _with_intake(plan, INTAKE[0])
        parts = table.own_runoff_limit(ground, plan.inputs.valve)[plan.parts(zone)]
        after = float(parts.min())
    return int(np.ceil(after))


def _of_intake(plan: SitePlan) -> Doubt:
    """What runs off where the ground takes in less: of each cycle what is over."""
    inputs = plan.inputs
    value = plan.ground.intake_mm_h
    cycle = plan.plan.schedule.cycle_min
    ends = []
    for factor in INTAKE:
        ground = _with_intake(plan, factor)
        limit = np.full(len(inputs.valve), np.inf)
        np.minimum.at(
            limit, inputs.ground.valve, table.own_runoff_limit(ground, inputs.valve)
        )
        with np.errstate(divide="ignore", invalid="ignore"):
            goes_in = np.where(cycle > 0, limit[:, None] / cycle, 1.0)
        ends.append(np.minimum(goes_in, 1.0))
    open_ = inputs.valve.runs_off & (inputs.valve.peak_rate_mm_h > INTAKE[0] * value)
    low, high = (np.where(open_, f * value, np.nan) for f in INTAKE)
    return _doubt(plan, "intake", low, value, high, "asce", depth=np.stack(ends))


def _with_intake(plan: SitePlan, factor: float) -> Ground:
    ground = plan.inputs.ground
    return replace(ground, intake_mm_h=factor * ground.intake_mm_h)


def depth_of_day_mm(plan: SitePlan) -> np.ndarray:
    """Gross depth of a watering day by the table, (zone, period)."""
    schedule = plan.plan.schedule
    rate = plan.inputs.valve.rate_mm_h[:, None]
    return np.asarray(schedule.minutes_per_day * rate / MIN_PER_H)
