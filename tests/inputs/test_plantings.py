"""Dates and stages of new plantings: what is wrong with them is told, whole."""

import datetime

import pytest
from plantings import lawn, trees

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site

TODAY = datetime.date(2026, 7, 1)


def told(folder, today=TODAY):
    """What is wrong with a folder, line by line."""
    with pytest.raises(InputError) as error:
        read_site(folder, today)
    return "\n".join(str(problem) for problem in error.value.problems)


@pytest.mark.parametrize(
    ("planted", "stage", "wrong"),
    [
        ("", "sod", "zones.csv:2: planted: is blank, and stage sod tells of a new"),
        ("2026-06-12", "", "zones.csv:2: stage: is blank, and 2026-06-12 is a date of"),
        (
            "2026-07-02",
            "sod",
            "zones.csv:2: planted: 2026-07-02 is still to come, today",
        ),
        (
            "2006-07-01",
            "sod",
            "zones.csv:2: planted: 2006-07-01 is 20 years ago: it has",
        ),
        ("June", "sod", 'zones.csv:2: planted: "June" is not a date'),
        ("2026-06-12", "turf", 'zones.csv:2: stage: "turf" is not'),
    ],
)
def test_planting_that_cannot_be_is_told(tmp_path, planted, stage, wrong):
    assert wrong in told(lawn(tmp_path, planted=planted, stage=stage))


def test_tree_without_its_number_or_of_seed_is_told(tmp_path):
    trees(tmp_path, 2)
    text = (tmp_path / "zones.csv").read_text()
    (tmp_path / "zones.csv").write_text(text.replace("container", "seed"))
    assert "stage: seed has no trunk, and caliper_* tells of one" in told(tmp_path)
    text = text.replace("2,2,20,", "2,,,").replace(
        "uniformity,", "uniformity,area_ft2,"
    )
    (tmp_path / "zones.csv").write_text(text.replace("drip,0.9,", "drip,0.9,40,"))
    assert "plants: is blank, and caliper_* is one tree's" in told(tmp_path)


def test_days_of_an_exception_without_stages_are_told(tmp_path):
    lawn(tmp_path, "[[window]]\nstage_days = 30\n")
    wrong = "window[1].stage_days: is for new plantings, and stages names none"
    assert wrong in told(tmp_path)


def test_stage_of_a_window_that_there_is_not_is_told(tmp_path):
    lawn(tmp_path, '[[window]]\nstages = ["sodd"]\n')
    assert 'window[1].stages: "sodd" is not a stage' in told(tmp_path)


def test_windows_of_stages_stand_apart_and_hold_for_nothing_else(tmp_path):
    lawn(tmp_path, '[[window]]\nstages = ["sod"]\n[[window]]\ndays = "odd"\n')
    site = read_site(tmp_path, TODAY)

    assert [window.stages for window in site.exceptions] == [("sod",)]
    assert [window.stages for window in site.windows] == [()]
