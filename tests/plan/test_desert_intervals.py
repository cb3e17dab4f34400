"""Days between waterings in the desert, beside what agencies there print."""

from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site

HOT_DESERT = Path(__file__).parents[2] / "climate_samples" / "hot_desert.csv"

# Season ranges of days between waterings of established plants, and inches that are
# wet: Arizona water agencies' booklet for the desert (second-hand, four copies), in
# spring, summer, fall, winter. None is printed for warm turf in spring and fall, nor
# for cacti in winter ("if needed"). Turf in summer: daily in Tucson's copy, 3 to 5 in
# the others; high-use shrubs 2 to 7 and 5 to 7.
BOOKLET = {
    "desert trees": ((14, 30), (7, 21), (14, 30), (30, 60), (24, 36)),
    "high-use trees": ((7, 12), (7, 10), (7, 12), (14, 30), (24, 36)),
    "desert shrubs": ((14, 30), (7, 21), (14, 30), (30, 45), (18, 24)),
    "high-use shrubs": ((7, 10), (2, 7), (7, 10), (10, 14), (18, 24)),
    "desert ground cover": ((14, 30), (7, 21), (14, 30), (21, 45), (8, 12)),
    "high-use ground cover": ((7, 10), (2, 5), (7, 10), (10, 14), (8, 12)),
    "cacti": ((21, 45), (14, 30), (21, 45), (), (8, 12)),
    "warm turf": ((), (1, 5), (), (15, 30), (6, 10)),
    "overseeded turf": ((2, 7), (1, 5), (2, 7), (3, 10), (6, 10)),
}
# City of Mesa AZ, monthly reminders (read; March and June second-hand), January to
# December; May was not found: the mean of its neighbours. NaN: if needed, or none.
_NAN = np.nan
MESA = {
    "desert trees": (45, 36, 30, 24, 20, 16, 16, 17, 21, 24, 27, 45),
    "high-use trees": (21, 14, 14, 12, 10, 8, 8, 9, 10, 12, 12.5, 21),
    "desert shrubs": (30, 21, 21, 16, 14, 12, 12, 13, 16, 18, 21, 28),
    "high-use shrubs": (14, 10, 10, 8, 6.5, 5, 5, 6, 7, 9, 10, 14),
    "desert ground cover": (28, 21, 21, 16, 14, 12, 12, 12, 16, 18, 21, 28),
    "high-use ground cover": (14, 10, 10, 8, 6, 4, 4, 5, 5.5, 8, 10, 14),
    "cacti": (_NAN, 28, 28, 28, 24.5, 21, 21, 22, 26.5, 28, _NAN, _NAN),
    "warm turf": (30, 21, 14, 7, 5, 3, 3, 3.5, 4.5, 6, 14, _NAN),
    "overseeded turf": (12, 8, 7, 4, _NAN, _NAN, _NAN, _NAN, _NAN, 3, 8.5, _NAN),
}
SEASONS = {
    "spring": (2, 3, 4),
    "summer": (5, 6, 7),
    "fall": (8, 9, 10),
    "winter": (11, 0, 1),
}
PRINTED_WITHIN = 0.7
"""Agencies print one figure for a usual year on no soil in particular; what is planned
here leaves plants short on one day in ten of thirty years, so it may water oftener."""

# Loam, and emitters that wet half of the ground under desert plants, 0.7 under plants
# that use more (Utah State Extension, read: half at least, 0.6 or more better), all of
# it under ground cover, whose lines lie close.
PLANTED = {
    "desert trees": ("trees low water", "drip", 0.5),
    "high-use trees": ("trees moderate water", "drip", 0.7),
    "desert shrubs": ("shrubs low water", "drip", 0.5),
    "high-use shrubs": ("shrubs moderate water", "drip", 0.7),
    "desert ground cover": ("groundcover low water", "drip", 1),
    "high-use ground cover": ("groundcover moderate water", "drip", 1),
    "cacti": ("succulents", "drip", 0.5),
    "warm turf": ("dormant turf", "rotor", 1),
    "overseeded turf": ("overseeded turf", "rotor", 1),
}


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    folder = tmp_path_factory.mktemp("desert")
    (folder / "site.toml").write_text(
        "[site]\nlatitude = 32\nlongitude = -112\nelevation_m = 110\n"
        f"[climate]\nfile = '{HOT_DESERT}'\n"
        "[supply]\npressure_psi = 45\n[controller]\nlongest_run_min = 600\n"
    )
    rows = ["zone,plant,soil,area_ft2,flow_gpm,head_kind,wetted_share"]
    for name, (plant, kind, share) in PLANTED.items():
        flow = 14 if kind == "rotor" else 4
        rows.append(f"{name},{plant},loam,2000,{flow},{kind},{share}")
    (folder / "zones.csv").write_text("\n".join(rows))
    return plan_site(read_site(folder))


def days_between(plan):
    """Mean days between waterings, (zone, month); infinite where nothing runs."""
    schedule = plan.plan.schedule
    runs = schedule.cycles > 0
    with np.errstate(divide="ignore"):
        return np.where(runs, 7 / np.where(runs, schedule.days_per_week, 1), np.inf)


def agencies(name, season):
    """Least and most days between waterings that the agencies print."""
    place = list(SEASONS).index(season)
    printed = [*BOOKLET[name][place], *(MESA[name][m] for m in SEASONS[season])]
    return np.nanmin(printed), np.nanmax(printed)


def test_days_between_waterings_are_those_of_the_desert_agencies(planned):
    found = days_between(planned)
    side_by_side, outside = [], []
    for row, name in enumerate(PLANTED):
        for season, months in SEASONS.items():
            least, most = agencies(name, season)
            here = float(np.median(found[row, list(months)]))
            side_by_side.append(
                f"{name:22s} {season:7s} {least:5.1f} to {most:4.1f}   here {here:4.1f}"
            )
            # In winter rain may do alone: both say to skip after half an inch.
            too_seldom = here > most and season != "winter"
            if here < PRINTED_WITHIN * least or too_seldom:
                outside.append(side_by_side[-1])

    print("\n".join(side_by_side))
    assert not outside, outside


def test_plants_of_the_desert_are_watered_as_seldom_as_is_printed(planned):
    found = days_between(planned)
    for row, name in enumerate(PLANTED):
        if name == "cacti" or name.startswith("desert"):
            for season, months in SEASONS.items():
                least, _ = agencies(name, season)
                here = float(np.median(found[row, list(months)]))
                # Winter waterings lie 28 days apart at most: a month is off instead.
                assert here >= min(least, 28), (name, season, here)


# Summer takes 3 to 5 times the water of winter: Mesa AZ, December text (read). Rain of
# winter months lessens theirs further, so only the lower end can be held to.
def test_summer_takes_three_times_the_water_of_winter(planned):
    volume = planned.plan.volume_l
    summer, winter = volume[:, 5:8].sum(axis=1), volume[:, [11, 0, 1]].sum(axis=1)

    assert (summer >= 3 * winter).all()


# The roots that are planned for reach as deep as the booklet asks to wet. A watering
# fills half of their allowed depletion at least (design, step 7): the booklet's fill
# all of it, so those that are planned here may stop short of the lowest roots.
def test_roots_reach_as_deep_as_the_booklet_wets(planned):
    june, plan, inputs = 5, planned.plan, planned.inputs
    net = (
        plan.event_minutes[:, june]
        / 60
        * inputs.valve.rate_mm_h
        / inputs.valve.run_time_multiplier
    )
    filled = net / inputs.ground.allowed_depletion_mm[:, 0]
    depth_in = planned.stands_on.roots.root_depth_mm / 25.4
    for row, name in enumerate(PLANTED):
        least, most = BOOKLET[name][4]
        print(f"{name:22s} {least} to {most} in   here {depth_in[row]:.0f}, "
              f"{filled[row]:.0%} of what may be used is filled")  # fmt: skip
        assert least - 0.01 <= depth_in[row] <= most + 0.01, name
        # Minutes are whole.
        assert filled[row] > 0.48, name


def planned_cacti(folder, soil="sand", more=""):
    (folder / "site.toml").write_text(
        "[site]\nlatitude = 32\nlongitude = -112\n"
        f"[climate]\nfile = '{HOT_DESERT}'\n[supply]\npressure_psi = 45\n"
        f"[controller]\nlongest_run_min = 600\n{more}"
    )
    (folder / "zones.csv").write_text(
        "zone,plant,soil,area_ft2,flow_gpm,head_kind\n"
        f"1,cacti,{soil},1000,2,drip\n2,native oaks,{soil},1000,2,bubbler\n"
    )
    return plan_site(read_site(folder))


def coded(plan, code):
    return [(c.zone, c.month) for c in plan.cautions if c.code == code]


# The booklet's least for cacti, 14 days, on any soil; the plan says that on sand they
# use up what their roots hold.
@pytest.mark.parametrize("soil", ["sand", "sandy loam", "clay"])
def test_cacti_are_never_watered_twice_in_14_days(tmp_path, soil):
    plan = planned_cacti(tmp_path, soil)
    # Within a year: the years are gone round twice, and at their turn the December of
    # the first round counts.
    apart = [np.diff(np.flatnonzero(year)) for year in plan.settings.water_mm[0]]

    assert np.concatenate(apart).min() >= 14
    told = [c.values["shortest_gap_days"] for c in plan.cautions
            if c.code == "stays-dry" and c.zone == "1"]  # fmt: skip
    assert set(told) == ({14} if soil == "sand" else set())


# Without intervals, on Monday and Thursday, a week is the most there is.
def test_a_shortest_gap_that_yields_is_told(tmp_path):
    more = 'intervals = false\n[[window]]\ndays = ["mon", "thu"]\n'
    plan = planned_cacti(tmp_path, "sandy loam", more)
    runs = np.flatnonzero(plan.plan.schedule.cycles[0]) + 1

    assert coded(plan, "watered-too-often") == [
        (zone, month)
        for zone, month in coded(plan, "watered-too-often")
        if zone == "2" or month in runs
    ]
    assert {m for z, m in coded(plan, "watered-too-often") if z == "1"} == set(runs)
    assert set(plan.plan.schedule.days_per_week[0][runs - 1]) == {1}


# Oregon State and University of California extension (read): no water under native oaks
# in summer, June to September here.
def test_native_oaks_get_no_water_in_summer(tmp_path):
    plan = planned_cacti(tmp_path)
    summer = slice(5, 9)

    assert not plan.plan.schedule.cycles[1, summer].any()
    assert np.isnan(plan.plan.dry_share[1, summer]).all()
    assert plan.plan.schedule.cycles[1].any()
    assert coded(plan, "summer-dry") == [("2", month) for month in (6, 7, 8, 9)]
