"""Wall time of verbs against bare imports, in turns: python tests/bench/startup.py

Python keeps what it compiled, as it does for a package that is installed. The table is
one by months: playing years of days takes its own time, whatever the start costs.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUNDS = 9
COMMANDS = {
    "import typer": ["-c", "import typer"],
    "scheduler --help": ["-m", "scheduler", "--help"],
    "import pandas, typer, tabulate": ["-c", "import pandas, typer, tabulate"],
    "scheduler table examples/home": ["-m", "scheduler", "table", "SITE"],
}
RATIOS = (
    ("scheduler --help", "import typer"),
    ("scheduler table examples/home", "import pandas, typer, tabulate"),
)


def copied_by_months(name: str, folder: Path) -> Path:
    """A copy of an example, beside the weather it names, that is planned by months."""
    shutil.copytree(ROOT / "climate_samples", folder / "climate_samples")
    site = shutil.copytree(ROOT / "examples" / name, folder / "examples" / name)
    text = (site / "site.toml").read_text(encoding="utf-8")
    days, months = ('by = "days"', 'by = "months"')
    if days in text:
        text = text.replace(days, months)
    elif months not in text:
        text += f"\n[plan]\n{months}\n"
    (site / "site.toml").write_text(text, encoding="utf-8")
    return site


def main() -> None:
    """Print the median of each command, and the two ratios that matter."""
    seconds: dict[str, list[float]] = {name: [] for name in COMMANDS}
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": f"{folder}/compiled"}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        site = str(copied_by_months("home", Path(folder)))
        for round_ in range(1 + ROUNDS):
            for name, arguments in COMMANDS.items():
                written = [site if word == "SITE" else word for word in arguments]
                start = time.perf_counter()
                subprocess.run(
                    [sys.executable, *written],
                    cwd=ROOT, env=environment, check=True, capture_output=True,
                )  # fmt: skip
                if round_:
                    seconds[name].append(time.perf_counter() - start)
    medians = {name: statistics.median(times) for name, times in seconds.items()}
    for name, median in medians.items():
        print(f"{median * 1000:6.0f} ms  {name}")
    for verb, bare in RATIOS:
        print(f"{medians[verb] / medians[bare]:6.2f} x  {verb} over {bare}")


if __name__ == "__main__":
    main()
