"""The sheet as HTML: whole, from nowhere else, every word of a site escaped."""

import dataclasses
import datetime
import re
from html.parser import HTMLParser
from itertools import pairwise

import numpy as np
import pytest
import sheets

from scheduler.budget.rain_rules import HandRule
from scheduler.plan.card.judged import Broken
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.report.pages import door, owner, times
from scheduler.report.pages import sheet as page
from scheduler.report.pages.fit import fitted

L_PER_GAL = 231 * 0.016387064
"""A gallon is 231 in³, an in³ 0.016387064 L: exact (NIST Handbook 44)."""

VOID = {"meta", "link", "br", "hr", "img", "input", "rect", "path", "use"}


class Read(HTMLParser):
    """Elements, texts and links of a page, as the standard library reads them."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.links, self.events, self.open_ = [], [], [], []
        self.texts, self.headings = [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag not in VOID:
            self.open_.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "xlink:href", "action", "data", "srcset"):
                self.links.append(value)
            if name.startswith("on"):
                self.events.append(name)
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open_.pop()

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open_.pop() == tag

    def handle_data(self, data):
        if self.open_ and self.open_[-1] != "style":
            self.texts.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.texts).split())


@pytest.mark.parametrize("units", ["us", "metric"])
def test_page_needs_nothing_from_elsewhere_and_runs_nothing(example, units):
    html = sheets.html(example, units, 4)
    read = Read(html)

    assert not read.open_
    assert set(read.tags) & {"script", "iframe", "object", "embed", "img"} == set()
    assert all(link.startswith(("#", "data:,")) for link in read.links)
    assert not re.search(r"url\(\s*['\"]?(?!#)", html)
    assert "@import" not in html
    assert read.events == []
    assert "default-src 'none'" in html


def test_no_date_of_a_sheet_is_past(example):
    text = Read(sheets.html(example, "us", 4)).text
    dates = re.findall(r"\d{1,2} [A-Z][a-z]{2} \d{4}", text)

    assert dates
    for date in dates:
        day = datetime.datetime.strptime(date, "%d %b %Y").date()
        assert day >= sheets.KEYED_IN


# Every run of a page stands in one of the spans that the owner is told for its months.
def test_owner_is_told_when_each_program_waters_and_who_comes(example):
    card = sheets.card(example, 4)
    plan = sheets.budget(example).plan
    hours = times.timetable(plan, card)
    permitted, comes, percents, *by_hand = [
        line for line in times.times_story(plan, card) if "____" not in line
    ]

    assert len(by_hand) == bool(card.by_hand or card.judged.filled)

    for window in plan.site.windows:
        assert f"{window.opens}-{window.closes}" in permitted
    # On which firsts the owner sets percents: where they change, no visit then.
    for visit in card.visits:
        rows = [month for month in visit.months if visit.programs]
        for before, month in pairwise(rows):
            past = visit is card.visits[0] and visit.months.index(month) <= (
                visit.months.index(sheets.KEYED_IN.month)
            )
            changes = any(p.percent[before] != p.percent[month] for p in visit.programs)
            told = f"{datetime.date(2027, month, 1):%B}" in percents
            assert told == (changes and not past)
    for visit in card.visits[1:]:
        assert f"{visit.date.day} {visit.date:%b %Y}" in comes.partition(" then by ")[2]
    running = [visit for visit in card.visits if any(map(visit.runs, visit.months))]
    for visit, (_, rows) in zip(running, hours, strict=True):
        for program in visit.programs:
            mine = [row for row in rows if program.name in row.programs.split(", ")]
            spans = [
                (int(a) * 60 + int(b), int(c) * 60 + int(d))
                for row in mine
                for span in row.hours
                for a, b, c, d in re.findall(r"(\d\d):(\d\d)-(\d\d):(\d\d)", span)
            ]
            spans = [(a, b + 1440 * (b < a)) for a, b in spans]
            for start in program.starts_min:
                end = start + program.minutes
                assert any(a <= start and end <= b for a, b in spans)
            assert len(mine) == (not all(p == 0 for p in program.percent.values()))


# A row names up to three zones, or one where zones are many; else it counts stations.
def test_rows_of_when_it_waters_stand_in_the_page_under_their_months(example):
    plan, card = sheets.budget(example).plan, sheets.card(example, 4)
    html = sheets.html(example, "us", 4)
    table = re.search(r'<table class="grid times">.*?</table>', html, re.DOTALL)[0]
    text = Read(f"<main>{table}</main>").text
    most = 3 if len(plan.site.zones) <= 10 else 1
    for months, rows in times.timetable(plan, card):
        assert months in text
        for row in rows:
            named = [name for name in plan.site.zones.name if name in row.whose]
            assert (
                f"{row.programs} {row.days} {', '.join(row.hours)} {row.whose}" in text
            )
            assert len(named) <= most
            assert named or row.whose.startswith(("stations", "all zones"))


# Amounts are printed to three digits: each month and the sum are off by half a
# hundredth at most.
def test_bars_add_up_to_the_water_beside_them_and_are_the_cards(example):
    html, water_l = (
        sheets.html(example, "us", 4),
        sheets.card(example, 4).judged.water_l,
    )
    whole = re.search(r"This plan</th>\s*<td[^>]*>([\d,]+) gallons", html)[1]
    year = re.search(r'Water by month: ([^".]*(?:\.\d[^".]*)*)', html)[1]

    def gallons(text):
        return sum(float(n.replace(",", ""))
                   for n in re.findall(r"([\d,.]+) gallons", text))  # fmt: skip

    assert gallons(year) == pytest.approx(gallons(f"{whole} gallons"), rel=6e-3)
    assert gallons(f"{whole} gallons") == pytest.approx(
        water_l.sum() / L_PER_GAL, abs=0.51
    )
    labels = re.findall(r'<svg class="strip"[^>]*aria-label="([^"]*)"', html)
    amounts = re.findall(r'<p class="amount">([\d,.]+ gallons)', html)
    for label, amount, volume in zip(labels, amounts, water_l, strict=True):
        assert gallons(label) == pytest.approx(gallons(amount), rel=1.1e-2)
        assert gallons(amount) == pytest.approx(volume.sum() / L_PER_GAL, rel=5.1e-3)


# What the site's own lines do not say of who does what is left to be filled in by pen.
def test_who_comes_stands_on_the_owners_page_or_has_a_blank():
    plan, card = sheets.budget("home").plan, sheets.card("home", 4)

    def told(**own):
        door_lines = tuple(own.items())
        site = dataclasses.replace(plan.site, door=door_lines, lines_can_freeze=None)
        mine = dataclasses.replace(plan, site=site)
        return "\n".join([*times.times_story(mine, card), *door.who_to_ask(mine)])

    bare = told(main_shut_off="left of the gate")
    assert "Who keys in, phone: ____" in bare
    assert "Who sets percents, phone: ____" in bare
    assert "Who drains and fills lines, phone: ____" in bare
    assert "____" not in told(who_keys_in="A", who_sets_percents="B", winter="C")
    assert "Who sets percents: B" in told(who_sets_percents="B")
    assert "Who keys in, phone: ____" in told(who_sets_percents="B")
    assert "Who sets percents, phone: ____" in told(who_comes="A")
    assert "keys in" not in told(who_comes="A")
    # Who drains the lines keys nothing in, and stands beside the frost.
    assert "Who keys in, phone: ____" in told(who_drains="C")
    assert "C" not in told(who_drains="C").split()


def test_who_drains_the_lines_stands_behind_the_frost():
    known = sheets.budget("business_park")
    [winter] = [text for key, text in known.plan.site.door if key == "winter"]
    lines = owner.watch_for(known, None, "us")
    [row] = [row for row, line in enumerate(lines) if line.startswith("Frost")]

    assert lines[row + 1] == f"Winter: {winter}"
    assert lines[row + 2].startswith("In spring")


# The day of printing is today; what the controller runs before it is keyed in is old.
def test_page_has_one_name_for_the_settings_before():
    page_ = sheets.html("home", "us", 4).partition("</article>")[0]
    text = Read(f"{page_}</article></main></body></html>").text
    labels = " ".join(re.findall(r'aria-label="([^"]*)"', page_))

    assert "Plan, allowance, old settings" in text
    assert re.search(r"less than the old settings, and costs \$", text)
    assert "Old settings: " in labels
    assert "oday" not in text + labels


def test_limits_that_settings_break_stand_on_the_page_of_their_months():
    site = sheets.budget("business_park").plan.site
    controller = dataclasses.replace(site.controller, programs=1.0, starts=2.0)
    plan = plan_site(dataclasses.replace(site, controller=controller))
    card = plan_card(plan, sheets.KEYED_IN, 2)
    pages = door.door_pages(plan, card, "us")

    assert card.judged.broken
    for page_, visit in zip(pages, card.visits, strict=True):
        zones = {plan.site.zones.zone[one.zone] for one in card.judged.broken
                 if one.month in visit.months}  # fmt: skip
        lines = [line for line in page_.limits if line.startswith("zone")]
        named = {n for line in lines
                 for n in re.findall(r"\d+", line.partition(", ")[0])}  # fmt: skip
        assert bool(zones) == bool(page_.limits)
        assert named <= zones
        assert not any(line.startswith("card-") for line in page_.limits)


# A page has room for few: days in a hundred over the limit, an octave of depth as ten.
def test_worst_of_many_limits_stand_on_the_page():
    plan, card = sheets.budget("business_park").plan, sheets.card("business_park", 1)
    broken = (
        Broken("dry", 0, 7, 0.16, 0.15),
        Broken("deep", 1, 7, 2.2, 2.0),
        Broken("dry", 2, 7, 0.90, 0.15),
        Broken("shallow", 3, 7, 0.1, 0.5),
    )
    judged = dataclasses.replace(card.judged, broken=broken)
    plan = dataclasses.replace(plan, cautions=())
    page_, *_ = door.door_pages(plan, dataclasses.replace(card, judged=judged), "us")

    assert [line[:7] for line in page_.limits] == ["zone 3,", "zone 4,", "And 2 m"]


def test_headings_go_down_a_level_at_a_time(example):
    headings = Read(sheets.html(example, "us", 4)).headings

    assert headings[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(headings))


def test_page_holds_what_each_zone_and_each_program_needs(example):
    plan, card = sheets.budget(example).plan, sheets.card(example, 4)
    text = Read(sheets.html(example, "us", 4)).text

    for name in plan.site.zones.name:
        assert name in text
    for line in plan.site.door:
        assert line[1] in text
    for visit in card.visits:
        for program in visit.programs:
            clock = f"{program.starts_min[0] // 60:02}:{program.starts_min[0] % 60:02}"
            assert clock in text
    assert "2026-11-25, scheduler 9.8.7" in text
    assert "backflow preventer" in text
    assert "Local watering rules come first" in text


def test_door_pages_hold_the_runs_and_percents_of_the_card(example):
    plan, card = sheets.budget(example).plan, sheets.card(example, 4)
    pages = door.door_pages(plan, card, "us")

    assert len(pages) == len(card.visits)
    for page_, visit in zip(pages, card.visits, strict=True):
        for told, program in zip(page_.programs, visit.programs, strict=True):
            columns = {c.name: c for c in told.run_times.columns}
            assert list(columns["base_minutes"].values) == list(program.base_min)
            stations = plan.site.zones.station[list(program.zones)]
            assert list(columns["station"].values) == stations.tolist()
        by_controller = plan.site.controller.percent_by == "controller"
        programs = visit.programs[:1] if by_controller else visit.programs
        assert [percents for _, percents in page_.percents] == [
            tuple(f"{p.percent[m]:g}" if p.percent[m] else "off" for m in visit.months)
            for p in programs
        ]


# The door page is read without the card: it has to say all that the card says, but for
# the tables beside the watering table.
def test_door_pages_say_what_is_started_by_hand_and_when_to_come_again(example):
    plan, card = sheets.budget(example).plan, sheets.card(example, 4)
    text = Read(sheets.html(example, "us", 4)).text
    for row, visit in enumerate(card.visits):
        if row + 1 < len(card.visits):
            date = card.visits[row + 1].date
            assert f"By {date.day} {date:%b %Y}: visit {row + 2}," in text
        # The first visit comes again with its first month, a year on.
        again = f"1 {datetime.date(2027, card.visits[0].months[0], 1):%b}"
        told = re.search(rf"By {again} (\d{{4}}): visit 1 again", text)
        assert len(card.visits) == 1 or int(told[1]) in (2027, 2028)
        running = {zone for program in visit.programs for zone in program.zones}
        by_hand = {hand.zone for hand in card.by_hand if hand.month in visit.months}
        for zone in by_hand:
            lines = re.findall(
                rf"By hand, station {plan.site.zones.station[zone]:.0f}\b[^:]*: "
                r"(.*?)\.",
                text,
            )
            dates = [
                re.search(r"first on ... (\d+ ... \d{4})\b", line)[1] for line in lines
            ]
            firsts = [datetime.datetime.strptime(d, "%d %b %Y").date() for d in dates]
            # One of them, for a zone may be started by hand in several stretches.
            assert any(f >= visit.date and f.month in visit.months for f in firsts)
        off = set(range(len(plan.site.zones))) - running - by_hand
        told = re.findall("In no program until the next visit: zones? ([^.]*)", text)
        if off and visit.programs:
            named = [set(re.split(", | and ", zones)) for zones in told]
            zones = plan.site.zones
            assert {f"{zones.zone[z]} {zones.name[z]}" for z in off} in named


def test_controller_with_one_percent_for_all_shows_it_once():
    card = sheets.card("southern_garden", 4)
    pages = door.door_pages(sheets.budget("southern_garden").plan, card, "us")

    assert all(len(page_.percents) == 1 for page_ in pages)
    for visit in card.visits:
        assert len({tuple(p.percent.items()) for p in visit.programs}) == 1


def test_controller_without_percents_shows_none():
    plan = sheets.budget("home").plan
    controller = dataclasses.replace(plan.site.controller, percent_by="none")
    without = dataclasses.replace(
        plan, site=dataclasses.replace(plan.site, controller=controller)
    )

    pages = door.door_pages(without, sheets.card("home", 4), "us")
    assert all(not page_.percents for page_ in pages)


def test_bars_of_a_zone_stand_under_their_months(example):
    card = sheets.card(example, 4)
    strips = re.findall(r'<svg class="strip".*?</svg>', sheets.html(example, "us", 4),
                        re.DOTALL)  # fmt: skip

    for strip, volume in zip(strips, card.judged.water_l, strict=True):
        bars = re.findall(r'x="(\d+)" y="[\d.]+" width="6" height="([\d.]+)"', strip)
        # Twelve places of 8, each with a bar of 6 in its middle; the tallest is 18.
        places = [(int(x) - 1) // 8 for x, _ in bars]
        assert places == np.flatnonzero(volume).tolist()
        heights = [float(height) / 18 for _, height in bars]
        assert heights == pytest.approx(volume[volume > 0] / volume.max(), abs=3e-3)


def test_every_word_of_a_site_is_text():
    read = Read(sheets.awkward_html())

    assert set(read.tags) & {"script", "b", "i"} == set()
    assert read.events == []
    for name in sheets.AWKWARD_NAMES:
        assert " ".join(name.split()) in read.text
    assert "<b>cool-season turf</b>" in read.text


def test_paper_is_named_only_where_it_is_asked_for():
    card = sheets.card("home", 1)
    html = page.sheet(
        sheets.budget("home"), card, sheets.MADE, "metric", page.PAPERS["metric"]
    )

    assert "size: A4" in html
    us = page.PAPERS["us"]
    assert "size: letter" in page.sheet(
        sheets.budget("home"), card, sheets.MADE, "us", us
    )
    assert "size:" not in re.sub("font-size:", "", sheets.html("home", "metric", 1))


@pytest.mark.parametrize(
    ("units", "rain"), [("us", "half an inch"), ("metric", "13 millimeters")]
)
def test_every_page_that_is_keyed_in_has_the_rule_for_rain(units, rain):
    rule = HandRule(12.7, 3, 0.0, np.zeros(1), np.zeros(1))
    budget, card = sheets.budget("home"), sheets.card("home", 4)
    text = page.sheet(budget, card, sheets.MADE, units, rule=rule)
    told = (
        f"No rain shut-off: after {rain} of rain in a day (rain gauge), turn the "
        "controller off for the 3 days after the last such day, then on again."
    )
    keyed = sum(bool(visit.programs) for visit in card.visits)

    assert text.count(told) == keyed
    assert "No rain shut-off" not in sheets.html("home", units, 4)
    controller = dataclasses.replace(budget.plan.site.controller, rain_shutoff_mm=6.0)
    site = dataclasses.replace(budget.plan.site, controller=controller)
    fitted = dataclasses.replace(budget.plan, site=site)
    assert list(door.when_it_rains(fitted, rule, units)) == []


# Of an article that takes more room the letters are smaller, and never above the most;
# whether it then fits its sheet is seen in a browser (test_sheet_in_a_browser).
def test_letters_on_paper_are_smaller_where_there_is_more_to_say():
    def size(kind, lines):
        text = "<li>water the lawn before the sun is up</li>" * lines
        start = f'<article class="page {kind}" style="--paper:;">'
        html = fitted(f"<main>{start}<ul>{text}</ul></article></main>")
        return float(re.search(r'style="--paper:([\d.]+)pt;">', html)[1])

    for kind in ("owner", "owner many", "door", "door many"):
        sizes = [size(kind, lines) for lines in (1, 100, 150, 200, 400)]
        assert sizes == sorted(sizes, reverse=True)
        assert sizes[0] > sizes[2] > sizes[3] > sizes[4]
    # Twice the lines of one length, of height alone, take half the size at most.
    assert size("owner", 400) < size("owner", 200) < 2 * size("owner", 400)
