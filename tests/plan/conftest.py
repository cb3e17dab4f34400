"""Zones for the planning tests, drawn at random or written out."""

import dataclasses

import numpy as np
import pytest

from scheduler.balance.ground import Ground, Valve
from scheduler.calendar import ALL_DATES, ALL_WEEK, EVEN, ODD, TWELVE_MONTHS
from scheduler.inputs.folder import read_site
from scheduler.plan.inputs import RAIN_METHODS, PlanInput
from scheduler.plan.site import plan_site
from scheduler.plan.times.days import DayRule

# Rules of every kind, each with a controller that has intervals or has not.
RULES = [
    (DayRule(127, ALL_DATES, 7), True),
    (DayRule(127, ALL_DATES, 7), False),
    (DayRule(0b0010101, ALL_DATES, 3), True),
    (DayRule(0b0100100, ALL_DATES, 7), False),
    (DayRule(127, ALL_DATES, 2), True),
    (DayRule(0b1000000, ALL_DATES, 1), True),
    (DayRule(127, ODD, 7), True),
    (DayRule(0b0111110, EVEN, 2), False),
    (DayRule(0, ALL_DATES, 7), True),
]


def of_zones(**values):
    """Input of zones of one part each, from the fields of its records."""

    def record(kind):
        names = [field.name for field in dataclasses.fields(kind)]
        return kind(**{name: values.pop(name) for name in names})

    zones = len(values["rate_mm_h"])
    values |= {"valve": np.arange(zones), "share": np.ones(zones)}
    values["rate_share"] = values["wetted_share"] = np.ones(zones)
    values["dormant"] = values["frost"]
    values["runs_off"] = ~np.asarray(values["drip"], dtype=bool)
    # Nothing of the plan by months hangs on these, but on DU through the multiplier.
    for name in ("uniformity", "least_cycle_min", "most_dry", "rain_shutoff_mm"):
        values[name] = np.full(zones, np.nan)
    values |= {
        "climate": np.zeros(zones, int),
        "night_min": np.full((zones, 1), 1440.0),
    }
    for name in ("total_available_water_mm", "allowed_depletion_mm"):
        values[name] = values[name][:, None]
    ground = record(Ground)
    return PlanInput(
        periods=TWELVE_MONTHS, ground=ground, valve=record(Valve), **values
    )


def draw(zones, seed):
    """Zones of every kind: dry and wet, tiny stores and huge, soft ground and hard."""
    random = np.random.default_rng(seed)

    def between(low, high):
        return np.exp(random.uniform(np.log(low), np.log(high), zones))

    season = 1 - np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    peak = between(0.5, 5)
    # A third of the zones lie in the south; a twentieth of the months need nothing.
    south = random.random(zones) < 1 / 3
    et0 = peak[:, None] * season + random.uniform(0, 0.6, (zones, 12))
    et0[south] = np.roll(et0[south], 6, axis=1)
    et0 *= random.random((zones, 12)) > 0.05
    wet = random.choice([0.0, 10.0, 60.0, 150.0], zones)[:, None]
    total = between(2, 600)
    rate = between(3, 80)
    rule = random.choice(len(RULES), (zones, 1), p=[0.2, *[0.1] * 7, 0.1])
    other = random.integers(0, len(RULES) - 1, (zones, 12))
    changes = random.random((zones, 1)) < 0.2
    return of_zones(
        et0_mm_day=et0,
        rain_mm=wet * random.random((zones, 12)) * (random.random((zones, 12)) < 0.9),
        frost=(random.random((zones, 12)) < 0.1) & (random.random((zones, 1)) < 0.4),
        landscape_coefficient=np.where(
            random.random((zones, 1)) < 0.5,
            random.uniform(0.1, 1.2, (zones, 12)),
            random.uniform(0.1, 1.2, (zones, 1)),
        ),
        day_rule=np.where(changes, other, rule),
        rain_method=random.integers(0, len(RAIN_METHODS), zones),
        rain_share=random.uniform(0.1, 1, zones),
        total_available_water_mm=total,
        allowed_depletion_mm=total * random.uniform(0.2, 0.7, zones),
        longest_gap_days=random.choice([1.0, 4.0, 7.0, 10.0, 14.0, 28.0, 60.0], zones),
        shortest_gap_days=random.choice([1.0, 1.0, 1.0, 3.0, 7.0, 14.0], zones),
        drip=random.random(zones) < 0.25,
        rate_mm_h=rate,
        peak_rate_mm_h=rate * np.maximum(1, random.uniform(0.8, 1.6, zones)),
        flow_l_min=between(1, 200),
        run_time_multiplier=random.uniform(1, 1.9, zones),
        leaching_requirement=random.uniform(0, 0.5, zones)
        * (random.random(zones) < 0.2),
        intake_mm_h=between(1, 40),
        accumulation_mm=between(0.5, 12),
        longest_run_min=random.choice([20.0, 60.0, 99.0, 240.0], zones),
        longest_day_min=np.full(zones, np.inf),
        minute_step=random.choice([0.5, 1.0, 5.0], zones),
        shortest_soak_min=random.choice([0.0, 7.0, 30.0, 60.0], zones),
        starts=random.choice([1.0, 3.0, 4.0, 16.0], zones),
        soak_built_in=random.random(zones) < 0.2,
        rules=tuple(rule for rule, _ in RULES),
        rule_intervals=tuple(own for _, own in RULES),
    )


def one_zone(**given):
    """A zone on soft ground, without rain or frost, that may water on any day."""
    zone = {
        "rain_method": 0,
        "rain_share": 0.5,
        "total_available_water_mm": 100.0,
        "allowed_depletion_mm": 50.0,
        "longest_gap_days": 7.0,
        "shortest_gap_days": 1.0,
        "drip": False,
        "rate_mm_h": 10.0,
        "flow_l_min": 20.0,
        "run_time_multiplier": 1.0,
        "leaching_requirement": 0.0,
        "intake_mm_h": 100.0,
        "accumulation_mm": 5.0,
        "longest_run_min": 240.0,
        "longest_day_min": np.inf,
        "minute_step": 1.0,
        "shortest_soak_min": 30.0,
        "starts": 4.0,
        "soak_built_in": False,
    }
    months = {
        "et0_mm_day": 5.0,
        "rain_mm": 0.0,
        "frost": False,
        "landscape_coefficient": 1.0,
        "day_rule": 0,
    }
    rule = given.pop("rule", DayRule(127, ALL_DATES, 7))
    intervals = given.pop("intervals", True)
    values = {
        name: np.array([given.pop(name, default)]) for name, default in zone.items()
    }
    values |= {
        name: np.broadcast_to(given.pop(name, default), (1, 12))
        for name, default in months.items()
    }
    values["peak_rate_mm_h"] = np.array(
        [given.pop("peak_rate_mm_h", values["rate_mm_h"][0])]
    )
    assert not given
    return of_zones(**values, rules=(rule,), rule_intervals=(intervals,))


@pytest.fixture(scope="session")
def random_zones():
    """Function that draws so many zones with a seed."""
    return draw


@pytest.fixture(scope="session")
def written_zone():
    """Function that makes one zone of what is given."""
    return one_zone


CLIMATE = "month,et0_mm_day,tmin_c,tmax_c,rain_mm\n" + "".join(
    f"{month},5,10,25,0\n" for month in range(1, 13)
)


@pytest.fixture(scope="session")
def written_plan(tmp_path_factory):
    """Plan of an invented site whose schedule the test writes: one entry a zone.

    A zone is (cycles, minutes, soak), or a dict with more.
    """

    def make(zones, settings="", place="latitude = 40.0\nlongitude = -120.0",
             timezone='timezone = "Etc/GMT+8"', supply=""):  # fmt: skip
        folder = tmp_path_factory.mktemp("site")
        (folder / "climate.csv").write_text(CLIMATE, encoding="utf-8")
        (folder / "site.toml").write_text(
            f'units = "metric"\n[site]\n{place}\n{timezone}\n'
            f'[climate]\nfile = "climate.csv"\n[plan]\nby = "months"\n'
            f"[supply]\npressure_kpa = 300\n{supply}\n"
            f"{settings}",
            encoding="utf-8",
        )
        zones = [z if isinstance(z, dict) else {"run": z} for z in zones]
        rows = [
            f"{i},cool-season turf,loam,100,{z.get('flow', 10)},"
            f"{z.get('kind', 'rotor')}"
            for i, z in enumerate(zones, 1)
        ]
        (folder / "zones.csv").write_text(
            "zone,plant,soil,area_m2,flow_l_min,head_kind\n" + "\n".join(rows) + "\n",
            encoding="utf-8",
        )
        (folder / "heads.csv").write_text("zone,arc_deg\n", encoding="utf-8")
        return with_schedule(plan_site(read_site(folder)), zones)

    return make


def with_schedule(plan, zones):
    """The plan with the schedule of the test in every month."""
    count = len(zones)

    def column(values, kind=float):
        return np.repeat(np.array(values, dtype=kind), 12).reshape(count, 12)

    cycles, minutes, soak = zip(*(zone["run"] for zone in zones), strict=True)
    every = [zone.get("every", 0) for zone in zones]
    schedule = dataclasses.replace(
        plan.plan.schedule,
        weekdays=column([zone.get("days", ALL_WEEK) for zone in zones], int),
        parity=column([z.get("parity", ALL_DATES) for z in zones], int),
        every_days=column(every, int),
        days_per_week=column([7 / n if n else 7 for n in every]),
        cycles=column(cycles, int),
        cycle_min=column(minutes),
        soak_min=column(soak),
    )
    gaps = column([zone.get("gap", 7) for zone in zones])
    table = dataclasses.replace(plan.plan, schedule=schedule, gap_limit_days=gaps)
    return dataclasses.replace(plan, plan=table)
