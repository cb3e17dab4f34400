"""The verb `nozzles`: one zone, and several charts."""

import json

from cli_answers import EXAMPLES

HOME = EXAMPLES / "home"
CHART = HOME / "nozzles.csv"


def test_one_zone_is_chosen_for_as_among_all(run):
    every = json.loads(run("nozzles", HOME, "--chart", CHART, "--format", "json").out)
    one = run("nozzles", HOME, "--chart", CHART, "--zone", "2", "--format", "json")
    (found,) = json.loads(one.out)["zones"]

    assert one.status == 0
    assert found == next(zone for zone in every["zones"] if zone["zone"] == "2")


def test_a_chart_in_two_files_is_the_chart_in_one(run, tmp_path):
    header, *rows = [line for line in CHART.read_text(encoding="utf-8").splitlines()
                     if not line.startswith("#")]  # fmt: skip
    by_name = {}
    for row in rows:
        by_name.setdefault(row.split(",")[0], []).append(row)
    names = list(by_name)  # Of equal sets the first of the chart is taken.
    parts = names[: len(names) // 2], names[len(names) // 2 :]
    charts = []
    for place, part in enumerate(parts):
        lines = [header, *(row for name in part for row in by_name[name])]
        path = tmp_path / f"chart_{place}.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        charts += ["--chart", path]
    whole = json.loads(run("nozzles", HOME, "--chart", CHART, "--format", "json").out)
    split = json.loads(run("nozzles", HOME, *charts, "--format", "json").out)

    assert split["zones"] == whole["zones"]


def test_an_unknown_zone_is_refused(run):
    told = run("nozzles", HOME, "--chart", CHART, "--zone", "9")

    assert (told.status, told.out) == (2, "")
    assert '"9" is not a zone' in told.err
