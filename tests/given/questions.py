"""Answers to what people ask once the controller is set, worked out once."""

from functools import cache

import numpy as np
from cards import plan_of

from scheduler.budget.less.less import less_water, year_l
from scheduler.budget.less.ways import ways_of
from scheduler.findings.doubt import doubt_site


@cache
def ways_to_water(example):
    return ways_of(plan_of(example))


@cache
def less_of(example, percent):
    plan, ways = plan_of(example), ways_to_water(example)
    target = (1 - percent / 100) * year_l(plan).sum()
    return less_water(plan, target, np.sum, target, ways=ways)


@cache
def doubts_of(example):
    return doubt_site(plan_of(example))
