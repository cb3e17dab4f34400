"""Time and figures of the controller card, one core: python tests/bench/carding.py

All the examples as they are, and the 24 zones of the business park on a controller of
4 programs, with cycle and soak built in and without: cards for 1, 4 and 12 visits, each
planned by itself, then the comparison of visits, which shares work among its cards.
Names of sites after it plan those alone.
"""

from __future__ import annotations

import datetime
import os
import sys
import time
from dataclasses import replace
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import Card, compare_cards
from scheduler.plan.card.ways_out import ways_out
from scheduler.plan.site import plan_site
from scheduler.report.views.visits import COMPARED

EXAMPLES = Path(__file__).parents[2] / "examples"
START = datetime.date(2027, 1, 1)
VISITS = (1, 4, 12)
SITES = (
    ("home", {}),
    ("southern_garden", {}),
    ("business_park", {}),
    ("business_park", {"programs": 4.0}),
    ("business_park", {"programs": 4.0, "soak_built_in": False}),
)


def main() -> None:
    """Print a block for each site: seconds and figures of a card by visits."""
    for name, changes in SITES:
        if sys.argv[1:] and name not in sys.argv[1:]:
            continue
        site = read_site(EXAMPLES / name)
        site = replace(site, controller=replace(site.controller, **changes))
        plan = plan_site(site)
        told = ", ".join(f"{key} {value}" for key, value in changes.items())
        print(f"{name} {told}: {len(site.zones)} zones, "
              f"{site.controller.programs:g} programs")  # fmt: skip
        for visits in VISITS:
            start = time.process_time()
            card = compare_cards(plan, START, (visits,))[0]
            seconds = time.process_time() - start
            print(f"  {visits:2} visits: {seconds:5.1f} s, {figures(card)}", flush=True)
            if card.judged.broken:
                start = time.process_time()
                ways = ways_out(plan, card, START)
                print(f"      {len(ways)} ways out: "
                      f"{time.process_time() - start:.1f} s", flush=True)  # fmt: skip
        start = time.process_time()
        compare_cards(plan, START, COMPARED)
        print(f"  all compared: {time.process_time() - start:.1f} s", flush=True)


def figures(card: Card) -> str:
    """What a card comes to, in a line."""
    judged, shallowest = card.judged, card.judged.shallowest
    share = "-" if shallowest is None else f"{shallowest[2]:.2f}"
    return (
        f"water {judged.extra_water_percent:+5.1f} %, gap {card.gap_percent:4.1f} %, "
        f"dry {judged.dry_days_percent():4.1f} % "
        f"(table {judged.dry_days_percent(of_table=True):4.1f}), shallowest {share}, "
        f"shortest run {judged.shortest_run_min or 0:g} min, "
        f"{len(judged.broken)} not kept, {len(card.by_hand)} months by hand"
    )


if __name__ == "__main__":
    main()
