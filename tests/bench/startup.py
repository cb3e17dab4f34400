"""Wall time of verbs against bare imports, in turns: python tests/bench/startup.py"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS = 9
COMMANDS = {
    "import typer": ["-c", "import typer"],
    "scheduler --help": ["-m", "scheduler", "--help"],
    "import pandas, typer, tabulate": ["-c", "import pandas, typer, tabulate"],
    "scheduler table examples/home": ["-m", "scheduler", "table", "examples/home"],
}
RATIOS = (
    ("scheduler --help", "import typer"),
    ("scheduler table examples/home", "import pandas, typer, tabulate"),
)


def main() -> None:
    """Print the median of each command, and the two ratios that matter."""
    seconds: dict[str, list[float]] = {name: [] for name in COMMANDS}
    for _ in range(ROUNDS):
        for name, arguments in COMMANDS.items():
            start = time.perf_counter()
            subprocess.run(
                [sys.executable, *arguments], cwd=ROOT, check=True, capture_output=True
            )
            seconds[name].append(time.perf_counter() - start)
    medians = {name: statistics.median(times) for name, times in seconds.items()}
    for name, median in medians.items():
        print(f"{median * 1000:6.0f} ms  {name}")
    for verb, bare in RATIOS:
        print(f"{medians[verb] / medians[bare]:6.2f} x  {verb} over {bare}")


if __name__ == "__main__":
    main()
