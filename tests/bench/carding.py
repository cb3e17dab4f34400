"""Time and gap of the controller card, one core: python tests/bench/carding.py

All the examples as they are, and the 24 zones of the business park on a controller of
4 programs, with cycle and soak built in and without: all numbers of visits at once.
"""

from __future__ import annotations

import datetime
import os
import time
from dataclasses import replace
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import plan_cards
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[2] / "examples"
YEAR = 2027
SITES = (
    ("home", {}),
    ("southern_garden", {}),
    ("business_park", {}),
    ("business_park", {"programs": 4.0}),
    ("business_park", {"programs": 4.0, "soak_built_in": False}),
)


def main() -> None:
    """Print a block for each site: seconds, and extra water and gap by visits."""
    for name, changes in SITES:
        site = read_site(EXAMPLES / name)
        site = replace(site, controller=replace(site.controller, **changes))
        plan = plan_site(site)
        start = time.perf_counter()
        cards = plan_cards(plan, datetime.date(YEAR, 1, 1))
        seconds = time.perf_counter() - start
        told = ", ".join(f"{key} {value}" for key, value in changes.items())
        print(f"{name} {told}: {len(site.zones)} zones, "
              f"{site.controller.programs:g} programs: {seconds:.1f} s")  # fmt: skip
        for visits, card in enumerate(cards.cards, 1):
            if card is None:
                print(f"  {visits:2} visits: none found")
                continue
            gap = card.extra_water_percent - card.bound_extra_percent
            print(f"  {visits:2} visits: extra {card.extra_water_percent:5.2f} %, "
                  f"bound {card.bound_extra_percent:5.2f} %, gap {gap:5.2f}, "
                  f"short {card.worst_shortfall_percent:4.2f} %")  # fmt: skip


if __name__ == "__main__":
    main()
