"""A controller that plays a card as programs read it, and knows nothing of plans."""

import datetime
import math

import numpy as np

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DAY_S = 86400


class Controller:
    """A controller set by a card; plays a year on its clock, in seconds."""

    def __init__(self, card, minute_step, gap_s):
        self.card = card
        self.step_s = round(minute_step * 60)
        self.gap_s = round(gap_s)

    def programs_of(self, month):
        visits = [v for v in self.card["visits"] if month in v["months"]]
        assert len(visits) == 1, f"month {month} stands in {len(visits)} visits"
        return visits[0]["programs"]

    def waters(self, program, date):
        """Whether a program runs on a date."""
        if program["every_days"]:
            first = self.first_date(program)
            if (date - first).days % program["every_days"]:
                return False
        if program["parity"] and (date.day % 2 == 1) != (program["parity"] == "odd"):
            return False
        return DAYS[date.weekday()] in program["days"]

    def first_date(self, program):
        """When an interval begins; where the next visit is sooner, as that goes round.

        Then whoever comes again keys in the first permitted date of a month that runs.
        """
        if program["first_date"]:
            return datetime.date.fromisoformat(program["first_date"])
        date = next(datetime.date.fromisoformat(visit["date"])
                    for visit in self.card["visits"]
                    if any(own is program for own in visit["programs"]))  # fmt: skip
        while not (
            program["month_percent"].get(str(date.month))
            and DAYS[date.weekday()] in program["days"]
        ):
            date += datetime.timedelta(days=1)
        return date

    def run_s(self, zone, percent):
        """Run at a percent: half a step and more goes up to the next step."""
        steps = zone["base_minutes"] * 60 / self.step_s * percent / 100
        return math.floor(steps + 0.5 + 1e-9) * self.step_s

    def start(self, program, percent, begins):
        """Cycles of one start: zone, second it begins, second it ends."""
        if any(zone.get("cycle_minutes") for zone in program["zones"]):
            yield from self.start_in_rounds(program, percent, begins)
            return
        now = begins
        for zone in program["zones"]:
            run = self.run_s(zone, percent)
            if run:
                yield zone["zone"], now, now + run
                now += run + self.gap_s

    def start_in_rounds(self, program, percent, begins):
        """Cycle and soak built in: round after round until no zone has minutes left."""
        left = {zone["zone"]: self.run_s(zone, percent) for zone in program["zones"]}
        rested = dict.fromkeys(left, begins)
        now = begins
        while any(left.values()):
            for zone in program["zones"]:
                name = zone["zone"]
                if not left[name]:
                    continue
                longest = round((zone["cycle_minutes"] or 1e6) * 60)
                now = max(now, rested[name])
                run = min(longest, left[name])
                yield name, now, now + run
                left[name] -= run
                rested[name] = now + run + round((zone["soak_minutes"] or 0) * 60)
                now += run + self.gap_s

    def year(self, year):
        """Every cycle of a year: program's date, zone, begin and end from 1 January.

        A visit clears every program at the midnight before the 1st of its first month,
        and so ends what is still running then.
        """
        first = datetime.date(year, 1, 1)
        cleared = [
            (datetime.date(year, visit["months"][0], 1) - first).days * DAY_S
            for visit in self.card["visits"]
        ]
        for date, zone, begins, ends in self.settings_of_year(year):
            keyed = (date - first).days * DAY_S
            until = min((when for when in cleared if when > keyed), default=math.inf)
            if begins < until:
                yield date, zone, begins, min(ends, until)

    def settings_of_year(self, year):
        """Every cycle of a year, whatever is keyed in while it runs."""
        first = datetime.date(year, 1, 1)
        date = first
        while date.year == year:
            for program in self.programs_of(date.month):
                percent = program["month_percent"][str(date.month)]
                if percent and self.waters(program, date):
                    for clock in program["starts"]:
                        hour, minute = map(int, clock.split(":"))
                        begins = (date - first).days * DAY_S + hour * 3600 + minute * 60
                        for cycle in self.start(program, percent, begins):
                            yield (date, *cycle)
            date += datetime.timedelta(days=1)

    def month_mm(self, rate_mm_h):
        """Depth that each zone gets in each month, mean of 400 years."""
        total = {zone: np.zeros(12) for zone in rate_mm_h}
        for month in range(1, 13):
            for program in self.programs_of(month):
                dates = mean_dates(program, month)
                percent = program["month_percent"][str(month)]
                for zone in program["zones"]:
                    hours = self.run_s(zone, percent) / 3600 * len(program["starts"])
                    depth = hours * dates * rate_mm_h[zone["zone"]]
                    total[zone["zone"]][month - 1] += depth
        return total


def mean_dates(program, month):
    """Watering dates of a month, mean of the 400 years of the calendar.

    The 29th of February is left out, as the needs are of 28 days.
    """
    length = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[month - 1]
    if program["every_days"]:
        return length / program["every_days"]
    count = 0
    for year in range(2000, 2400):
        begins = datetime.date(year, month, 1).weekday()
        for day in range(1, length + 1):
            parity = "odd" if day % 2 else "even"
            if program["parity"] in (None, parity):
                count += DAYS[(begins + day - 1) % 7] in program["days"]
    return count / 400
