"""The sheet as a browser shows and prints it: screen, phone, A4 and Letter."""

import io
from functools import cache

import pypdf
import pytest
import sheets
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright

from scheduler import browser
from scheduler.budget.compare import compare_sites
from scheduler.report.pages import sheet as page

pytestmark = pytest.mark.skipif(
    browser.find_browser() is None,
    reason="no browser on this machine: apt-get install chromium",
)

PHONE, SCREEN = 360, 1100
SMALL_PHONE = 320
"""WCAG 2.2, 1.4.10: no scrolling across at 320 px."""


@cache
def chromium():
    """A browser for all tests of this process."""
    started = sync_playwright().start()
    found = browser.find_browser()
    return started.chromium.launch(executable_path=found, args=["--no-sandbox"])


class Shown:
    """A page at a width, with what it said and asked for."""

    def __init__(self, tmp_path, html, width):
        file = tmp_path / "sheet.html"
        file.write_text(html, encoding="utf-8")
        self.page = chromium().new_page(viewport={"width": width, "height": 800})
        self.said, self.asked = [], []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: self.said.append(dialog.message))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(file.as_uri())
        self.url = file.as_uri()

    def hidden(self):
        """How far each box of a wide table is to be scrolled across."""
        return self.page.evaluate(
            "[...document.querySelectorAll('.wide')]"
            ".map(e => e.scrollWidth - e.clientWidth)"
        )

    def printed(self, paper):
        return pypdf.PdfReader(io.BytesIO(self.page.pdf(format=paper))).pages


@pytest.fixture
def show(tmp_path):
    shown = []

    def show_(html, width=SCREEN):
        shown.append(Shown(tmp_path, html, width))
        return shown[-1]

    yield show_
    for each in shown:
        each.page.close()


# One page for all that can be seen of it: loading takes the most time.
def test_page_is_quiet_asks_for_nothing_and_fits_phone_and_screen(show, example):
    shown = show(sheets.html(example, "us", 4), SCREEN)
    for width in (SCREEN, PHONE, SMALL_PHONE):
        shown.page.set_viewport_size({"width": width, "height": 800})
        across = shown.page.evaluate("document.documentElement.scrollWidth")
        assert across <= width
        # A table in a box of its own scrolls there, which the page does not tell.
        assert set(shown.hidden()) == {0}

    assert shown.said == []
    assert shown.asked == [shown.url]


# WCAG 2.2 (W3C, 2023), levels A and AA and best practice, as axe-core checks them.
@pytest.mark.parametrize(
    ("example", "units", "width"),
    [
        ("home", "us", PHONE),
        ("home", "metric", SCREEN),
        ("southern_garden", "metric", PHONE),
        ("business_park", "us", SCREEN),
    ],
)
def test_axe_finds_nothing(show, example, units, width):
    found = Axe().run(show(sheets.html(example, units, 4), width).page).response

    assert [v["id"] for v in found["violations"]] == []
    # axe looked at what matters here: contrast, table headers, names of pictures.
    looked = {rule["id"] for rule in found["passes"]}
    assert {"color-contrast", "scope-attr-valid", "svg-img-alt"} <= looked


def test_axe_finds_nothing_with_before_and_the_agencys_page_and_before_fits(show):
    budget, card = sheets.budget("home"), sheets.card("home", 1)
    before = compare_sites(sheets.budget("southern_garden").plan, budget.plan)
    html = page.sheet(budget, card, sheets.MADE, "us", compared=before, agency=True)
    shown = show(html, PHONE)

    assert Axe().run(shown.page).violations_count == 0
    across = shown.page.evaluate("document.documentElement.scrollWidth")
    assert across <= PHONE
    for paper in ("Letter", "A4"):
        owner, agency, *_ = (each.extract_text() for each in shown.printed(paper))
        assert "Before and after" in owner
        assert "for the water agency" in agency


@pytest.mark.parametrize(
    ("example", "units"),
    [
        ("home", "us"),
        ("southern_garden", "metric"),
        ("business_park", "us"),
        ("business_park", "metric"),
        ("desert_garden", "us"),
    ],
)
def test_one_visit_prints_on_two_pages_and_needs_no_scrolling(show, example, units):
    shown = show(sheets.whole_html(example, units, 1))
    for paper in ("Letter", "A4"):
        pages = shown.printed(paper)

        assert len(pages) == 2
        # Reading a page takes the most time: that of the units' own paper is read.
        if paper != page.PAPERS[units]:
            continue
        owner, door = (" ".join(page.extract_text().split()) for page in pages)
        for name in sheets.budget(example).plan.site.zones.name:
            assert name in owner
            assert name in door
        assert "Month percent" in door
    # Twelve months of percents, on a phone: a row for each.
    shown.page.set_viewport_size({"width": PHONE, "height": 800})
    least = shown.page.evaluate(
        "Math.min(...[...document.querySelectorAll('.percents th, .percents td')]"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    tops = shown.page.evaluate(
        "[...document.querySelectorAll('.percents tr')]"
        ".map(r => [...r.children].map(c => c.getBoundingClientRect().top))"
    )
    # Common practice: text under 12 px of a page's own size is hard to read.
    assert least >= 12
    assert all(row == tops[0] == sorted(set(row)) for row in tops)
    assert shown.hidden() == [0]


# Common practice: a name and a number by pen take 60 mm.
def test_blanks_are_long_enough_for_a_pen(show):
    shown = show(sheets.html("desert_garden", "us", 4))
    shown.page.emulate_media(media="print")
    px_per_mm = 96 / 25.4
    blanks = shown.page.evaluate(
        "[...document.querySelectorAll('.blank')]"
        ".map(e => e.getBoundingClientRect().width)"
    )

    assert len(blanks) == 4
    assert min(blanks) >= 60 * px_per_mm - 0.5


# In metric, for its units have the longer names.
def test_each_further_visit_prints_on_one_page_more(show, example):
    visits = len(sheets.card(example, 4).visits)
    shown = show(sheets.whole_html(example, "metric", 4))
    for paper in ("Letter", "A4"):
        assert len(shown.printed(paper)) == 1 + visits


def test_long_names_of_many_zones_still_print_on_two_pages(show):
    shown = show(sheets.long_names_html())

    assert len(shown.printed("Letter")) == 2
    assert len(shown.printed("A4")) == 2


def test_awkward_names_are_shown_as_text_and_fit_across(show):
    shown = show(sheets.awkward_html(), SCREEN)

    assert shown.said == []
    assert shown.asked == [shown.url]
    for width in (SCREEN, PHONE):
        shown.page.set_viewport_size({"width": width, "height": 800})
        assert shown.page.evaluate("document.documentElement.scrollWidth") <= width
    text = " ".join(shown.page.inner_text("body").split())
    for name in sheets.AWKWARD_NAMES:
        assert " ".join(name.split()) in text
    assert Axe().run(shown.page).violations_count == 0


def test_pictures_are_there_without_color(show):
    shown = show(sheets.html("home", "us", 1))
    shown.page.emulate_media(media="print", forced_colors="none")
    # Bars are shapes of the page, not backgrounds, which browsers leave out in print.
    drawn = shown.page.evaluate(
        "[...document.querySelectorAll('svg')].map(s => "
        "s.querySelectorAll('path, rect').length)"
    )

    assert len(drawn) == 1 + len(sheets.budget("home").plan.site.zones)
    assert min(drawn) > 1
