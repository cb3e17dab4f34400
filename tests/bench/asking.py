"""CPU seconds of `less`, `doubt` and what-ifs on 24 zones: python tests/bench/asking.py

Beyond start-up and the plan itself; what-ifs also one by one, for a share of them.
"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from scheduler.budget.less.less import less_water, year_l
from scheduler.findings.doubt import doubt_site
from scheduler.inputs.folder import read_site
from scheduler.plan.inputs import what_if
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import plan_site

SITE = Path(__file__).parents[2] / "examples" / "business_park"
WHAT_IFS, ONE_BY_ONE = 1000, 24


def taken(what: Callable[[], object]) -> float:
    """CPU seconds of a call."""
    begun = time.process_time()
    what()
    return time.process_time() - begun


def main() -> None:
    """Print what each takes."""
    plan = plan_site(read_site(SITE))
    zones = len(plan.site.zones)
    target = 0.8 * year_l(plan).sum()
    print(f"{zones} zones")
    print(
        f"less 20 %  {taken(lambda: less_water(plan, target, np.sum, target)):6.2f} s"
    )
    print(f"doubt      {taken(lambda: doubt_site(plan)):6.2f} s")
    own = plan.inputs.ground.landscape_coefficient
    count = -(-WHAT_IFS // zones)
    factors = np.linspace(0.8, 1.2, count)

    def together() -> None:
        plan_valves(
            what_if(plan.inputs, landscape_coefficient=[f * own for f in factors])
        )

    def apart() -> None:
        for factor in factors[:: max(count // ONE_BY_ONE, 1)]:
            plan_valves(what_if(plan.inputs, landscape_coefficient=[factor * own]))

    rows = count * zones
    some = len(factors[:: max(count // ONE_BY_ONE, 1)]) * zones
    print(f"{rows} what-ifs planned in one call  {taken(together):6.2f} s")
    print(f"{some} of them, a site at a time     {taken(apart):6.2f} s")


if __name__ == "__main__":
    main()
