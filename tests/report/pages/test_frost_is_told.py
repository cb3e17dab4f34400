"""Sheet and card never say less of frost than `climate` does.

What `climate --format json` knows (nights by month, dates, months off) is looked for in
the card's text and calendar and in the sheet, on sites of several climates.
"""

import datetime
import json
import re
from pathlib import Path

import icalendar
import pytest

from scheduler import cli
from scheduler.report.shown import months_text

SAMPLES = Path(__file__).parents[3] / "climate_samples"
LABELS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun",
          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")  # fmt: skip
# Latitudes as the samples state them; the plains' winters freeze, the coast's days are
# known, the desert hardly freezes, and the last lies south of the equator.
PLACES = {
    "cold_high_plains": 40.5,
    "humid_subtropical_coast_daily": 30.5,
    "dry_summer_valley_daily": 38.5,
    "hot_desert": 32.0,
    "southern_temperate": -35.0,
}
# In winter south of the equator, in summer north of it.
DAY = datetime.date(2026, 7, 20)
ZONES = """\
zone,name,plant,soil,area_m2,flow_l_min,head_kind
1,Lawn,cool-season turf,loam,200,40,rotor
"""


@pytest.fixture(scope="module", params=PLACES)
def told(request, tmp_path_factory):
    """What the verbs say of a site in one climate: JSON, calendar, and plain texts."""
    folder = tmp_path_factory.mktemp("site")
    file = SAMPLES / f"{request.param}.csv"
    (folder / "zones.csv").write_text(ZONES, encoding="utf-8")
    (folder / "heads.csv").write_text("zone,arc_deg\n", encoding="utf-8")
    (folder / "site.toml").write_text(
        f'units = "metric"\n[site]\nlatitude = {PLACES[request.param]}\nlongitude = 0\n'
        f"[climate]\nfile = {json.dumps(str(file))}\n[supply]\npressure_kpa = 300\n"
        '[plan]\nby = "days"\n',
        encoding="utf-8",
    )

    def out_of(verb, name, *more):
        out = folder / name
        arguments = [verb, folder, "--out", out, "--date", DAY, *more]
        assert cli.status([str(argument) for argument in arguments]) == 0
        return out.read_text(encoding="utf-8")

    climate = folder / "climate.json"
    assert cli.status(
        ["climate", str(folder), "--format", "json", "--out", str(climate)]
    ) == 0  # fmt: skip
    calendar = icalendar.Calendar.from_ical(
        out_of("card", "card.ics", "--format", "ics")
    )
    # What is taken back orders nothing.
    events = [e for e in calendar.walk("VEVENT") if "STATUS" not in e]
    frost = [e for e in events if re.search("[Ff]rost|freeze", str(e["summary"]))]
    page = re.sub("<[^>]*>", " ", out_of("sheet", "sheet.html"))
    return {
        "climate": json.loads(climate.read_text(encoding="utf-8")),
        "table": run_table(folder),
        "events": frost,
        "settings": [
            event
            for event in events
            if re.search("[Kk]ey in|[Ss]et percents", str(event["summary"]))
        ],
        "texts": {
            "card": plain(out_of("card", "card.txt")),
            "calendar": plain(" ".join(str(event["description"]) for event in frost)),
            "sheet": plain(page),
        },
    }


def run_table(folder):
    out = folder / "table.json"
    arguments = ["table", str(folder), "--format", "json", "--out", str(out)]
    assert cli.status(arguments) == 0
    return json.loads(out.read_text(encoding="utf-8"))


def plain(text):
    return " ".join(text.split())


def day(month_and_day):
    month, number = map(int, month_and_day.split("-"))
    return f"{number} {LABELS[month - 1]}"


def test_every_month_with_a_night_of_frost_is_told_with_its_nights(told):
    months = told["climate"]["months"]
    cold = [m for m in months if m["frost_nights"] >= 0.5]

    assert cold
    for name, text in told["texts"].items():
        for month in cold:
            nights = f"{month['frost_nights']:.0f} in {LABELS[month['month'] - 1]}"
            assert re.search(rf"\b{nights}\b", text), (name, nights)


def test_every_date_of_frost_is_told_or_that_there_is_none(told):
    dates = told["climate"]["frost_dates"]
    known = [dates[f"{side}_{share}"] for side in ("last", "first")
             for share in ("half", "nine_of_ten")]  # fmt: skip

    hard = told["climate"]["hard_freeze_dates"]
    assert hard["reckoned"] in (None, not dates["last_years"])
    for name, text in told["texts"].items():
        for date in (date for date in hard.values() if isinstance(date, str)):
            assert day(date) in text, (name, date)
        assert ("reckoned with care from the means" in text) == bool(hard["reckoned"])
        if dates["last_years"]:
            assert all(known)
            for date in known:
                assert day(date) in text, (name, date)
            assert f"({dates['last_years']} years" in text


def test_months_off_for_frost_are_told(told):
    off = [m["month"] for m in told["climate"]["months"] if m["frost"]]
    # Of these samples the plains alone have such months, November to March.
    assert off in ([], [1, 2, 3, 11, 12])
    for name, text in told["texts"].items():
        sign = "frost-month: Nov-Mar" if name == "card" else "Nothing runs in Nov-Mar."
        assert (sign in text) == bool(off)


# What the table says of a month that waters though nights freeze, card and sheet say.
def test_nights_of_frost_while_it_waters_are_told_in_all(told):
    waters = [c for c in told["table"]["cautions"] if c["code"] == "frost-nights"]
    running = {
        month["month"]
        for zone in told["table"]["zones"]
        for month in zone["months"]
        if month["cycles"]
    }
    nights = [m["frost_nights"] for m in told["climate"]["months"]]

    assert {c["month"] for c in waters} == {m for m in running if nights[m - 1] >= 0.5}
    for name, text in told["texts"].items():
        months = months_text(sorted(c["month"] for c in waters))
        sign = f"what is set for {months} is for lines that cannot freeze."
        if not told["climate"]["hard_freeze_dates"]["first_nine_of_ten"]:
            sign = "turn the controller off before a watering night forecast at"
        assert (sign in text) == bool(waters), name
        # Codes are for installers alone.
        assert name == "card" or "frost-" not in text


# Drained lines must not be watered: whoever reads one page only, or follows reminders
# only, is asked before all else whether lines can freeze.
def test_draining_and_watering_do_not_contradict_each_other(told):
    waters = {c["month"] for c in told["table"]["cautions"]
              if c["code"] == "frost-nights"}  # fmt: skip
    if not told["climate"]["hard_freeze_dates"]["first_nine_of_ten"]:
        waters = set()  # Pipes hardly freeze.
    for name, text in told["texts"].items():
        assert ("leave the controller off to" in text) == bool(waters), name
    card, sheet = told["texts"]["card"], told["texts"]["sheet"]
    for text, setting in ((card, "At a visit"), (sheet, "plants drink")):
        before = text.split(setting)[0]
        assert ("First decide: can any line here freeze" in before) == bool(waters)
    for event in told["settings"]:
        asks = str(event["description"]).startswith("First decide: can any line")
        at_risk = event.decoded("dtstart").month in waters
        assert asks == at_risk or "nothing to key in" in event["summary"]
        asked = re.search(r"[Ii]f no(ne| line) can( freeze)?, ", event["summary"])
        assert bool(asked) == at_risk
    # One day does not both ask for water and, in another order, have lines drained.
    drains = {e.decoded("dtstart") for e in told["events"] if "drain" in e["summary"]}
    asks = {e.decoded("dtstart") for e in told["settings"]
            if re.search("[Ii]f no(ne| line) can", e["summary"])}  # fmt: skip
    assert not drains & asks


# The calendar has a day to drain on, a week before the date that half of the years
# keep, or nine of ten where not every year has a hard freeze; and the day after the
# last one.
def test_the_calendar_has_a_day_to_drain_and_one_to_start(told):
    hard = told["climate"]["hard_freeze_dates"]
    if not hard["first_nine_of_ten"]:
        titles = {str(event["summary"]).split(":")[0] for event in told["events"]}
        assert titles == {"Hard frost comes in few years"}
        return
    by_title = {}
    for event in told["events"]:
        title = str(event["summary"])
        if re.search("[Ii]f no(ne| line) can", title):
            # A setting, which says to drain too where it stands in that reminder's day.
            if "Watch the forecast" not in event["description"]:
                continue
            title = "drain or key in"
        by_title.setdefault(title, []).append(event.decoded("dtstart"))
    # A calendar made among the nights of frost says on its own day to drain.
    if told["table"]["site"]["latitude"] < 0:
        begun = by_title.pop("drain or key in")
        assert begun[0] == DAY
        if begun[1:]:
            by_title["drain or key in"] = begun[1:]
    start, drain = (
        min(day for title, days in by_title.items()
            if ("may start" in title) == starts for day in days)
        for starts in (True, False)
    )  # fmt: skip
    first = hard["first_half"] or hard["first_nine_of_ten"]
    last = hard["last_half"] or hard["last_nine_of_ten"]
    assert f"{drain + datetime.timedelta(7):%m-%d}" == first
    assert f"{start - datetime.timedelta(1):%m-%d}" == last
    # Those of a second year, within 18 months, fall on the same day.
    for earliest, *later in by_title.values():
        again = [earliest.replace(year=day.year) for day in later]
        assert later == again
        assert len(later) <= 1


ANSWERS = {
    "yes": "lines_can_freeze = true\n",
    "dates": 'drained_on = "25 Oct"\nfilled_on = "20 Apr"\n',
    "no": "lines_can_freeze = false\n",
}


@pytest.fixture(scope="module", params=ANSWERS)
def answered(request, tmp_path_factory):
    """What card, sheet and calendar say of the plains where the site answers."""
    folder = tmp_path_factory.mktemp("answered")
    file = json.dumps(str(SAMPLES / "cold_high_plains.csv"))
    (folder / "zones.csv").write_text(ZONES, encoding="utf-8")
    (folder / "heads.csv").write_text("zone,arc_deg\n", encoding="utf-8")
    (folder / "site.toml").write_text(
        'units = "metric"\n[site]\nlatitude = 40.5\nlongitude = 0\n'
        f"[climate]\nfile = {file}\n{ANSWERS[request.param]}"
        "[supply]\npressure_kpa = 300\n",
        encoding="utf-8",
    )
    found = {"answer": request.param}
    for verb, name in (("card", "card.txt"), ("card", "card.ics"), ("sheet", "s.html")):
        out = folder / name
        form = ["--format", "ics"] if name.endswith("ics") else []
        arguments = [verb, folder, "--out", out, "--date", "2026-11-27", *form]
        assert cli.status([str(argument) for argument in arguments]) == 0
        found[name] = out.read_text(encoding="utf-8")
    found["table"] = run_table(folder)
    return found


# Said once, it is not asked again, on no page and in no reminder.
def test_who_says_whether_lines_freeze_is_not_asked(answered):
    page = plain(re.sub("<[^>]*>", " ", answered["s.html"]))
    for text in (answered["card.txt"], page, answered["card.ics"]):
        assert "First decide" not in text
        assert not re.search("[Ii]f no(ne| line) can", text)
        assert "Where lines cannot freeze" not in text
        empty = "Lines here can freeze" in plain(text)
        assert empty == (answered["answer"] != "no")


# The site's own dates hold, else those of the climate; half of October and more is
# empty by the latter, a week by the former, and so for April.
def test_months_of_empty_lines_are_off_and_the_others_begin_when_they_are_filled(
    answered,
):
    off = {1, 2, 3, 11, 12} | ({4, 10} if answered["answer"] == "yes" else set())
    if answered["answer"] == "dates":
        off |= {4}
    months = {m["month"] for zone in answered["table"]["zones"]
              for m in zone["months"] if m["cycles"]}  # fmt: skip
    assert not months & off
    assert {5, 6, 7, 8, 9} <= months
    until = {"yes": "8 May 2027", "dates": "1 May 2027", "no": None}[answered["answer"]]
    if until:
        assert f"on {until}, for" in answered["card.txt"]
        assert "2027-04-01" not in answered["card.ics"]
    events = icalendar.Calendar.from_ical(answered["card.ics"]).walk("VEVENT")
    drains = sorted(
        f"{event.decoded('dtstart'):%m-%d}"
        for event in events
        if "ave the lines drained" in event["summary"]
    )
    # A week before 5 October (see test_frost.py for its reckoning), or 25 October; and
    # on the day of the calendar, among nights of frost.
    assert drains == {"yes": ["09-28", "11-27"], "dates": ["10-18", "11-27"],
                      "no": []}[answered["answer"]]  # fmt: skip
