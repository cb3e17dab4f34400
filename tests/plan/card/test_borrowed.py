"""Cards of controllers that are far too small: programs of one month for others."""

import datetime
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site

HOME = Path(__file__).parents[3] / "examples" / "home"
NEW_YEAR = datetime.date(2027, 1, 1)


# Common practice: on a controller too small for a dry summer all zones get less, and
# none is left without water all year.
@pytest.mark.parametrize("visits", [1, 2])
def test_a_controller_far_too_small_leaves_no_zone_without_water(visits):
    site = read_site(HOME)
    clay = np.full_like(site.zones.soil, site.soils.names.index("clay"))
    window = replace(
        site.windows[-1],
        head_kinds=HEAD_KINDS,
        weekdays=("tue", "thu", "sun"),
        opens="20:00",
        closes="05:30",
        most_days_a_week=3,
    )
    controller = replace(
        site.controller,
        programs=2,
        starts=2,
        minute_step=5,
        percent_step=10,
        percent_by="controller",
        zones_at_once=2,
        soak_built_in=True,
    )
    plan = plan_site(
        replace(
            site,
            zones=replace(site.zones, soil=clay),
            windows=(window,),
            controller=controller,
        )
    )
    judged = plan_card(plan, NEW_YEAR, visits).judged

    assert judged.broken
    assert np.all(judged.water_l.sum(axis=1) > 0)
