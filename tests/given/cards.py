"""Cards of the examples, made once, and a reader of their text that knows no plan."""

import datetime
import json
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import SimpleNamespace

from scheduler.inputs.folder import read_site
from scheduler.plan.card.needs import Fill
from scheduler.plan.card.plan import compare_cards
from scheduler.plan.site import plan_site
from scheduler.report.data import to_json
from scheduler.report.views import table as table_report

ROOT = Path(__file__).parents[2]
KEYED_IN = datetime.date(2027, 4, 20)
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun",
          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]  # fmt: skip
# A year of 365 days, as bills and budgets count it.
DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
# A gallon is 231 in³ of 25.4³ mm³ each, an inch 25.4 mm: exact (NIST Handbook 44).
L_PER = {"us": 231 * 25.4**3 / 1e6, "metric": 1.0}
MM_PER = {"us": 25.4, "metric": 1.0}


@cache
def plan_of(example):
    return plan_site(read_site(ROOT / "examples" / example))


@cache
def cards_of(example):
    """Cards by visits a year."""
    counts = (1, 4, 12) if example == "home" else (1, 4)
    plan = plan_of(example)
    return dict(zip(counts, compare_cards(plan, KEYED_IN, counts), strict=True))


def months_of(told):
    """Months that a text counts up, in its order: `Nov-Feb, May`."""
    if told == "all months":
        return list(range(1, 13))
    found = []
    for run in told.split(", "):
        first, _, last = run.partition("-")
        month = MONTHS.index(first) + 1
        found.append(month)
        while last and MONTHS[month - 1] != last:
            month = month % 12 + 1
            found.append(month)
    return found


def percents_of(told):
    """Percents by month: `Nov-Dec 0 % (off), Feb 95 %`."""
    found = {}
    for part, percent in re.findall(r"([A-Z][a-zA-Z-]*) ([\d.]+) %", told):
        found |= dict.fromkeys(months_of(part), Fraction(percent))
    return found


def read_visits(text):
    """What a printed card says to key in, read from its text alone."""
    found = []
    text = text.partition("\nMinutes of a watering day")[0]
    for part in re.split(r"\nVisit \d+ of \d+: ", text)[1:]:
        title = part.partition("\n---")[0].replace("\n", " ")
        date = re.search(r"(\d+ [A-Z][a-z]{2} \d{4})", title)[1]
        programs = []
        for block in re.split(r"\nProgram [A-Z]\n", part)[1:]:
            label = {
                name: " ".join(
                    re.search(rf"^  {name} +(.*(?:\n {{12}}.*)*)", block, re.MULTILINE)[
                        1
                    ].split()
                )
                for name in ("Days", "Starts", "Percent")
            }
            rows = re.findall(r"^ +\d+ +(\S+)  .*? ([\d.]+)$", block, re.MULTILINE)
            programs.append(
                SimpleNamespace(
                    days=label["Days"],
                    starts=re.findall(r"\d\d:\d\d", label["Starts"]),
                    percent=percents_of(label["Percent"]),
                    runs={zone: Fraction(run) for zone, run in rows},
                )
            )
        found.append(
            SimpleNamespace(
                months=months_of(re.search(", for (.*)$", title)[1]),
                date=datetime.datetime.strptime(date, "%d %b %Y").date(),
                today="key in today" in title,
                programs=programs,
            )
        )
    return found


def half_up(minutes, step):
    """A run in whole steps of the controller, a half up, in exact arithmetic."""
    return (minutes / step + Fraction(1, 2)).__floor__() * step


def dates_in_month(days, month):
    """How often a program waters in a mean month, by what is printed of its days."""
    every = re.match(r"every (\d+) days", days)
    if every:
        return DAYS[month - 1] / int(every[1])
    a_week = 7 if days == "every day" else len(days.split())
    assert a_week == 7 or all(len(day) == 2 for day in days.split())
    return DAYS[month - 1] * a_week / 7


def runs_of(plan, text):
    """Zone, month, minutes of a watering day, dates in the month, run, as printed."""
    step = Fraction(float(plan.site.controller.minute_step))
    for visit in read_visits(text):
        for program in visit.programs:
            for zone, base in program.runs.items():
                for month in visit.months:
                    run = half_up(base * program.percent[month] / 100, step)
                    dates = dates_in_month(program.days, month)
                    yield zone, month, run * len(program.starts), dates, run


def hands_of(text):
    """Zone, month, minutes and dates in the month of what is started by hand."""
    part = " ".join(text.partition("\nMinutes of a watering day")[0].split())
    for zone, told in re.findall(r"By hand, station (\S+)[^:]*: ([^.]*)\.", part):
        for run in told.split("; "):
            if run.startswith("first on"):
                continue
            months, cycles, minutes, every = re.fullmatch(
                r"(.*?) (?:(\d+) × )?([\d.]+) min,.* every (\d+) days, from \d\d:\d\d",
                run,
            ).groups()
            for month in months_of(months):
                dates = DAYS[month - 1] / int(every)
                yield zone, month, int(cycles or 1) * float(minutes), dates


def cells_of(text, title):
    """Card and table by zone and month, from a printed table; None for blanks."""
    part = text[text.index(f"\n{title}") :].splitlines()
    row = next(row for row, line in enumerate(part) if line.startswith("zone"))
    # Columns end where their headings end.
    ends = [re.search(month, part[row]).end() for month in MONTHS]
    found, zone, after = {}, "", next(k for k in range(row, len(part)) if not part[k])
    for line in part[row + 2 : after]:
        of = re.match(r" *(\S*)  +(card|table)", line)
        zone, start = of[1] or zone, of.end()
        for month, end in enumerate(ends, 1):
            cell = line[start:end].strip()
            start = end
            pair = found.setdefault((zone, month), [None, None])
            pair[of[2] == "table"] = float(cell) if cell else None
    return {at: pair for at, pair in found.items() if pair != [None, None]}


def zones_of(plan):
    """What the watering table says of the zones."""
    data = json.loads(to_json(table_report.to_data(plan, "metric")))
    return {zone["zone"]: zone for zone in data["zones"]}


def filled_by_hand(card):
    """A card of business_park with fillings in April that programs wait for.

    Turf by rotors, three times as much as a start of it, and a slope over two days.
    """
    fills = Fill(0, 4, 1, 4, 36.0, 75.0), Fill(3, 4, 2, 6, 16.0, 60.0)
    return replace(card, judged=replace(card.judged, filled=fills))
