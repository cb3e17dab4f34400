"""`scheduler sheet`: files written whole or not at all, limits told."""

import datetime
import html
import os
import re
import shutil
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


def before_of(site, *replaced):
    """A copy of the site with other zones."""
    before = site.parent / "before"
    shutil.copytree(site, before)
    text = (before / "zones.csv").read_text(encoding="utf-8")
    for old, new in replaced:
        assert old in text
        text = text.replace(old, new)
    (before / "zones.csv").write_text(text, encoding="utf-8")
    return before


def text_of(path):
    """Words of the owner's page."""
    page = path.read_text(encoding="utf-8").split("</article>")[0]
    return html.unescape(" ".join(re.sub("<[^>]*>", " ", page).split()))


def test_sheet_tells_before_and_after_in_the_units_of_the_first_site(
    run, site, tmp_path
):
    before = before_of(
        site, ("1,Lawn,cool", "1,Old lawn,cool"),
        ("2,Beds", "7,Pots,annual flowers,loam,0,100,1,drip\n2,Beds"),
    )  # fmt: skip
    toml = before / "site.toml"
    toml.write_text(toml.read_text().replace('"us"', '"metric"'), encoding="utf-8")
    (site / "zones.csv").write_text(
        (site / "zones.csv").read_text().replace(",2000,15,", ",1000,7.5,")
    )
    out = tmp_path / "sheet.html"
    ran = run("sheet", site, "--out", out, "--compare", before)
    text = text_of(out)

    assert (ran.status, ran.err) == (0, "")
    assert "meters" not in text
    now, was = (
        float(re.search(rf"{name} ([\d,]+) gallons", text)[1].replace(",", ""))
        for name in ("This plan", "Before, as planned")
    )
    less = re.search(r"This plan takes ([\d,]+) gallons less a year", text)
    assert float(less[1].replace(",", "")) == pytest.approx(was - now, rel=6e-3)
    # Half the ground under half the flow takes half of what it took, but for what the
    # pots' program leaves of the old card.
    lawn = re.search(r"Lawn \(before: Old lawn\): ([\d,]+) gallons less\.", text)
    half = re.search(r"1 Lawn ([\d,]+) gallons", text)
    taken, was_more = (float(m[1].replace(",", "")) for m in (half, lawn))
    assert was_more == pytest.approx(taken, rel=0.1)
    assert re.search(r"Only before: Pots \([\d,]+ gallons\)\.", text)


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("nowhere", "{other}: no such folder\n"),
        ("empty", "{other}: has no site.toml and no site.xlsx\n"),
        ("before", '{other}/zones.csv:2: soil: "loom" is not a soil'),
    ],
)
def test_sheet_beside_what_is_no_site_says_which_and_writes_nothing(
    run, site, tmp_path, name, told
):
    before_of(site, ("turf,loam", "turf,loom"))
    (tmp_path / "empty").mkdir()
    out, other = tmp_path / "sheet.html", tmp_path / name
    ran = run("sheet", site, "--out", out, "--compare", other)

    assert ran.status == 2
    assert ran.err.startswith(told.format(other=other))
    assert not out.exists()


def test_agency_signs_for_each_part_of_a_zone(run, site, tmp_path):
    (site / "parts.csv").write_text(
        "zone,part,share,slope_percent\n1,bank,0.25,12\n1,flat,0.75,1\n"
    )
    out = tmp_path / "sheet.html"
    ran = run("sheet", site, "--out", out, "--agency", "--visits", 1)
    text = out.read_text(encoding="utf-8")

    assert ran.status in (0, 3)
    assert text.count('<article class="page agency') == 1
    cells = re.sub("<[^>]*>", " ", text.split('class="page agency')[1])
    cells = " ".join(cells.split())
    # A quarter and three quarters of 2,000 ft².
    assert re.search(r"1 Lawn, bank cool-season turf loam 12 500 ", cells)
    assert re.search(r"1 Lawn, flat cool-season turf loam 1 1,500 ", cells)
