"""The picture of a year: what is drawn is what was played."""

from pathlib import Path

import numpy as np
import pytest

from scheduler.budget import replay
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report.pictures.look import look
from scheduler.report.pictures.replay import replay_figure

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def played():
    return replay.replay(plan_site(read_site(EXAMPLES / "southern_garden")))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_texts_lie_apart_on_the_paper(played, units, check_texts):
    # Parts differ in their bars: all in one system of units, one in the other.
    parts = len(played.stage.store) if units == "us" else 1
    with look():
        for part in range(parts):
            check_texts(replay_figure(played, part, None, units))


def test_bars_and_line_are_the_days_of_the_year(played):
    with look():
        figure = replay_figure(played, 1, 4, "metric")
    rain, ground, water = figure.axes
    way = played.way("table")

    heights = [bar.get_height() for bar in rain.containers[0]]
    assert heights == pytest.approx(played.stage.years.rain_mm[4].tolist())
    heights = [bar.get_height() for bar in water.containers[0]]
    assert heights == pytest.approx(way.waterings.water_mm[1, 4].tolist())
    limit, line = ground.get_lines()[-2:]
    depletion = way.played.depletion_mm[1, 4].mean(axis=1)
    assert np.allclose(line.get_ydata(), depletion)
    assert limit.get_ydata()[0] > 0


def test_year_in_the_middle_has_as_many_drier_as_wetter(played):
    way = played.way("table")
    row = replay.median_year(way, 0)

    dry = way.dry_by_year[0]
    assert (dry < dry[row]).sum() <= 15
    assert (dry > dry[row]).sum() <= 15
