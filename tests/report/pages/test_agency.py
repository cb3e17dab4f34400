"""The agency's page adds up as it is printed, and claims nothing."""

import csv
import dataclasses
import re
from functools import cache
from html.parser import HTMLParser

import pytest
from sheets import EXAMPLES, KEYED_IN, MADE

from scheduler import units as exact
from scheduler.budget.cost import bills_of_year
from scheduler.budget.savings import Budget
from scheduler.budget.water import landscape_allowance, year_of_water
from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.report.pages import sheet as page
from scheduler.report.words.pages import agency as words

PER_IN_FT2 = {"us": 144 / 231, "metric": 1.0}
"""Gallons in an inch on a square foot (NIST Handbook 44), liters in a mm on a m²."""
SITES = [("home", "us"), ("southern_garden", "metric")]


class Tables(HTMLParser):
    """Rows of the tables of the agency's page, as lists of cells."""

    def __init__(self, text):
        super().__init__()
        self.tables, self.cell = [], None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.cell = []

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.tables[-1][-1].append(" ".join("".join(self.cell).split()))
            self.cell = None

    def handle_data(self, data):
        if self.cell is not None:
            self.cell.append(data)


@cache
def budget(example):
    """By months and without what would save, which the page has nothing of: fast."""
    site = read_site(EXAMPLES / example)
    plan = plan_site(dataclasses.replace(site, plan_by="months"))
    year, today = year_of_water(plan), ()
    if year.today_l is not None:
        today = bills_of_year(year.today_l.sum(axis=0), site.water)
    return Budget(plan, year, (), (), today, ())


@cache
def printed(example, units):
    card = plan_card(budget(example).plan, KEYED_IN, 1)
    html = page.sheet(budget(example), card, MADE, units, agency=True)
    return re.search(r'<article class="page agency.*?</article>', html, re.DOTALL)[0]


def number(text):
    return float(text.replace(",", ""))


@pytest.mark.parametrize(("example", "units"), SITES)
def test_allowance_follows_from_the_numbers_before_it(example, units):
    line = re.search(r"<p>(Allowance = .*?)</p>", printed(example, units))[1]
    et0, *constant, factor, area, rest, special, volume = [
        number(n) for n in re.findall(r"(?<![a-z])[\d,]*\d(?:\.\d+)?", line)
    ][: 7 if units == "us" else 6]

    if constant:
        assert constant[0] == pytest.approx(PER_IN_FT2[units], abs=5e-5)
    assert rest == pytest.approx(1 - factor)
    worked = et0 * PER_IN_FT2[units] * (factor * area + rest * special)
    # ET0 has four figures, areas are whole: a thousandth.
    assert volume == pytest.approx(worked, rel=1e-3)


@pytest.mark.parametrize(("example", "units"), SITES)
def test_first_sentence_has_the_difference_of_the_lines_that_it_names(example, units):
    text = printed(example, units)
    said = re.search(
        r"The plan takes ([\d,]+) .*?, ([\d,]+) .*? \((\d+) %\) (\w+)", text
    )
    year = Tables(text).tables[-1]
    told = {row[0]: number(row[1]) for row in year[1:]}
    over = told[words.KEYED_IN] - told[words.ALLOWANCE]

    assert number(said[1]) == told[words.KEYED_IN]
    assert number(said[2]) == pytest.approx(abs(over), abs=1)
    assert float(said[3]) == pytest.approx(
        100 * abs(over) / told[words.ALLOWANCE], abs=0.5
    )
    assert said[4] == ("over" if over > 0 else "under")


@pytest.mark.parametrize(("example", "units"), SITES)
def test_lines_of_the_estimate_follow_from_their_numbers_and_add_up(example, units):
    _, _, use, year = Tables(printed(example, units)).tables
    text = printed(example, units)
    et0 = number(re.search(r"Allowance = ([\d,.]+) ", text)[1])
    *lines, whole = use[1:]

    for line in lines:
        if line[0] == words.SPECIAL_AREA:
            factor = 1.0
        else:
            plant, efficiency, factor = map(float, line[3:6])
            assert factor == pytest.approx(plant / efficiency, abs=2e-3)
        worked = et0 * PER_IN_FT2[units] * factor * number(line[6])
        # The factor has three decimals, an area is a whole number of feet or meters.
        assert number(line[7]) == pytest.approx(worked, rel=0.02, abs=1)
    for column in (6, 7):
        summed = sum(number(line[column]) for line in lines)
        assert number(whole[column]) == pytest.approx(summed, abs=len(lines))
    told = {row[0]: number(row[1]) for row in year[1:]}
    assert told[words.ESTIMATED_USE] == number(whole[7])


@pytest.mark.parametrize(("example", "units"), SITES)
def test_water_of_the_schedule_adds_up_to_the_plan(example, units):
    _, schedule, _, year = Tables(printed(example, units)).tables
    symbol = {"us": "gal", "metric": "L"}[units]
    years = []
    for row in schedule:
        if row[0] == symbol:
            assert number(row[13]) == pytest.approx(
                sum(number(cell) for cell in row[1:13] if cell), abs=6
            )
            years.append(number(row[13]))

    plan = next(number(row[1]) for row in year if row[0] == words.THIS_PLAN)
    *years, all_zones = years
    assert len(years) == len(budget(example).plan.site.zones)
    assert all_zones == plan == pytest.approx(sum(years), abs=len(years))


@pytest.mark.parametrize(("example", "units"), SITES)
def test_each_zone_has_the_parameters_that_its_file_gives(example, units):
    plan = budget(example).plan
    parameters = Tables(printed(example, units)).tables[0]
    text = (EXAMPLES / example / "zones.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    kinds = {row["zone"]: row["head_kind"] for row in csv.DictReader(lines)}

    assert len(parameters) == 1 + len(plan.site.zones)
    for row, zone in enumerate(plan.site.zones.zone):
        cells = parameters[1 + row]
        assert cells[0].split()[0] == zone
        assert cells[1] == plan.site.plants.names[plan.site.zones.plant[row]]
        assert cells[2] == plan.site.soils.names[plan.site.zones.soil[row]]
        assert float(cells[3]) == plan.site.zones.slope_percent[row]
        assert cells[5] == kinds[zone]
        assert all(cells)


# California model landscape ordinance (23 CCR 2.7), 2010 text, the worked example:
# ET0 51.1 in, 50,000 ft², factor 0.7: 1,108,870 gallons a year, printed.
def test_allowance_of_the_ordinances_example_is_printed_to_the_gallon():
    et0_mm, area_m2 = 51.1 * exact.MM_PER_IN, 50_000 * exact.M2_PER_FT2
    volume_l = float(landscape_allowance(et0_mm, area_m2, 0, 0.7))
    line = words.allowance(et0_mm, area_m2, 0, 0.7, volume_l, "us")

    assert line.startswith(
        "Allowance = 51.10 in × 0.6234 × (0.7 × 50,000 ft² + 0.3 × 0 ft²) = "
    )
    assert line.endswith(" 1,108,870 gal.")


@pytest.mark.parametrize(("example", "units"), SITES)
def test_page_leaves_the_verdict_to_the_agency_and_has_room_to_sign(example, units):
    text = " ".join(re.sub("<[^>]*>", " ", printed(example, units)).split())

    assert not re.search(r"compl(y|ies|iance|iant)|certif|approved", text, re.I)
    assert "is for the agency to say" in text
    assert text.count("Signature") == text.count("Date") == 2


def test_page_is_there_only_when_asked_for():
    card = plan_card(budget("home").plan, KEYED_IN, 1)

    assert "page agency" not in page.sheet(budget("home"), card, MADE, "us")


# What every application asks for is told by the site's own lines, or left to a pen.
def test_page_names_applicant_address_and_meter_or_leaves_them_to_a_pen():
    mine, card = budget("home"), plan_card(budget("home").plan, KEYED_IN, 1)

    def told(**lines):
        site = dataclasses.replace(mine.plan.site, door=tuple(lines.items()))
        of = dataclasses.replace(mine, plan=dataclasses.replace(mine.plan, site=site))
        text = page.sheet(of, card, MADE, "us", agency=True)
        own = text[text.index("page agency") :]
        return dict(
            re.findall(r"<dt>([^<]*)</dt><dd>(.*?)</dd>", own.partition("</dl>")[0])
        )

    blank = told(main_shut_off="left of the gate")
    assert [*blank][:3] == ["Applicant", "Site address", "Meter"]
    assert all('class="blank"' in blank[label] for label in [*blank][:3])
    filled = told(site_address="1 Invented Way", meter_number="M 12")
    assert "1 Invented Way" in filled["Site address"]
    assert "M 12" in filled["Meter"]
    assert 'class="blank"' in filled["Applicant"]
