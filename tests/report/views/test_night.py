"""A watering night as text, data and picture; the verb's examples as they are."""

import datetime
import json
import re
import struct
from dataclasses import replace
from pathlib import Path

import pytest
from matplotlib.text import Text

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.dates import read_night_date
from scheduler.plan.night.plan import plan_night
from scheduler.plan.site import plan_site
from scheduler.report import blocks, data
from scheduler.report.pictures import night as nightpicture
from scheduler.report.pictures.look import OVER
from scheduler.report.views import night
from scheduler.report.words.controller import night as words

ROOT = Path(__file__).parents[3]
EXAMPLES = sorted(path for path in (ROOT / "examples").iterdir() if path.is_dir())


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.name)
def example(request):
    """The night of an example on which most runs; January in the south, July else."""
    plan = plan_site(read_site(request.param))
    return plan_night(plan, 2026, 1 if plan.site.latitude < 0 else 7)


@pytest.fixture(scope="module")
def home():
    plan = plan_site(read_site(ROOT / "examples" / "home"))
    return plan_night(plan, 2026, 7, datetime.date(2026, 7, 17))


@pytest.fixture(scope="module")
def too_short(tmp_path_factory):
    """The home example with two hours a night left to its lawns."""
    folder = tmp_path_factory.mktemp("examples") / "home"
    folder.mkdir()
    for file in (ROOT / "examples" / "home").glob("*.[ct][so][vm]*"):
        text = file.read_text(encoding="utf-8")
        text = text.replace("../../climate_samples", str(ROOT / "climate_samples"))
        text = text.replace('closes = "06:00"', 'closes = "00:30"')
        (folder / file.name).write_text(text, encoding="utf-8")
    return plan_night(plan_site(read_site(folder)), 2026, 7)


def test_text_is_within_100_columns(example, too_short):
    for found in (example, too_short):
        for units in ("us", "metric"):
            text = blocks.text(night.blocks(found, units), units)
            assert max(map(len, text.splitlines())) <= 100
            assert text.endswith("\n")


def test_text_has_a_row_for_every_run(example):
    text = blocks.text(night.blocks(example, "us"), "us")

    stamp = r"(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d\d:\d\d(?::\d\d)?"
    rows = re.findall(rf"^{stamp}  {stamp} ", text, re.M)
    assert len(rows) == len(example.night.runs)
    assert "It fits" in text
    assert "No order" in text


def test_markdown_has_the_same_rows(example):
    text = blocks.markdown(night.blocks(example, "metric"), "metric")

    assert text.startswith("# Watering of ")
    rows = [line for line in text.splitlines() if line.startswith("|")]
    assert len(rows) == 2 + len(example.night.runs)


def test_csv_has_a_row_for_every_run(example):
    text = data.to_csv(night.to_table(example), "metric")

    header, *rows = text.splitlines()
    assert (
        header
        == "date,start,end,minutes,station,zone,name,cycle,minutes_over,flow_l_min"
    )
    assert len(rows) == len(example.night.runs)


def test_json_keeps_the_contract(example):
    found = json.loads(data.to_json(night.to_data(example)))
    new = any(p.step_on(example.night.date) for p in example.plan.plantings)

    assert list(found) == [
        "format", "date", "pieces", "runs", "ends", "fits", "minutes_over",
        "least_possible_end",
        *["new_plantings"] * new,
    ]  # fmt: skip
    assert all(list(piece) == ["opens", "closes"] for piece in found["pieces"])
    assert all(list(run) == ["zone", "cycle", "start", "end"] for run in found["runs"])
    ends = max(datetime.datetime.fromisoformat(run["end"]) for run in found["runs"])
    assert datetime.datetime.fromisoformat(found["ends"]) == ends
    assert datetime.datetime.fromisoformat(found["least_possible_end"]) <= ends
    assert found["fits"] is True
    assert found["minutes_over"] == 0


def test_json_of_a_night_without_water():
    site = read_site(ROOT / "examples" / "home")
    plan = plan_site(replace(site, plan_by="months"))
    found = night.to_data(plan_night(plan, 2026, 1))

    assert found["date"] == "2026-01-01"
    assert found["pieces"] == found["runs"] == []
    assert found["ends"] is found["least_possible_end"] is None
    assert "No zone waters on this date." in blocks.text(
        night.blocks(plan_night(plan, 2026, 1), "us"), "us"
    )


# 17 July 2026 is a Friday (calendar); Saturday is permitted, too.
def test_text_names_dates_hours_and_clock(home):
    text = blocks.text(night.blocks(home, "us"), "us")

    assert text.startswith("Watering of Friday 17 July 2026: Home with two lawns")
    assert "Fri 00:00 to 06:00 and Fri 22:00 to Sat 06:00" in text
    assert (
        "Times are those of Etc/GMT+8 (8 hours behind UTC), as [site] timezone says."
        in text
    )


def test_text_says_what_is_too_long_and_what_helps(too_short):
    text = blocks.text(night.blocks(too_short, "us"), "us")

    assert "It does not fit: " in text
    assert text.count("after closing") >= 2
    assert "window-too-short: Jul: the night of " in text
    assert "What would help, each planned with" in text
    assert "hours that open at " in text


def test_a_time_zone_from_the_longitude_is_said(tmp_path):
    for file in (ROOT / "examples" / "home").glob("*.[ct][so][vm]*"):
        text = file.read_text(encoding="utf-8")
        text = text.replace("../../climate_samples", str(ROOT / "climate_samples"))
        text = text.replace('timezone = "Etc/GMT+8"', "")
        (tmp_path / file.name).write_text(text, encoding="utf-8")
    found = plan_night(plan_site(read_site(tmp_path)), 2026, 7)

    text = " ".join(blocks.text(night.blocks(found, "us"), "us").split())
    # 120° west over 15° an hour.
    assert (
        "Times are those of Etc/GMT+8 (8 hours behind UTC), assumed from the longitude"
        in text
    )


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0 min"), (59, "59 s"), (60, "1 min"), (3600, "1 h"), (3661, "1 h 1 min 1 s")],
)
def test_duration(seconds, text):
    assert words.duration(seconds) == text


def test_read_night_date_takes_a_date_of_the_month():
    assert read_night_date(" 2026-07-13", 7) == datetime.date(2026, 7, 13)


@pytest.mark.parametrize(
    ("written", "wrong", "hint"),
    [
        ("13 July", '"13 July" is not a date', "dates are written year-month-day"),
        ("2026-02-30", '"2026-02-30" is not a date',
         "dates are written year-month-day"),
        ("2026-08-13", '"2026-08-13" is not in month 7',
         "write --month 8, or another date"),
    ],
)  # fmt: skip
def test_read_night_date_refuses_the_rest(written, wrong, hint):
    with pytest.raises(InputError) as caught:
        read_night_date(written, 7)

    (problem,) = caught.value.problems
    assert str(problem) == (
        f"scheduler: --date: {wrong}\n"
        "  accepted: a date of month 7, as 2026-07-05\n"
        f"  hint: {hint}"
    )


def test_read_night_date_refuses_far_years():
    with pytest.raises(InputError, match="is too far from today"):
        read_night_date("1492-07-13", 7)


# PNG (ISO/IEC 15948): eight bytes of signature, then the header with width and height.
def test_picture_is_a_png_or_an_svg(example):
    png = nightpicture.night_picture(example, ".png")
    svg = nightpicture.night_picture(example, ".svg")

    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", png[16:24])
    assert width > 1000
    assert height > 300
    assert b"<svg" in svg[:1000]


def test_picture_has_the_same_bytes_again(home):
    for suffix in (".png", ".svg"):
        first = nightpicture.night_picture(home, suffix)
        assert nightpicture.night_picture(home, suffix) == first


def texts_of(monkeypatch, found):
    """Every text of a picture."""
    with monkeypatch.context() as patched:
        patched.setattr(nightpicture, "picture_bytes", lambda figure, suffix: figure)
        figure = nightpicture.night_picture(found, ".svg")
    return [text.get_text() for text in figure.findobj(Text)]


def test_picture_names_zones_and_the_end_of_each(monkeypatch, example):
    texts = texts_of(monkeypatch, example)

    zones = example.plan.site.zones
    for row in example.night.hours:
        assert any(text.startswith(zones.zone[row]) for text in texts)
    ends = {row: max(r.end_s for r in example.night.runs if r.zone == row)
            for row in example.night.hours}  # fmt: skip
    for end in ends.values():
        assert words.clock(example, end).split()[1] in texts


def test_picture_shows_what_goes_on_after_closing(monkeypatch, too_short):
    texts = texts_of(monkeypatch, too_short)

    assert any(text.startswith("Pale (orange): after closing") for text in texts)
    svg = nightpicture.night_picture(too_short, ".svg").decode()
    assert OVER in svg


def test_picture_of_a_night_without_water_is_drawn():
    plan = plan_site(read_site(ROOT / "examples" / "home"))

    assert nightpicture.night_picture(plan_night(plan, 2026, 1), ".png")
