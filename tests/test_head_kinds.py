"""Kinds of head in the package's table: usual values, and limits."""

from __future__ import annotations

import csv
from importlib import resources

import pytest

STATUSES = ("read", "second-hand", "from memory")


def read_by_kind() -> dict[str, dict[str, str]]:
    """Rows of head_kinds.csv by their kind."""
    place = resources.files("scheduler.tables") / "head_kinds.csv"
    with place.open(encoding="utf-8") as stream:
        return {row["head_kind"]: row for row in csv.DictReader(stream)}


# Uniformity: audits pass at 0.65 for fixed spray and 0.70 for rotating heads
# (second-hand), 'good' in auditor tables; drip and bubblers 0.80, common practice.
# Pressures and wetted shares: common practice.
@pytest.mark.parametrize(
    ("head_kind", "uniformity", "pressure_psi", "wetted_share"),
    [
        ("rotor", 0.70, 45, 1.0),
        ("spray", 0.65, 30, 1.0),
        ("multi-stream", 0.70, 45, 1.0),
        ("drip", 0.80, 25, 0.5),
        ("bubbler", 0.80, 25, 0.5),
    ],
)
def test_head_kinds_have_the_usual_values(
    head_kind, uniformity, pressure_psi, wetted_share
):
    row = read_by_kind()[head_kind]

    assert float(row["uniformity"]) == uniformity
    assert float(row["pressure_psi"]) == pressure_psi
    assert float(row["wetted_share"]) == wetted_share
    assert "common practice" in row["source"]


# Rows 'excellent' of auditor tables for rotor and spray (from memory), the rest common
# practice; common rates of the trade, in/h; least working pressures of each kind, psi,
# and least runs, minutes: common practice.
@pytest.mark.parametrize(
    ("head_kind", "reachable", "rates_in_h", "pressure_psi", "cycle_min", "drips"),
    [
        ("rotor", 0.80, (0.25, 1.0), 25, 6, "no"),
        ("spray", 0.75, (1.0, 2.5), 15, 2, "no"),
        ("multi-stream", 0.80, (0.35, 0.9), 30, 6, "no"),
        ("drip", 0.90, (0.05, 2.0), 8, 10, "yes"),
        ("bubbler", 0.90, (0.5, 8.0), 10, 2, "yes"),
    ],
)
def test_head_kinds_have_their_limits(
    head_kind, reachable, rates_in_h, pressure_psi, cycle_min, drips
):
    row = read_by_kind()[head_kind]

    assert float(row["reachable_uniformity"]) == reachable
    assert (float(row["least_rate_in_h"]), float(row["most_rate_in_h"])) == rates_in_h
    assert float(row["least_pressure_psi"]) == pressure_psi
    assert float(row["least_cycle_min"]) == cycle_min
    assert row["drips"] == drips
    assert "common practice" in row["limits_source"]
    assert row["limits_status"] in STATUSES


# Good order is better than usual, and a usual pressure more than the least.
def test_limits_of_head_kinds_are_on_their_side_of_the_usual():
    for row in read_by_kind().values():
        assert float(row["uniformity"]) < float(row["reachable_uniformity"]) <= 1
        assert float(row["least_pressure_psi"]) < float(row["pressure_psi"])
        assert float(row["least_rate_in_h"]) < float(row["most_rate_in_h"])


def test_head_kinds_are_five():
    assert len(read_by_kind()) == 5
