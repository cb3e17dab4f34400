"""Blocks as text, markdown and html; html is read back by the standard parser."""

import re
from html.parser import HTMLParser

import pytest

from scheduler.report import blocks, shown
from scheduler.report.blocks import Entry, Formula, Formulas, Heading, Notes, Paragraph
from scheduler.report.frames import Column, Table

TABLE = Table(
    (
        Column("zone", "zone", ["1", "a<b>|c"]),
        Column("flow", "flow", [3.785411784, 37.85411784], "flow"),
    )
)
EVERY = [
    Heading("Report of <x>", 1, ["first fact", "second fact"]),
    Paragraph(["One.", "Two & three."]),
    Notes(["first note", "second note"], "Notes"),
    TABLE,
    Entry("Program A", [("Days", "Mo Th")], TABLE),
    Formulas("Need", [Formula("a", "6 mm", "S1", "b × c", "2 × 3")]),
]


class Read(HTMLParser):
    """Elements in order, with their text; fails where one is left open."""

    def __init__(self, text):
        super().__init__()
        self.open, self.found = [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        assert attrs == []
        self.open.append((tag, ""))

    def handle_data(self, data):
        if self.open:
            tag, text = self.open.pop()
            self.open.append((tag, text + data))

    def handle_endtag(self, tag):
        started, text = self.open.pop()
        assert started == tag
        self.found.append((tag, text))


def test_html_has_every_block_in_order_and_no_element_of_a_name():
    found = Read(blocks.html(EVERY, "us")).found
    texts = [text for _, text in found if text]

    assert found[:4] == [
        ("h1", "Report of <x>"),
        ("p", "first fact"),
        ("p", "second fact"),
        ("p", "One. Two & three."),
    ]
    assert {tag for tag, _ in found} == {
        "h1", "h2", "h3", "p", "ul", "li", "table", "thead", "tbody", "tr", "th", "td"
    }  # fmt: skip
    # A US gallon is 3.785411784 L exactly (NIST Handbook 44, Appendix C).
    assert texts.count("a<b>|c") == 2
    assert texts.count("1.00") == 2
    assert texts.count("10.0") == 2
    assert "    = 2 × 3 = 6 mm  [S1]" in " ".join(texts)


def test_text_underlines_a_report_and_its_parts():
    text = blocks.text(
        [Heading("Report", 1, ["a fact"]), Notes(["a note"], "Part"),
         Heading("Table", 3)], "us"
    )  # fmt: skip

    assert text == "Report\n======\na fact\n\nPart\n----\na note\n\nTable\n"


def test_text_of_a_step_has_words_then_numbers():
    given = Formula("b", "2 mm", "S2", "", "")
    text = blocks.text([Formulas("Need", [given, *EVERY[-1].steps])], "us")

    assert text == "Need\n----\nb: 2 mm  [S2]\na = b × c\n    = 2 × 3 = 6 mm  [S1]\n"


def test_text_is_within_100_columns_and_hangs_what_goes_on():
    lines = blocks.text([Notes(["word " * 60])], "us").splitlines()

    assert max(map(len, lines)) <= 100
    assert not lines[0].startswith(" ")
    assert all(re.match(r"  \S", line) for line in lines[1:])


def test_markdown_has_headings_lists_and_tables():
    markdown = blocks.markdown(EVERY, "us")

    assert markdown.startswith("# Report of \\<x>\n\nfirst fact  \nsecond fact\n\n")
    assert "\n\nOne. Two & three.\n\n" in markdown
    assert "\n\n## Notes\n\n- first note\n- second note\n\n" in markdown
    assert "\n\n### Program A\n\n- Days: Mo Th\n\n|" in markdown
    assert r"| a\<b>\|c |" in markdown
    assert markdown.endswith("## Need\n\n- a = b × c = 2 × 3 = **6 mm** (S1)\n")


def test_a_heading_that_runs_on_is_one_paragraph_of_text_and_a_heading_elsewhere():
    made = [Heading("Report.", 1, ["A fact."], runs_on=True)]

    assert blocks.text(made, "us") == "Report. A fact.\n"
    assert blocks.markdown(made, "us") == "# Report.\n\nA fact.\n"
    assert Read(blocks.html(made, "us")).found == [("h1", "Report."), ("p", "A fact.")]


def test_a_numbered_list_is_numbered_in_every_format():
    made = [Notes(["first", "second <x>"], numbered=True)]

    assert blocks.text(made, "us") == "1. first\n2. second <x>\n"
    assert blocks.markdown(made, "us") == "1. first\n2. second \\<x>\n"
    assert Read(blocks.html(made, "us")).found[-1][0] == "ol"


# CommonMark 0.31 section 2.4: a backslash before punctuation takes its meaning away.
@pytest.mark.parametrize(
    "text",
    [
        "[a](b)",
        "[a][b]",
        "[a]: b",
        "<img>",
        "`a`",
        "**a**",
        "_a_",
        "a|b",
        "a\\b",
        "~~a~~",
    ],
)
def test_for_markdown_is_the_text_once_backslashes_are_read(text):
    escaped = shown.for_markdown(text)

    assert escaped != text
    assert re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", escaped) == text


@pytest.mark.parametrize(
    "text", ["zones.csv", "x_ft and bucket_gal", "[supply] is", "a - b"]
)
def test_for_markdown_leaves_what_is_no_markup(text):
    assert shown.for_markdown(text) == text
