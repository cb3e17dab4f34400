"""Time and figures of the controller card, one core: python tests/bench/carding.py

All the examples as they are, and the 24 zones of the business park on smaller
controllers, the worst with one program of two starts; then 40 and 50 zones, made of the
park's with slopes and areas of their own, that its nights cannot hold. Cards for 1, 4
and 12 visits, each planned by itself, then the comparison of visits, which shares work
among its cards. Seconds stand beside how many times the planning of the site's table
took in the same run, for machines differ. Names of sites after it plan those alone.
"""

from __future__ import annotations

import csv
import datetime
import os
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

from scheduler.inputs.folder import read_site
from scheduler.inputs.site import Site
from scheduler.plan.card.plan import Card, compare_cards
from scheduler.plan.card.ways_out import ways_out
from scheduler.plan.site import plan_site
from scheduler.report.views.visits import COMPARED

EXAMPLES = Path(__file__).parents[2] / "examples"
START = datetime.date(2027, 1, 1)
VISITS = (1, 4, 12)
SITES = (
    ("home", 0, {}),
    ("southern_garden", 0, {}),
    ("desert_garden", 0, {}),
    ("business_park", 0, {}),
    ("business_park", 0, {"programs": 4.0}),
    ("business_park", 0, {"programs": 4.0, "soak_built_in": False}),
    ("business_park", 0, {"programs": 1.0, "starts": 2.0}),
    ("business_park", 40, {}),
    ("business_park", 50, {}),
)
"""Example, number of zones or 0 for its own, and what its controller has else."""
ALIKE_AREA = 1.07


def main() -> None:
    """Print a block for each site: seconds and figures of a card by visits."""
    for name, zones, changes in SITES:
        if sys.argv[1:] and name not in sys.argv[1:]:
            continue
        site = repeated(name, zones) if zones else read_site(EXAMPLES / name)
        site = replace(site, controller=replace(site.controller, **changes))
        start = time.process_time()
        plan = plan_site(site)
        table_s = time.process_time() - start
        told = ", ".join(f"{key} {value}" for key, value in changes.items())
        programs = f"{site.controller.programs:g} programs"
        print(f"{name} {told}: {len(site.zones)} zones, {programs}; "
              f"table {table_s:.2f} s")  # fmt: skip
        for visits in VISITS if not zones else VISITS[1:2]:
            start = time.process_time()
            card = compare_cards(plan, START, (visits,))[0]
            print(f"  {visits:2} visits: {_taken(start, table_s)}, {figures(card)}",
                  flush=True)  # fmt: skip
            if card.judged.broken:
                start = time.process_time()
                ways = ways_out(plan, card, START)
                print(f"      {len(ways)} ways out: {_taken(start, table_s)}",
                      flush=True)  # fmt: skip
        if not zones:
            start = time.process_time()
            compare_cards(plan, START, COMPARED)
            print(f"  all compared: {_taken(start, table_s)}", flush=True)


def _taken(start_s: float, table_s: float) -> str:
    seconds = time.process_time() - start_s
    return f"{seconds:.1f} s ({seconds / table_s:.0f} tables)"


def repeated(name: str, zones: int) -> Site:
    """An example with its zones over again, larger and steeper, as many as asked."""
    with tempfile.TemporaryDirectory() as folder:
        for path in (EXAMPLES / name).iterdir():
            text = path.read_text(encoding="utf-8")
            text = text.replace("../..", str(EXAMPLES.parent))
            rows = list(csv.DictReader(li for li in text.splitlines() if li[:1] != "#"))
            if path.suffix == ".csv" and "zone" in rows[0]:
                text = _over_again(rows, zones)
            (Path(folder) / path.name).write_text(text, encoding="utf-8")
        return read_site(Path(folder))


def _over_again(rows: list[dict[str, str]], zones: int) -> str:
    names = list(dict.fromkeys(row["zone"] for row in rows))
    lines = [",".join(rows[0])]
    for zone in range(zones):
        turn, of = divmod(zone, len(names))
        for row in rows:
            if row["zone"] != names[of]:
                continue
            own = {"zone": str(zone + 1)}
            if "station" in row:
                own |= {
                    "station": str(zone + 1),
                    "name": f"{row['name']} {turn + 1}",
                    "area_ft2": f"{float(row['area_ft2']) * ALIKE_AREA**turn:.0f}",
                    "slope_percent": f"{float(row['slope_percent']) + turn:g}",
                }
            lines.append(",".join(cell or "" for cell in (row | own).values()))
    return "\n".join(lines) + "\n"


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
