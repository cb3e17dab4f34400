"""`--picture` of every verb that draws: where it goes, and what is refused."""

import os
from pathlib import Path
from xml.etree import ElementTree

import pytest

from scheduler import cli

ROOT = Path(__file__).parents[1]
HOME = str(ROOT / "examples" / "home")
DAYS = str(ROOT / "climate_samples" / "dry_summer_valley_daily.csv")
CALLS = {
    "climate": ["climate", HOME],
    "climate of a file": ["climate", DAYS, "--latitude", "38", "--elevation", "10"],
    "table": ["table", HOME],
    "replay": ["replay", HOME],
    "rates": ["rates", HOME],
    "night": ["night", HOME, "--month", "7", "--date", "2026-07-17"],
    "coverage": ["coverage", HOME, "--cell-m", "1"],
}


@pytest.fixture(params=CALLS.values(), ids=CALLS)
def call(request, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return request.param


def test_picture_goes_to_its_file_and_text_where_it_went(call, capsys):
    assert cli.status(call) == 0
    text = capsys.readouterr().out
    assert cli.status([*call, "--picture", "a.svg"]) == 0
    assert capsys.readouterr().out == text
    assert cli.status([*call, "--picture", "b.svg", "--out", "b.txt"]) == 0

    assert capsys.readouterr().out == ""
    assert Path("b.txt").read_text(encoding="utf-8") == text
    drawn = Path("a.svg").read_bytes()
    assert Path("b.svg").read_bytes() == drawn
    assert ElementTree.fromstring(drawn).tag == "{http://www.w3.org/2000/svg}svg"
    assert sorted(os.listdir()) == ["a.svg", "b.svg", "b.txt"]


def test_csv_may_come_with_a_picture(call, capsys):
    assert cli.status([*call, "--format", "csv", "--picture", "a.PNG"]) == 0

    assert "," in capsys.readouterr().out.splitlines()[0]
    assert Path("a.PNG").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--picture", "a.pdf"], 'a.pdf: --picture: ".pdf" is no kind of picture'),
        (["--picture", "a.pdf", "--out", "t.txt"], "ends in .png or .svg"),
        (["--picture", "none/a.png"], "none/a.png: cannot be written: No such file"),
        (["--picture", "none/a.png", "--out", "t.txt"], "cannot be written"),
        (["--picture", "a.png", "--out", "none/t.txt"], "none/t.txt: cannot be"),
        (["--picture", "a.svg", "--out", "a.svg"], "is the file of --out too"),
    ],
)
def test_what_cannot_be_written_is_refused_and_nothing_is(
    options, told, capsys, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    assert cli.status([*CALLS["table"], *options]) == cli.INPUT_IS_WRONG

    printed = capsys.readouterr()
    assert told in printed.err
    assert printed.out == ""
    assert os.listdir() == []


def test_no_verb_writes_a_kind_of_picture_that_is_none(call, capsys):
    options = ["--picture", "a.pdf", "--out", "t.txt"]
    assert cli.status([*call, *options]) == cli.INPUT_IS_WRONG

    assert '".pdf" is no kind of picture' in capsys.readouterr().err
    assert os.listdir() == []


def test_fetched_weather_is_not_drawn_in_the_same_call(tmp_path, capsys):
    picture = tmp_path / "a.png"
    status = cli.status(
        ["climate", HOME, "--fetch", "nasa-power", "--picture", str(picture)]
    )

    assert status == cli.INPUT_IS_WRONG
    assert "by a second call" in capsys.readouterr().err
    assert not picture.exists()
