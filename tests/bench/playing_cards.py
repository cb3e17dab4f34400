"""Cards of drawn sites, played: python tests/bench/playing_cards.py [COUNT SEED]

Every site of `given/drawn_cards.py` from a seed on (300 from 0) gets its cards for one
and three visits a year, which `plan/card/test_card_by_simulator.py` plays minute by
minute. A line is printed for each site that breaks a rule, then a count. A crash ends
it, with the seed on standard error.
"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import sys
import time
import traceback
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "given"), str(TESTS / "plan" / "card")]

import test_card_by_simulator as simulator
from drawn_cards import drawn_site


def main() -> None:
    """Play the cards, and print what they break."""
    asked = [int(own) for own in sys.argv[1:]]
    count, first = (*asked, *(300, 0)[len(asked) :])
    broken, start = 0, time.process_time()
    for seed in range(first, first + count):
        print(f"\r{seed} ", end="", file=sys.stderr, flush=True)
        try:
            simulator.check_cards(*drawn_site(seed))
        except AssertionError as error:
            broken += 1
            at = traceback.extract_tb(error.__traceback__)
            where = next(
                (f.name for f in at if f.name.startswith("test_")), at[-1].name
            )
            print(f"seed {seed}: {where}: {error!s:.300}", flush=True)
    seconds = time.process_time() - start
    print(f"{count} sites from seed {first}: {broken} break a rule, {seconds:.0f} s")


if __name__ == "__main__":
    main()
