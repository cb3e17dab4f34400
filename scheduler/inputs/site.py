"""Records of a validated site, in SI."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import numpy as np

from scheduler.inputs import library
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.names import FOLDER, Names
from scheduler.inputs.library import BackflowDevice, Meter, PipeMaterial
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value taken because none was written; `zones` empty means the site.

    `value` is None where it is a table's, as the field's `otherwise` says.
    """

    file: str
    field: Field
    value: Any
    zones: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Window:
    """When watering is permitted: months 1 to 12, kinds of head, days, clock times.

    `parity` is a number of the calendar's. With `stages` it is an exception for zones
    planted so, for `stage_days` from planting; None: until they have grown in.
    """

    months: tuple[int, ...]
    head_kinds: tuple[str, ...]
    weekdays: tuple[str, ...]
    parity: int
    opens: str
    closes: str
    most_days_a_week: int
    stages: tuple[str, ...] = ()
    stage_days: float | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """A drought stage: its windows, empty where the site's own hold, and its share.

    `percent` is how much less water is asked for, None where nothing is.
    """

    name: str
    windows: tuple[Window, ...]
    percent: float | None


@dataclass(frozen=True, slots=True)
class Supply:
    """What is given or was measured of the supply; None where not.

    `pipe` is the service pipe's material, taken on the careful side where only its
    diameter and length are given. `running_pressure_kpa` is the gauge of the static
    pressure while `running_flow_l_min` flows.
    """

    design_flow_l_min: float | None
    pressure_kpa: float | None
    wind_m_s: float | None
    static_pressure_kpa: float | None = None
    bucket_l: float | None = None
    bucket_s: float | None = None
    meter: Meter | None = None
    pipe: PipeMaterial | None = None
    pipe_diameter_mm: float | None = None
    pipe_length_m: float | None = None
    rise_to_heads_m: float | None = None
    least_flow_l_min: float | None = None
    running_pressure_kpa: float | None = None
    running_flow_l_min: float | None = None
    backflow: BackflowDevice | None = None
    other_loss_kpa: float | None = None
    source: str = "drinking"


@dataclass(frozen=True, slots=True)
class Controller:
    """What the controller can be set to.

    `percent_by` is program, controller or none: what one month percent applies to.
    """

    programs: float
    starts: float
    longest_run_min: float
    longest_day_min: float | None
    minute_step: float
    percent_step: float
    percent_most: float
    percent_by: str
    intervals: bool
    weekdays_on_odd_even: bool
    zones_at_once: float
    gap_s: float
    shortest_soak_min: float
    soak_built_in: bool
    rain_shutoff_mm: float | None


@dataclass(frozen=True, slots=True)
class RainRule:
    """How rain is counted: method tr21, share or none, and whether that was given."""

    method: str
    share: float
    given: bool


@dataclass(frozen=True, slots=True, eq=False)
class Zones:
    """Zones by row; NaN where blank. `plant`, `soil`, `head_kind` are table rows.

    `area_m2` is the ground that is watered: under drip and bubblers the canopies, where
    they are told; `ground_m2` is what was measured. A canopy is one plant's.
    `planted` is None and `stage` "" where a zone has grown in; `caliper_mm` is the
    trunk of a tree among those planted.
    """

    zone: tuple[str, ...]
    station: np.ndarray
    name: tuple[str, ...]
    plant: np.ndarray
    soil: np.ndarray
    head_kind: np.ndarray
    slope_percent: np.ndarray
    root_depth_mm: np.ndarray
    microclimate_factor: np.ndarray
    density_factor: np.ndarray
    area_m2: np.ndarray
    flow_l_min: np.ndarray
    rate_mm_h: np.ndarray
    pressure_kpa: np.ndarray
    regulated: np.ndarray
    uniformity: np.ndarray
    plant_factor: np.ndarray
    depletion: np.ndarray
    longest_gap_days: np.ndarray
    shortest_gap_days: np.ndarray
    dry_share: np.ndarray
    keep: tuple[str | None, ...]
    wetted_share: np.ndarray
    emitter_flow_l_min: np.ndarray
    emitter_pressure_kpa: np.ndarray
    emitter_spacing_m: np.ndarray
    emitter_row_spacing_m: np.ndarray
    emitters: np.ndarray
    plants: np.ndarray
    canopy_m2: np.ndarray
    grown_canopy_m2: np.ndarray
    ground_m2: np.ndarray
    planted: tuple[datetime.date | None, ...]
    stage: tuple[str, ...]
    caliper_mm: np.ndarray

    def __len__(self) -> int:
        return len(self.zone)


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """Ground of the zones, a row a part, zones in order; one row for a whole zone.

    `zone` is the row of its zone, `part` its name, "" where the zone is one; the shares
    of a zone make 1. Blank is the zone's: -1 in `plant` and `soil`, rows of the tables,
    NaN elsewhere.
    """

    zone: np.ndarray
    part: tuple[str, ...]
    share: np.ndarray
    plant: np.ndarray
    soil: np.ndarray
    slope_percent: np.ndarray
    microclimate_factor: np.ndarray
    root_depth_mm: np.ndarray
    rate_mm_h: np.ndarray

    def __len__(self) -> int:
        return len(self.part)


@dataclass(frozen=True, slots=True, eq=False)
class Heads:
    """Heads by row; `zone` is the row of their zone. NaN where blank."""

    zone: np.ndarray
    head: tuple[str, ...]
    nozzle: tuple[str, ...]
    count: np.ndarray
    arc_deg: np.ndarray
    radius_m: np.ndarray
    flow_l_min: np.ndarray
    pressure_kpa: np.ndarray
    spacing_m: np.ndarray
    row_spacing_m: np.ndarray
    triangular: np.ndarray
    low_angle: np.ndarray
    x_m: np.ndarray
    y_m: np.ndarray
    facing_deg: np.ndarray

    def __len__(self) -> int:
        return len(self.head)


@dataclass(frozen=True, slots=True, eq=False)
class Cans:
    """Cans of catch-can tests; `zone` is the row in `zones` of each, NaN where blank.

    A can holds `catch_ml` over `can_area_mm2`, or `catch_mm`, after `minutes`.
    """

    zones: tuple[str, ...]
    zone: np.ndarray
    can: tuple[str, ...]
    catch_ml: np.ndarray
    can_area_mm2: np.ndarray
    catch_mm: np.ndarray
    minutes: np.ndarray

    def __len__(self) -> int:
        return len(self.can)


@dataclass(frozen=True, slots=True, eq=False)
class Metered:
    """Flow and gauge of each zone as read on site, (zone,); NaN where not read.

    `given_flow_l_min` is that of zones.csv, in whose place a metered flow stands.
    `dial` is the suffix of the unit that the readings are written in, "" without any.
    """

    flow_l_min: np.ndarray
    pressure_kpa: np.ndarray
    given_flow_l_min: np.ndarray
    dial: str = ""


@dataclass(frozen=True, slots=True)
class Water:
    """Price of the water, and the local rule's allowance; "" or None where not given.

    A tier is its upper limit on one bill, in billing units, and its price; the last
    has no limit. Without tiers there is no price.
    """

    currency: str
    billing_unit: str
    fixed_charge: Decimal | None
    months_per_bill: int
    tiers: tuple[tuple[Decimal, Decimal], ...]
    allowance_factor: float
    special_area_m2: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Current:
    """What the controller runs today, by row of current.csv; `zone` is a row of zones.

    `minutes` are those of one start. Rows of one zone and month add up, as the
    programs of a controller do.
    """

    zone: np.ndarray
    minutes: np.ndarray
    starts: np.ndarray
    days_per_week: np.ndarray
    months: tuple[tuple[int, ...], ...]

    def __len__(self) -> int:
        return len(self.months)


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """One validated site folder, in SI.

    `outlines` has the corners of each zone, (corner, 2); none where not given.
    `current` is None without a current.csv. `door` has what the page inside the
    controller door says of this place: keys and texts. `unread` are sheets of a
    workbook that are none of a site's, `names` what people call its tables.
    `plan_by` is days or months; plants may go short on `dry_share` of the days.
    `lines_empty` are month and day of draining lines and of filling them, where the
    site names them.
    `exceptions` are windows for new plantings alone, `windows` those for all else.
    `for_months` are keys that were written, yet a plan by days has no use for,
    `replaced` keys of old, each with what took its place.
    """

    name: str
    units: str
    latitude: float
    longitude: float
    timezone: str
    elevation_m: float
    wind_height_m: float
    climate: Climate | DailyWeather
    dry_year_percentile: float
    plan_by: str
    dry_share: float
    rain_rule: RainRule
    water_in_frost: bool
    lines_can_freeze: bool | None
    lines_empty: tuple[tuple[int, int], tuple[int, int]] | None
    supply: Supply
    windows: tuple[Window, ...]
    controller: Controller
    salinity_ds_m: float
    zones: Zones
    parts: Parts
    heads: Heads
    outlines: tuple[np.ndarray, ...]
    cans: Cans
    metered: Metered
    water: Water
    current: Current | None
    door: tuple[tuple[str, str], ...]
    plants: library.Plants
    soils: library.Soils
    assumed: tuple[Assumed, ...]
    unread: tuple[str, ...] = ()
    hidden: tuple[tuple[str, tuple[int, ...]], ...] = ()
    names: Names = FOLDER
    for_months: tuple[str, ...] = ()
    replaced: tuple[tuple[str, str], ...] = ()
    exceptions: tuple[Window, ...] = ()
