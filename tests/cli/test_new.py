"""The verb `new`: a folder that runs as it is, made whole or not at all."""

import errno
import json
import os
import re

import pytest
from cli_answers import UNITS, VERBS, arguments_of


@pytest.mark.parametrize("units", UNITS)
def test_new_makes_a_folder_that_runs_as_it_is(run, tmp_path, units):
    folder = tmp_path / "mine"
    made = run("new", folder, "--units", units)

    assert made.status == 0
    assert made.err == ""
    assert made.out == (
        f"{folder}: made. Fill in the files, then: scheduler table {folder}\n"
    )
    assert sorted(os.listdir(folder)) == [
        "climate.csv", "heads.csv", "site.toml", "zones.csv"]  # fmt: skip
    for verb in VERBS:
        ran = run(*arguments_of(verb, folder), "--format", "json")
        assert ran.status == 0
        assert ran.err == ""
        cautions = json.loads(ran.out).get("cautions", [])
        cautions += json.loads(ran.out).get("findings", [])
        assert {c["code"] for c in cautions} <= {
            "value-assumed",
            "uniformity-assumed",
            # Its spring and autumn have nights of frost while it waters.
            "frost-nights",
            # By days it is told what one would save.
            "no-rain-shutoff",
            # The template's lawn stands on clay loam, which asks for a soak.
            "rate-over-intake",
        }
    table = json.loads(run("table", folder, "--format", "json").out)
    assert table["site"]["units"] == units
    assert any(cell["cycles"] for cell in table["zones"][0]["months"])


def test_new_says_the_same_site_in_both_systems(run, tmp_path):
    tables = []
    for units in UNITS:
        run("new", tmp_path / units, "--units", units)
        tables.append(
            json.loads(run("table", tmp_path / units, "--format", "json").out)
        )
    us, metric = ([zone["months"][6] for zone in t["zones"]] for t in tables)

    for a, b in zip(us, metric, strict=True):
        # The templates' metric numbers are rounded to about two digits, and a whole
        # minute more or less is up to a twentieth of a run.
        assert b["plant_need_mm"] == pytest.approx(a["plant_need_mm"], rel=0.03)
        assert b["applied_mm"] == pytest.approx(a["applied_mm"], rel=0.08)
        assert b["minutes_per_week"] == pytest.approx(a["minutes_per_week"], rel=0.1)


def test_new_explains_every_key_in_its_templates(run, tmp_path):
    run("new", tmp_path / "mine")
    text = (tmp_path / "mine" / "site.toml").read_text("utf-8")

    for table in ("site", "climate", "supply", "controller", "water", "door"):
        assert f"[{table}]" in text
    for line in text.split("\n"):
        if re.match(r"(# )?[a-z_0-9]+ = ", line) and "shut_off" not in line:
            assert re.search(r"  # \S", line), line


def test_template_warns_of_the_two_pieces_of_a_window_across_midnight(run, tmp_path):
    assert run("new", tmp_path / "mine").status == 0
    text = (tmp_path / "mine" / "site.toml").read_text()
    comment = text.split("\n[[window]]\n")[1].split("\ndays = ")[0]

    assert "Monday until\n# 06:00 and Monday from 22:00 to 24:00" in comment


def test_new_refuses_a_folder_that_holds_something(run, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "notes.txt").write_text("keep me")
    ran = run("new", folder)

    assert ran.status == 2
    assert ran.out == ""
    assert ran.err == (
        f"{folder}: is there already\n"
        "  accepted: a folder that does not exist yet, or an empty one\n"
    )
    assert os.listdir(folder) == ["notes.txt"]


def test_new_refuses_a_file(run, tmp_path):
    (tmp_path / "mine").write_text("keep me")
    ran = run("new", tmp_path / "mine")

    assert ran.status == 2
    assert (tmp_path / "mine").read_text() == "keep me"


def test_new_fills_an_empty_folder_and_makes_folders_above_it(run, tmp_path):
    (tmp_path / "empty").mkdir()

    assert run("new", tmp_path / "empty").status == 0
    assert run("new", tmp_path / "a" / "b" / "c").status == 0
    assert (tmp_path / "a" / "b" / "c" / "site.toml").exists()


@pytest.mark.parametrize("there", [True, False])
def test_new_writes_nothing_where_it_fails(run, tmp_path, monkeypatch, there):
    folder = tmp_path / "mine"
    if there:
        folder.mkdir()
    replace_, calls = os.replace, []

    def full_after_two(*arguments: str) -> None:
        calls.append(arguments)
        if len(calls) > 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        replace_(*arguments)

    monkeypatch.setattr(os, "replace", full_after_two)
    ran = run("new", folder)

    assert ran.status == 2
    assert ran.out == ""
    assert "No space left on device" in ran.err
    assert len(calls) == 3
    assert (os.listdir(folder) == []) if there else not folder.exists()


def test_new_makes_no_folder_that_is_named_as_a_workbook(run, tmp_path):
    asked = run("new", tmp_path / "mine.xlsx")

    assert asked.status == 2
    assert "--workbook" in asked.err
    assert os.listdir(tmp_path) == []
