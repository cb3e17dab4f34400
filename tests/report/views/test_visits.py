"""Visits a year set side by side: as the card of so many visits says it itself."""

import re

import pytest
from cards import KEYED_IN, L_PER, cells_of, plan_of, zones_of

from scheduler.plan.card.plan import compare_cards
from scheduler.report import blocks
from scheduler.report.views import card as report
from scheduler.report.views import visits


def test_comparison_sets_visits_side_by_side():
    plan = plan_of("home")
    of_visits = compare_cards(plan, KEYED_IN, visits.COMPARED)
    data = visits.comparison_data(of_visits)["compared"]
    text = blocks.text(visits.comparison_blocks(plan, of_visits, "us"), "us")

    assert [row["visits"] for row in data] == [1, 2, 3, 4, 6, 12]
    table_l = sum(
        month["volume_l"]
        for zone in zones_of(plan).values()
        for month in zone["months"]
    )
    for row, card in zip(data, of_visits, strict=True):
        # The percent is that of the table's water (definition).
        assert row["water_l_year"] / table_l == pytest.approx(
            1 + row["extra_water_percent"] / 100
        )
        assert len(row["months"]) <= row["visits"]
        # What the printed card of so many visits says.
        told = blocks.text(report.blocks(plan, card, "us"), "us")
        kept = "see the end" not in " ".join(told.split())
        assert kept == (row["not_kept"] == 0)
        pairs = cells_of(told, "Minutes of a watering day").values()
        shares = [mine / table for mine, table in pairs if mine and table]
        assert row["shallowest_share"] == pytest.approx(min(shares))
        line = re.search(rf"^ *{row['visits']} +([\d,]+) ", text, re.MULTILINE)
        gallons = float(line[1].replace(",", ""))
        assert gallons * L_PER["us"] == pytest.approx(row["water_l_year"], rel=1e-5)
    assert max(map(len, text.splitlines())) <= 100
