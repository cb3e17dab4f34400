"""A site through all rooms: what its settings do to the table, and what is said."""

import dataclasses

import numpy as np
import pytest

from scheduler.calendar import PARITIES, weekday_names
from scheduler.errors import InputError
from scheduler.findings.check import find
from scheduler.inputs.folder import read_site
from scheduler.plan import site as sites
from scheduler.plan.zones import is_drip
from scheduler.report import blocks
from scheduler.report.views import check as check_view
from scheduler.report.views import table as table_view

CLIMATE = "month,et0_mm_day,rain_mm,tmin_c,tmax_c\n" + "".join(
    f"{month},5,30,{-1 if month == 1 else 10},25\n" for month in range(1, 13)
)
ZONES = (
    "zone,plant,soil,head_kind,area_m2,flow_l_min,plant_factor,root_depth_mm\n"
    "lawn,cool-season turf california,loam,rotor,100,20,,200\n"
    "hedge,hedges,loam,drip,50,5,0.5,500\n"
)


@pytest.fixture
def planned(tmp_path):
    """Function that plans a site of a lawn and a hedge with these settings."""

    def plan(latitude=40, climate="", zones=ZONES, by="months", **tables):
        lines = [f"[site]\nlatitude = {latitude}\nlongitude = 0"]
        lines.append(f'[climate]\nfile = "climate.csv"\n{climate}')
        lines.append(f'[plan]\nby = "{by}"')
        lines += [f"[{name}]\n{text}" for name, text in tables.items() if text]
        windows = tables.pop("window", "")
        lines = [line for line in lines if not line.startswith("[window]")]
        lines.append(windows)
        (tmp_path / "site.toml").write_text("\n".join(lines) + "\n")
        (tmp_path / "climate.csv").write_text(CLIMATE)
        (tmp_path / "zones.csv").write_text(zones)
        return sites.plan_site(read_site(tmp_path))

    return plan


def coded(site_plan, code):
    return [(c.zone, c.month) for c in site_plan.cautions if c.code == code]


# Ground counts as dry at 1.1 of the allowed depletion; with all of the store allowed
# nothing would be dry, nor watered (and stress is over 0 mm, FAO-56 eq. 84).
def test_most_that_may_be_allowed_is_still_watered_in_a_dry_summer(planned):
    def hedge(share):
        header, _, row = ZONES.splitlines()
        return f"{header},depletion\n{row},{share}\n"

    assert planned(by="days", zones=hedge(0.9)).plan.volume_l.sum() > 0
    with pytest.raises(InputError, match=r"over 0 and up to 0\.9"):
        planned(by="days", zones=hedge(0.91))


# University of California, "Turfgrass Crop Coefficients (Kc)", table 1: July 0.94,
# January 0.61. South of the equator they change places; a plant factor stays.
@pytest.mark.parametrize(
    ("latitude", "january", "july"), [(40, 0.61, 0.94), (-40, 0.94, 0.61)]
)
def test_coefficients_are_those_of_the_place_and_a_plant_factor_replaces_them(
    planned, latitude, january, july
):
    plan = planned(latitude)

    assert plan.plant_coefficient[0, [0, 6]].tolist() == [january, july]
    assert plan.plant_coefficient[1].tolist() == [0.5] * 12
    # Need: ET0 of 5 mm a day · coefficient · 31 days.
    np.testing.assert_allclose(
        plan.plan.plant_need_mm[:, 6], [5 * july * 31, 5 * 0.5 * 31], rtol=1e-12
    )


def test_frost_turns_a_month_off_unless_the_site_waters_in_frost(planned):
    off, on = planned(), planned(climate="water_in_frost = true")

    assert coded(off, "frost-month") == [(None, 1)]
    assert not off.plan.schedule.cycles[:, 0].any()
    assert off.plan.net_need_mm[:, 0].all()
    assert coded(on, "frost-month") == []


# A mean minimum of -1 °C has more nights below freezing than above, 31 * 0.57 (normal
# law, deviation 5.33 °C); 10 °C with 3.9 °C of deviation has a fifth of one in a month.
def test_nights_of_frost_are_told_of_months_that_water(planned):
    off = planned()
    on = planned(climate="water_in_frost = true")
    (told,) = [c for c in on.cautions if c.code == "frost-nights"]

    assert coded(off, "frost-nights") == []
    assert told.month == 1
    assert told.values["nights"] == pytest.approx(31 * 0.5744, abs=0.05)
    assert on.plan.schedule.cycles[:, 0].all()


# By hand: a share of 0.4 of 30 mm is 12; none is none. With a rain shut-off none is the
# default, and counting rain as well is said.
@pytest.mark.parametrize(
    ("climate", "controller", "rain_mm", "twice"),
    [('effective_rain = "share"\nrain_share = 0.4', "", 12, False),
     ('effective_rain = "none"', "", 0, False),
     ("", "rain_shutoff_mm = 6", 0, False),
     ('effective_rain = "share"\nrain_share = 0.4', "rain_shutoff_mm = 6", 12, True)],
)  # fmt: skip
def test_rain_is_counted_as_the_site_says(planned, climate, controller, rain_mm, twice):
    plan = planned(climate=climate, controller=controller)

    np.testing.assert_allclose(plan.plan.effective_rain_mm, rain_mm, rtol=1e-12)
    assert coded(plan, "rain-counted-twice") == [(None, None)] * twice


# Design, site.toml: the first window whose months and head kinds fit holds; where
# windows are given and none fits, watering is not permitted.
def test_the_first_window_that_fits_holds_and_none_means_not_permitted(planned):
    plan = planned(
        window=(
            '[[window]]\nhead_kinds = ["drip"]\ndays = ["sun"]\n'
            '[[window]]\nmonths = ["4-9"]\ndays = ["tue", "sat"]\n'
            '[[window]]\nmonths = ["9-10"]\ndays = "odd"\n'
        )
    )
    weekdays, parity = plan.plan.schedule.weekdays, plan.plan.schedule.parity

    summer = weekdays[0, 3:9]
    assert {weekday_names(int(bits)) for bits in summer} <= {
        ("tue",), ("sat",), ("tue", "sat"),
    }  # fmt: skip
    assert summer.all()
    assert parity[0].tolist() == [0] * 9 + [PARITIES.index("odd"), 0, 0]
    assert not weekdays[0, [1, 2, 10, 11]].any()
    # January is off for frost, and needs no permission.
    assert coded(plan, "not-permitted") == [("lawn", m) for m in (2, 3, 11, 12)]
    assert {weekday_names(int(bits)) for bits in weekdays[1, 1:]} == {("sun",)}


def test_drip_alone_does_not_run_off(planned):
    zones = "zone,plant,soil,head_kind,area_m2,flow_l_min\n" + "".join(
        f"{kind},hedges,clay,{kind},10,20\n"
        for kind in ("rotor", "spray", "multi-stream", "drip", "bubbler")
    )

    plan = planned(zones=zones)

    # 120 mm/h on clay, 0.10 in/h and 0.20 in on the surface: 60 · 5.08 / (120 - 2.54)
    # = 2.595 min; none for drip. A bubbler fills basins 3 in deep, 76.2 mm, on half of
    # the ground at 240 mm/h: 60 · 76.2 / (240 - 2.54) = 19.254 min.
    limit = plan.plan.runoff_limit_min
    np.testing.assert_allclose(limit[:3], 2.595, rtol=0, atol=0.0005)
    assert np.isinf(limit[3])
    assert limit[4] == pytest.approx(19.254, abs=0.0005)
    assert is_drip(plan.site).tolist() == [False] * 3 + [True] * 2


# FAO-29 (from memory): tall fescue stands 3.9 dS/m, water of 2 needs 2 / (19.5 - 2) =
# 11.4 % more to pass below the roots. Of hedges no threshold is in the table.
def test_salty_water_raises_the_gross_need_or_says_that_it_cannot(planned):
    fresh, salty = planned(), planned(water="salinity_ds_m = 2")

    ratio = salty.plan.gross_need_mm[:, 6] / fresh.plan.gross_need_mm[:, 6]
    np.testing.assert_allclose(ratio, [1 / (1 - 2 / 17.5), 1], rtol=1e-12)
    assert coded(salty, "salt-tolerance-unknown") == [("hedge", None)]
    assert coded(fresh, "salt-tolerance-unknown") == []


# Under a tenth the lawn's sprinklers wash salt down by their unevenness (common
# practice): water of 1 dS/m asks for 1 / (19.5 - 1) = 5.4 %.
def test_light_leaching_is_left_to_the_sprinklers(planned):
    fresh, salty = planned(), planned(water="salinity_ds_m = 1")

    np.testing.assert_array_equal(salty.plan.gross_need_mm, fresh.plan.gross_need_mm)
    (told,) = [c for c in salty.cautions if c.code == "salt-washed"]
    assert (told.zone, told.values["by"]) == ("lawn", "sprinklers")
    assert told.values["share"] == pytest.approx(1 / 18.5, rel=1e-9)


# 6 dS/m on tall fescue asks for 6 / (19.5 - 6) = 44 %, over a third. A third drains, so
# the soil comes to 6 (1 + 3) / 5 = 4.8 dS/m, where 3.9 are stood.
def test_water_too_salty_for_leaching_says_what_the_soil_comes_to(planned):
    fresh, salty = planned(), planned(water="salinity_ds_m = 6")

    ratio = salty.plan.gross_need_mm[0, 6] / fresh.plan.gross_need_mm[0, 6]
    assert ratio == pytest.approx(1.5, rel=1e-12)
    (told,) = [c for c in salty.cautions if c.code == "salinity-high"]
    assert told.zone == "lawn"
    assert told.values["soil_ds_m"] == pytest.approx(4.8, rel=1e-9)


# 20 L/min on the lawn: a supply of just that is enough.
@pytest.mark.parametrize(("supply", "over"), [(20, []), (19.9, [("lawn", None)])])
def test_a_zone_over_the_supply_is_named(planned, supply, over):
    plan = planned(supply=f"design_flow_l_min = {supply}")

    assert coded(plan, "over-design-flow") == over


def test_the_plan_of_a_site_keeps_what_it_stands_on(planned):
    plan = planned()

    assert plan.months.method == "given"
    assert plan.rates.rate_mm_h.tolist() == pytest.approx([12, 6])
    assert plan.stands_on.slope_class.tolist() == [0, 0]
    assert len(plan.inputs) == len(plan.site.zones) == 2
    with pytest.raises(dataclasses.FrozenInstanceError):
        plan.plan = None


# Keys that only a plan by months uses do nothing by days, and that is told, once, in
# the table and in check; by months they are used, and nothing is told.
@pytest.mark.parametrize("by", ["days", "months"])
def test_keys_that_a_plan_by_days_does_not_use_are_told(planned, by):
    keys = {"effective_rain": '"share"', "rain_share": "0.3", "dry_year_percentile": 80}
    climate = "\n".join(f"{key} = {value}" for key, value in keys.items())
    plan = planned(climate=climate, by=by)
    names = [c.values["names"] for c in plan.cautions if c.code == "not-used-by-days"]
    told = "site.toml [climate] effective_rain, rain_share, dry_year_percentile"

    assert names == (
        [tuple(f"site.toml: climate.{key}" for key in keys)] if by == "days" else []
    )
    for text in (
        blocks.text(table_view.blocks(plan, "us"), "us"),
        blocks.text(check_view.blocks(plan, find(plan), "us"), "us"),
    ):
        assert " ".join(text.split()).count(told) == (by == "days")


# A key of old is read, does nothing, and is told with the key that took its place.
def test_a_key_that_was_replaced_is_told_with_the_new_key(planned):
    old, new = planned(controller="shortfall_percent = 5"), planned()
    told = [c for c in old.cautions if c.code == "key-replaced"]

    assert [c.values for c in told] == [
        {"name": "site.toml: controller.shortfall_percent",
         "by": "plan.dry_days_percent"}
    ]  # fmt: skip
    assert coded(new, "key-replaced") == []
    assert not [a for a in new.site.assumed if a.field.name == "shortfall_percent"]
    for text in (
        blocks.text(table_view.blocks(old, "us"), "us"),
        blocks.text(check_view.blocks(old, find(old), "us"), "us"),
    ):
        text = " ".join(text.split())
        assert "site.toml [controller] shortfall_percent" in text
        assert "plan.dry_days_percent" in text
    without, beside = (
        blocks.text(table_view.blocks(plan, "us"), "us").splitlines()
        for plan in (new, old)
    )
    assert set(without) <= set(beside)


# Of nothing written nothing is told, nor are the defaults.
def test_a_plan_by_days_tells_no_default_that_it_does_not_use(planned):
    plan = planned(by="days")
    assumed = {a.field.name for a in plan.site.assumed}

    assert coded(plan, "not-used-by-days") == []
    assert not assumed & {"effective_rain", "rain_share", "dry_year_percentile"}
