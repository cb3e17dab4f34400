"""The ladder of a month: its kept rung is the plan's, its reason is brute force's."""

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.inputs.folder import read_site
from scheduler.plan.choice import OFF
from scheduler.plan.ladder import REASONS, ladder_of
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def plan(request):
    site = read_site(EXAMPLES / request.param)
    return plan_site(dataclasses.replace(site, plan_by="days"))


def cells(plan):
    """Cells of the first zones, to keep it short."""
    for valve in range(min(len(plan.site.zones), 3)):
        for month in range(12):
            yield valve, month


def test_kept_rung_has_the_numbers_of_the_plan(plan):
    ends = np.cumsum(DAYS_IN_MONTH)
    for valve, month in cells(plan):
        found = ladder_of(plan.inputs, plan.settings, valve, month, whole=False)
        if plan.inputs.frost[valve, month]:
            assert (found.rungs, found.reason) == ((), "frost")
            continue
        kept, cell = found.kept, (valve, month)
        schedule = plan.plan.schedule
        days = slice(ends[month] - DAYS_IN_MONTH[month], ends[month])
        water = plan.settings.water_mm[valve, :, days].sum(axis=1).mean()

        assert (kept.cycles, kept.cycle_min) == (
            schedule.cycles[cell], schedule.cycle_min[cell])  # fmt: skip
        assert kept.weekdays == plan.settings.weekdays[cell]
        assert kept.every_days == schedule.every_days[cell]
        assert kept.dry == pytest.approx(plan.settings.dry[cell], abs=1e-12)
        assert kept.water_mm == pytest.approx(water, rel=1e-9, abs=1e-9)


# A law of the choice: of all rows of all patterns shown, none that suffices takes under
# the least; the kept one is within 1.05 of it and 0.5 mm (rule of this program).
def test_no_rung_of_the_whole_ladder_suffices_with_less(plan):
    for valve, month in cells(plan):
        found = ladder_of(plan.inputs, plan.settings, valve, month, whole=True)
        if not found.rungs:
            continue
        enough = [rung.water_mm for rung in found.rungs if rung.suffices]

        assert found.reason in REASONS
        assert found.kept.suffices
        assert min(enough) >= found.least_mm - 1e-9
        if found.reason == "least-water":
            assert found.kept.water_mm == pytest.approx(found.least_mm)
        assert found.kept.water_mm <= 1.05 * found.least_mm + 0.5 + 1e-9
        same = [r for r in found.rungs if r.pattern == found.kept.pattern != OFF]
        shorter = [r for r in same if r.row < found.kept.row]
        assert not any(rung.suffices for rung in shorter)
        dry = [rung.dry for rung in same]
        assert dry == sorted(dry, reverse=True)


# What is said of a pattern that no minutes help, by brute force over its minutes and by
# arithmetic: the gap times the need is over the store.
def test_a_pattern_said_to_be_too_seldom_has_no_minutes_that_do(tmp_path):
    desert = EXAMPLES.parent / "climate_samples" / "hot_desert.csv"
    (tmp_path / "site.toml").write_text(
        "[site]\nlatitude = 32\nlongitude = 0\n"
        f'[climate]\nfile = "{desert}"\n[[window]]\ndays = ["mon", "wed", "fri"]\n'
    )
    (tmp_path / "zones.csv").write_text(
        "zone,plant,soil,area_m2,flow_l_min\n1,warm-season turf,sand,100,20\n"
    )
    plan = plan_site(read_site(tmp_path))
    told = 0
    for month in range(12):
        whole = ladder_of(plan.inputs, plan.settings, 0, month, whole=True)
        few = ladder_of(plan.inputs, plan.settings, 0, month, whole=False)
        for each in few.too_seldom:
            told += 1
            same = [r for r in whole.rungs if r.pattern == each.rung.pattern]
            assert min(r.dry for r in same) == each.rung.dry
            # Between the limit and 2 points over the least is what it gives way to.
            gave_way = np.isfinite(few.least_dry)
            assert gave_way or not any(r.suffices for r in same)
            assert each.rung.dry >= few.least_dry - 1e-12 or not gave_way
            gap = {3: 3, 2: 4, 1: 7}[round(each.rung.days_per_week)]
            assert each.drawn_mm == pytest.approx(gap * whole.need_mm_day)
            assert each.drawn_mm > 1.1 * each.allowed_mm
        if np.isfinite(few.least_dry):
            assert few.kept.pattern in [each.rung.pattern for each in few.too_seldom]
    assert told > 6
