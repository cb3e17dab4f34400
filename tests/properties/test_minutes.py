"""Laws of run times: the arithmetic of the method, cycles, steps, needs met."""

import csv
import functools
from pathlib import Path

import pytest
from drawn_sites import DAYS_IN_MONTH, DRIP, IN, bounded, cells, coded, sites, table
from hypothesis import event, given

import scheduler

PACKAGE = Path(scheduler.__file__).parent


# The arithmetic of the method, step 11: a minute, a rate, a flow.


@bounded(22)
@given(sites())
def test_totals_are_minutes_times_rate_and_flow(drawn):
    for zone, month in cells(table(drawn)):
        days = DAYS_IN_MONTH[month["month"] - 1]
        minutes = month["minutes_per_week"] * days / 7

        assert month["minutes_per_day"] == pytest.approx(
            month["cycles"] * month["cycle_minutes"], rel=1e-12
        )
        assert month["minutes_per_week"] == pytest.approx(
            month["minutes_per_day"] * month["days_per_week"], rel=1e-12
        )
        assert month["applied_mm"] == pytest.approx(
            minutes * zone["rate_mm_h"] / 60, rel=1e-9
        )
        assert month["volume_l"] == pytest.approx(
            minutes * zone["flow_l_min"], rel=1e-9
        )


@functools.cache
def accumulation_mm(soil: str, slope_percent: float) -> float:
    """Allowed surface accumulation of the package's own table, read here anew."""
    with (PACKAGE / "tables" / "slopes.csv").open(encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            upper = float(row["slope_to_percent"] or "inf")
            low = float(row["slope_over_percent"])
            # A slope of none belongs to the first class, which has no lower limit.
            if row["soil"] == soil and slope_percent <= upper and (
                slope_percent > low or low == 0
            ):  # fmt: skip
                return float(row["accumulation_in"]) * IN
    raise KeyError(soil)


# Steps 9 and 10. Water may stand on the ground up to the allowed accumulation:
# minutes · (peak rate − intake) / 60 is what stands after them.
@bounded(22)
@given(sites())
def test_no_cycle_is_longer_than_its_limit(drawn):
    content = table(drawn)
    too_short = {zone for zone, _ in coded(content, "cycle-too-short")}
    written_ = {row["zone"]: row for row in drawn.zones}
    step = drawn.controller["minute_step"]
    for zone, month in cells(content):
        cycle, row = month["cycle_minutes"], written_[zone["zone"]]
        if not month["cycles"]:
            continue
        assert cycle <= drawn.controller["longest_run_min"] + 1e-9
        assert cycle <= zone["longest_cycle_min"] + 1e-9
        assert cycle >= step - 1e-9
        if row["head_kind"] in DRIP:
            continue
        excess = zone["peak_rate_mm_h"] - zone["intake_mm_h"]
        allowed = accumulation_mm(row["soil"], row["slope_percent"])
        stands = cycle * max(excess, 0) / 60
        if zone["zone"] in too_short:
            event("cycle-too-short")
            assert 60 * allowed / excess < max(2, step)
            assert cycle <= max(2, step) + 1e-9
        else:
            assert stands <= allowed * (1 + 1e-9)
        if month["soak_minutes"]:
            # What stands has gone in before the next cycle.
            assert month["cycles"] > 1
            gone = month["soak_minutes"] * zone["intake_mm_h"] / 60
            assert gone >= stands * (1 - 1e-9)
            assert month["soak_minutes"] >= drawn.controller["shortest_soak_min"]
        elif month["cycles"] > 1:
            # All of the day's water may fall at one go.
            assert month["minutes_per_day"] * max(excess, 0) / 60 <= allowed * (
                1 + 1e-6
            )


@bounded(22)
@given(sites())
def test_minutes_are_whole_steps(drawn):
    step = drawn.controller["minute_step"]
    for _, month in cells(table(drawn)):
        steps = month["cycle_minutes"] / step

        assert steps == pytest.approx(round(steps), abs=1e-6)


# Step 9: n · c is at least 0.95 of the minutes wanted. So what is applied is at least
# 0.95 of the gross need, less the part that the root zone cannot hold.
@bounded(22)
@given(sites())
def test_what_is_applied_meets_the_need_but_for_a_twentieth(drawn):
    for _, month in cells(table(drawn)):
        if month["cycles"]:
            net = month["net_need_mm"] + month["carried_in_mm"]
            share = 1 - month["unmet_mm"] / net

            assert month["applied_mm"] >= 0.95 * month["gross_need_mm"] * share - 1e-6


@bounded(22)
@given(sites())
def test_months_keep_their_needs_whether_they_run_or_not(drawn):
    content = table(drawn)
    off = 0
    for zone, month in cells(content):
        et0 = content["climate"]["months"][month["month"] - 1]["et0_mm_day"]
        rain = content["climate"]["months"][month["month"] - 1]["rain_mm"]
        need = et0 * month["landscape_coefficient"] * DAYS_IN_MONTH[month["month"] - 1]

        assert month["plant_need_mm"] == pytest.approx(need, rel=1e-9)
        assert 0 <= month["effective_rain_mm"] <= min(rain, need) * (1 + 1e-9)
        assert month["net_need_mm"] == pytest.approx(
            need - month["effective_rain_mm"], abs=1e-9
        )
        if month["cycles"]:
            assert month["minutes_per_week"] > 0
            assert month["days"]
        else:
            off += 1
            assert month["days"] == []
            assert (month["parity"], month["every_days"]) == (None, None)
            for key in ("days_per_week", "minutes_per_day", "cycle_minutes", "volume_l",
                        "soak_minutes", "minutes_per_week", "applied_mm"):  # fmt: skip
                assert month[key] == 0
        assert zone["run_time_multiplier"] >= 1
    event(f"some off: {off > 0}")
