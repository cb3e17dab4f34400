"""What zones want of a card, in whole steps of run time."""

import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.folder import read_site
from scheduler.plan.card.needs import card_needs
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[3] / "examples"


# Definition: a day may fill the root zone of the ground that gets least, and a run has
# whole steps; so it is the first whole number of them that lays down as much.
@pytest.mark.parametrize("example", ["home", "business_park", "southern_garden"])
def test_steps_of_a_day_are_the_first_that_fill_the_root_zone(example):
    plan = plan_site(read_site(EXAMPLES / example))
    inputs, step = plan.inputs, plan.site.controller.minute_step
    needs = card_needs(plan, 2027)
    ground, valve = inputs.ground, inputs.valve
    share = valve.run_time_multiplier
    table_min = plan.plan.schedule.minutes_per_day.max(axis=1)

    least_over = []
    for row in range(len(needs.zones)):
        wanted_mm = Fraction(ground.total_available_water_mm[row, 0] * share[row])
        a_step_mm = Fraction(valve.rate_mm_h[row]) * Fraction(step) / 60
        steps = 1
        while steps * a_step_mm < wanted_mm * (1 - Fraction(1, 10**9)):
            steps += 1
        # What the table itself runs, salt's share included, is let pass.
        least_over.append(max(steps, math.ceil(table_min[row] / step - 1e-9)))

    assert needs.event_steps.tolist() == least_over
    assert np.all(needs.event_steps >= 1)
