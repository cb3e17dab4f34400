"""`scheduler sheet`: files written whole or not at all, limits told."""

import datetime
import html
import os
import re
from importlib.metadata import version

import pypdf
import pytest

from scheduler import browser


def test_sheet_writes_one_file_and_says_nothing(run, site, tmp_path):
    out = tmp_path / "sheet.html"
    ran = run("sheet", site, "--out", out)

    assert (ran.status, ran.out, ran.err) == (0, "", "")
    text = out.read_text(encoding="utf-8")
    assert "A small site: what the water is for" in " ".join(
        text.replace("<bdi>", "").replace("</bdi>", "").split()
    )
    assert f"{datetime.date.today()}, scheduler {version('scheduler')}" in text
    today = datetime.date.today()
    visits = re.findall(
        r"Visit (\d) of (\d): (key in today, )?(by )?(\d+ ... \d+)", text
    )
    assert text.count('class="page door') == len(visits)
    assert [(n, k) for n, k, *_ in visits] == [
        (str(n + 1), str(len(visits))) for n in range(len(visits))
    ]
    assert [by or now for _, _, now, by, _ in visits] == ["key in today, "] + [
        "by "
    ] * (len(visits) - 1)
    assert visits[0][-1] == f"{today.day} {today:%b %Y}"


def test_sheet_takes_visits_units_and_the_year_of_first_dates(run, site, tmp_path):
    out = tmp_path / "sheet.html"
    ran = run("sheet", site, "--out", out, "--visits", 1, "--units", "metric",
              "--year", 2031)  # fmt: skip

    assert ran.status == 0
    text = out.read_text(encoding="utf-8")
    assert text.count('class="page door') == 1
    assert "cubic meters" in text
    assert "gallons" not in text
    assert "Visit 1 of 1: key in today, 1 Jan 2031, for all months" in text


def test_sheet_asks_for_a_file(run, site):
    ran = run("sheet", site)

    assert ran.status == 2
    assert "--out" in ran.err


def test_sheet_refuses_other_files_before_it_plans(run, site, tmp_path):
    out = tmp_path / "sheet.docx"
    ran = run("sheet", site, "--out", out)

    assert ran.status == 2
    assert ran.err == (
        f'{out}: --out: ".docx" is no kind of page written here\n'
        "  accepted: a file name that ends in .html or .pdf\n"
    )
    assert not out.exists()


def test_sheet_without_a_browser_names_the_remedy(run, site, tmp_path, monkeypatch):
    monkeypatch.setattr(browser, "find_browser", lambda: None)
    out = tmp_path / "sheet.pdf"
    ran = run("sheet", site, "--out", out)

    assert ran.status == 2
    assert ran.err == (
        f"{out}: --out: no browser that prints a PDF was found here\n"
        "  hint: write a .html file, open it in a browser, and print it there to a "
        "PDF\n"
    )
    assert not out.exists()


@pytest.mark.skipif(
    browser.find_browser() is None,
    reason="no browser on this machine: apt-get install chromium",
)
def test_sheet_as_pdf_is_on_the_readers_paper(run, site, tmp_path):
    out = tmp_path / "sheet.pdf"
    ran = run("sheet", site, "--out", out, "--visits", 1, "--units", "metric")
    pages = pypdf.PdfReader(out).pages

    assert ran.status == 0
    assert len(pages) == 2
    # ISO 216: A4 is 210 x 297 mm; 72 to the inch. That the site's own units, which are
    # US, would choose Letter is tested of the page.
    assert [round(float(x)) for x in pages[0].mediabox[2:]] == [595, 842]


def test_sheet_into_a_folder_that_is_not_there_writes_nothing(run, site, tmp_path):
    out = tmp_path / "nowhere" / "sheet.html"
    ran = run("sheet", site, "--out", out)

    assert ran.status == 2
    assert ran.err == (
        f"{out}: cannot be written: No such file or directory\n"
        "  hint: choose a folder that exists and that you may write to\n"
    )
    assert os.listdir(tmp_path) == ["site"]


def test_sheet_of_a_controller_too_small_says_what_it_breaks_and_ends_with_3(
    run, site, tmp_path
):
    toml = site / "site.toml"
    toml.write_text(
        toml.read_text(encoding="utf-8").replace(
            "minute_step = 1", "minute_step = 1\nprograms = 1\nstarts = 1\n"
            'percent_by = "none"\nlongest_run_min = 12'
        ),
        encoding="utf-8",
    )  # fmt: skip
    out = tmp_path / "sheet.html"
    ran = run("sheet", site, "--out", out, "--visits", 1)

    assert ran.status == 3
    told = re.findall(r"^card-[a-z]+: zone (\w+),", ran.err, re.MULTILINE)
    assert told
    text = html.unescape(out.read_text(encoding="utf-8"))
    assert "Visit 1 of 1" in text
    found = re.findall("The controller cannot water zones? (.*?) as planned", text)
    assert found
    for zones in found:
        assert re.findall(r"\w+", zones.replace(" and ", " ")) == sorted(set(told))
    assert "what the water is for" in text
