"""The watering table against the method, worked once more one zone-year at a time.

`by_the_method` is written from the words of the design (Method of the table, steps 4 to
11), on plain numbers and loops; nothing of it comes from the package. Where the words
leave a choice, the reading stands beside the line.
"""

import functools
import itertools
import math
from types import SimpleNamespace

import numpy as np
import pytest

from scheduler.calendar import ODD
from scheduler.plan import table
from scheduler.plan.by_months import plan_by_months

ZONES = 2500
DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
CALENDAR_DAYS = 146_097  # 400 Gregorian years, exact
EPSILON = 1e-9  # "Quotients take a tolerance of 1e-9 before ⌊ ⌋ and ⌈ ⌉."


def down(quotient):
    return math.floor(quotient + EPSILON)


def up(quotient):
    return math.ceil(quotient - EPSILON)


def effective_rain(method, share, rain_mm, need_mm, depletion_mm):
    """Step 5."""
    if method == "none":
        return 0.0
    if method == "share":
        return min(share * rain_mm, need_mm)
    d = min(max(depletion_mm / 25.4, 0.75), 7.0)
    factor = 0.531747 + 0.295164 * d - 0.057697 * d**2 + 0.003804 * d**3
    usable_in = factor * (0.70917 * (rain_mm / 25.4) ** 0.82416 - 0.11556)
    usable_mm = usable_in * 10 ** (0.02426 * need_mm / 25.4) * 25.4
    return max(0.0, min(usable_mm, rain_mm, need_mm))


@functools.cache
def dates_of(parity):
    """Weekday of every date of 400 years that is odd or even."""
    dates = np.arange("2000-01-01", "2400-01-01", dtype="datetime64[D]")
    of_month = (dates - dates.astype("datetime64[M]")).astype(int) + 1
    weekday = (dates.astype(int) + 3) % 7
    return np.where(of_month % 2 == (parity == ODD), weekday, -1)


@functools.cache
def gaps_of(rows, parity):
    """Days a week, longest gap, sum of squared gaps, days in the busiest week."""
    if parity:
        hits = np.flatnonzero(np.isin(dates_of(parity), rows))
        gaps = np.diff(hits, append=hits[0] + CALENDAR_DAYS)
        # 1 January 2000 was a Saturday, row 5 of its week.
        busiest = int(np.bincount((hits + 5) // 7).max())
        a_week = len(hits) * 7 / CALENDAR_DAYS
        return a_week, int(gaps.max()), int((gaps**2).sum()), busiest
    nexts = [*rows[1:], rows[0] + 7]
    gaps = [after - row for row, after in zip(rows, nexts, strict=True)]
    return len(rows), max(gaps), sum(gap**2 for gap in gaps), len(rows)


@functools.cache
def watering_days(permitted, parity, most_days, intervals, gap_limit):
    """Step 8: weekdays, every so many days, days a week, and whether they suffice."""
    if not permitted:
        return (), 0, 0.0, False
    if gap_limit >= 14 and intervals and not parity:
        every = max(days for days in (14, 21, 28) if days <= gap_limit)
        return permitted[:1], every, 7 / every, True
    sets = [
        rows
        for size in range(1, len(permitted) + 1)
        for rows in itertools.combinations(permitted, size)
        # Reading: on odd or even dates the limit holds in the busiest week.
        if gaps_of(rows, parity)[3] <= most_days
    ]
    within = [rows for rows in sets if gaps_of(rows, parity)[1] <= gap_limit]
    # Reading: on odd or even dates "fewest" counts weekdays, not dates in 400 years.
    # Reading: where too few are permitted, as many as are.
    size = min(map(len, within)) if within else max(map(len, sets))
    best = min(
        (rows for rows in (within or sets) if len(rows) == size),
        key=lambda rows: (*gaps_of(rows, parity)[1:3], rows),
    )
    return best, 0, gaps_of(best, parity)[0], bool(within)


def cycles_of(x, longest, step):
    """Step 9, from "Least cycles" on."""
    n0 = max(up(0.95 * x / longest), 1)
    days = []
    for n in (n0, n0 + 1, n0 + 2):
        near = round(x / n / step)
        may = [
            k * step
            for k in (near - 1, near, near + 1, near + 2, round(longest / step))
            if 0 < k * step <= longest + EPSILON and n * k * step >= 0.95 * x - EPSILON
        ]
        c = min(may, key=lambda c: abs(c - x / n))
        if 0.98 * x <= n * c <= 1.05 * x:
            return n, c
        days.append((n, c))
    return min(days, key=lambda day: (abs(day[0] * day[1] - x), day[0]))


def by_the_method(z):
    """Twelve months of one zone."""
    return [month_of(z, m, need) for m, need in enumerate(needs_of(z))]


def needs_of(z):
    """Steps 4 to 6 and the store that carries, of all months."""
    months = []
    for m in range(12):
        need = z.et0_mm_day[m] * z.landscape_coefficient[m] * DAYS[m]
        rain = effective_rain(
            z.rain_method, z.rain_share, z.rain_mm[m], need, z.allowed_depletion_mm
        )
        months.append(SimpleNamespace(need=need, rain=rain, net=need - rain))
    for m, one in enumerate(months):
        # "a month whose net need is under half the allowed depletion, next to a month
        # … whose net need is 0, is off, with gross need 0". Reading: a net need of 0
        # itself is just off; frost makes no difference to who is carried.
        beside = months[m - 1].net, months[(m + 1) % 12].net
        one.carried = 0 < one.net < z.allowed_depletion_mm / 2 and 0 in beside
    for m, one in enumerate(months):
        before = months[m - 1]
        # "if the month after it waters, that month pays". Reading: what waters is
        # settled once step 9 has its minutes (see month_of).
        one.carried_in = before.net if before.carried and not one.carried else 0.0
    return months


def month_of(z, m, one):
    """Steps 6 to 11 of one month."""
    one.frost = bool(z.frost[m])
    # Step 7. Without need the store lasts, and the plant's longest gap holds.
    lasts = math.inf
    if one.need > 0:
        lasts = down(1.1 * z.allowed_depletion_mm / (one.need / DAYS[m]))
    gap = before = min(max(lasts, 1, z.shortest_gap_days), z.longest_gap_days)
    one.light = one.lighter = one.in_weeks = False
    event_need = one.net + one.carried_in
    if not z.drip and event_need > 0 and not one.carried:
        a_day = event_need / DAYS[m]
        wanted = up(2.5 / a_day)
        one.lighter, one.in_weeks = wanted > gap, wanted > 7
        if wanted > 7:
            wanted = up(wanted / 7) * 7
        # Reading: the store's limit need not be whole weeks.
        raised = min(wanted, 28, down(z.allowed_depletion_mm / a_day))
        gap = max(gap, raised)
        # "a month that does not reach 2.5 mm in 28 days is off"; with what it would
        # have to pay for.
        one.light = 28 * a_day < 2.5 - EPSILON
    one.gap, one.raised = gap, gap > before
    one.off = one.frost or one.carried or one.light or one.net == 0
    if one.off:
        one.carried_in = 0.0
    one.event_need = 0.0 if one.carried else one.net + one.carried_in
    factor = z.run_time_multiplier / (1 - z.leaching_requirement)
    one.gross = one.event_need * factor
    one.days, one.every, one.per_week, enough = watering_days(
        *z.rules[m], min(one.gap, 28)
    )
    one.forbidden = not one.off and not one.days
    one.unmet = one.net if one.forbidden else 0.0
    one.x = one.over = 0.0
    one.n, one.c, one.soak = 0, 0.0, 0.0
    if not one.off and not one.forbidden:
        # Step 9.
        event = one.event_need * 7 / DAYS[m] / one.per_week
        one.over = max(event - z.total_available_water_mm, 0.0)
        one.x = (event - one.over) * factor / z.rate_mm_h * 60
        one.off = one.x < z.minute_step / 2
    one.waters = not one.off and not one.forbidden
    # "if the month after it waters, that month pays": else nobody does.
    if not one.waters:
        one.carried_in = 0.0
        one.gross = 0.0 if one.carried else one.net * factor
    one.too_few = one.waters and not enough
    if one.waters:
        one.unmet = one.over * one.per_week * DAYS[m] / 7
        one.n, one.c = cycles_of(one.x, z.longest_cycle, z.minute_step)
        # Step 10.
        if one.n > 1 and one.n * one.c > z.runoff_limit:
            go_in = one.c * (z.peak_rate_mm_h - z.intake_mm_h) / z.intake_mm_h
            one.soak = max(up(go_in / 5) * 5, z.shortest_soak_min)
    # Step 11.
    a_week = one.n * one.c * one.per_week if one.waters else 0.0
    minutes = a_week * DAYS[m] / 7
    one.applied = minutes * z.rate_mm_h / 60
    one.volume = minutes * z.flow_l_min
    one.starts_too_few = one.n > z.starts and not z.soak_built_in
    return one


def zone_of(inputs, row):
    """A zone as plain numbers, with the limits of step 9."""
    fields = vars_of(inputs) | vars_of(inputs.ground) | vars_of(inputs.valve)
    z = SimpleNamespace(**{
        name: values[row].tolist()
        for name, values in fields.items()
        if isinstance(values, np.ndarray)
    })  # fmt: skip
    (z.allowed_depletion_mm,) = z.allowed_depletion_mm
    (z.total_available_water_mm,) = z.total_available_water_mm
    z.rain_method = ["none", "tr21", "share"][z.rain_method]
    z.rules = []
    for rule in z.day_rule:
        kind = inputs.rules[rule]
        permitted = tuple(row for row in range(7) if kind.weekdays >> row & 1)
        z.rules.append(
            (permitted, kind.parity, kind.most_days, inputs.rule_intervals[rule])
        )
    z.runoff_limit = math.inf
    if z.peak_rate_mm_h > z.intake_mm_h and not z.drip:
        z.runoff_limit = (
            60 * z.accumulation_mm / (z.peak_rate_mm_h - z.intake_mm_h)
        )  # fmt: skip
    least = max(2, z.minute_step)
    z.cycle_too_short = z.runoff_limit < least
    limit = min(z.runoff_limit, z.longest_run_min)
    z.longest_cycle = down(limit / z.minute_step) * z.minute_step
    if z.cycle_too_short:
        z.longest_cycle = least
    return z


def vars_of(record):
    return {name: getattr(record, name) for name in record.__dataclass_fields__}


@pytest.fixture(scope="module")
def both(random_zones):
    """The plan of many zones, and the same by the method: (zone, month) of each."""
    inputs = random_zones(ZONES, seed=2026)
    zones = [zone_of(inputs, row) for row in range(ZONES)]
    months = [by_the_method(z) for z in zones]

    def expected(name):
        return np.array([[getattr(one, name) for one in year] for year in months])

    return plan_by_months(inputs), zones, expected


# The plan and the method do the same sums in other orders: only float error.
CLOSE = {"rtol": 1e-9, "atol": 1e-9}


@pytest.mark.parametrize(
    ("field", "name"),
    [("plant_need_mm", "need"), ("effective_rain_mm", "rain"), ("net_need_mm", "net"),
     ("gross_need_mm", "gross"), ("carried_in_mm", "carried_in"),
     ("unmet_mm", "unmet"), ("applied_mm", "applied"), ("volume_l", "volume")],
)  # fmt: skip
def test_plan_has_the_depths_of_the_method(both, field, name):
    plan, _, expected = both

    np.testing.assert_allclose(getattr(plan, field), expected(name), **CLOSE)


def test_plan_waters_in_the_months_of_the_method(both):
    plan, _, expected = both
    waters = expected("waters")

    np.testing.assert_array_equal(plan.schedule.cycles > 0, waters)
    np.testing.assert_array_equal(plan.schedule.weekdays > 0, waters)


def test_plan_has_the_days_of_the_method(both):
    plan, _, expected = both
    waters = expected("waters")
    year = [[sum(2**row for row in one) for one in zone] for zone in days_of(both)]

    schedule = plan.schedule

    np.testing.assert_array_equal(schedule.weekdays, np.where(waters, year, 0))
    np.testing.assert_array_equal(
        schedule.every_days, np.where(waters, expected("every"), 0)
    )
    np.testing.assert_allclose(
        schedule.days_per_week, np.where(waters, expected("per_week"), 0), **CLOSE
    )
    np.testing.assert_array_equal(plan.gap_limit_days[waters], expected("gap")[waters])


def days_of(both):
    _, zones, _ = both
    return [[one.days for one in by_the_method(z)] for z in zones]


def test_plan_has_the_parity_of_the_rule_where_it_waters(both):
    plan, zones, expected = both
    parity = np.array([[rule[1] for rule in z.rules] for z in zones])

    np.testing.assert_array_equal(
        plan.schedule.parity, np.where(expected("waters"), parity, 0)
    )


def test_plan_has_the_minutes_cycles_and_soak_of_the_method(both):
    plan, zones, expected = both
    waters = expected("waters")

    np.testing.assert_allclose(
        plan.event_minutes, np.where(waters, expected("x"), 0), **CLOSE
    )
    np.testing.assert_array_equal(plan.schedule.cycles, expected("n"))
    np.testing.assert_allclose(plan.schedule.cycle_min, expected("c"), **CLOSE)
    np.testing.assert_allclose(plan.schedule.soak_min, expected("soak"), **CLOSE)
    np.testing.assert_allclose(
        plan.longest_cycle_min, [z.longest_cycle for z in zones], **CLOSE
    )
    np.testing.assert_allclose(
        plan.runoff_limit_min, [z.runoff_limit for z in zones], **CLOSE
    )
    np.testing.assert_array_equal(
        plan.cycle_too_short, [z.cycle_too_short for z in zones]
    )


def test_plan_flags_are_those_of_the_method(both):
    plan, _, expected = both
    frost, waters = expected("frost"), expected("waters")

    def flagged(bit):
        return plan.flags & bit > 0

    np.testing.assert_array_equal(flagged(table.FROST), frost)
    np.testing.assert_array_equal(flagged(table.CARRIED), expected("carried"))
    # In a frosty month the need is looked at no further.
    np.testing.assert_array_equal(
        flagged(table.LIGHT) & ~frost, expected("light") & ~frost
    )
    np.testing.assert_array_equal(flagged(table.NOT_PERMITTED), expected("forbidden"))
    # Reading: days are too few only where there is something to water.
    np.testing.assert_array_equal(flagged(table.DAYS_TOO_FEW), expected("too_few"))
    np.testing.assert_array_equal(
        flagged(table.NEED_UNMET), waters & (expected("over") > 0)
    )
    np.testing.assert_array_equal(
        flagged(table.STARTS_TOO_FEW), expected("starts_too_few")
    )


# What `explain` prints hangs on these: each branch where its cell waters.
def test_plan_tells_the_branches_of_the_method(both):
    plan, _, expected = both
    waters = expected("waters")

    def taken(bit):
        return (plan.flags & bit > 0)[waters]

    for bit, name in [(table.LIGHTER, "lighter"), (table.IN_WEEKS, "in_weeks")]:
        np.testing.assert_array_equal(taken(bit), expected(name)[waters])
        assert 50 < np.count_nonzero(taken(bit)) < np.count_nonzero(waters) - 50
    np.testing.assert_array_equal(
        taken(table.PAYS), (expected("carried_in") > 0)[waters]
    )
    np.testing.assert_array_equal(taken(table.SOAKS), (expected("soak") > 0)[waters])
    assert not (plan.flags & (table.PAYS | table.SOAKS))[~waters].any()
    np.testing.assert_array_equal(plan.flags & table.NO_NEED > 0, expected("net") == 0)


def test_plan_tells_where_a_gap_was_raised(both):
    plan, zones, expected = both
    raised = expected("raised") & expected("waters")

    np.testing.assert_array_equal(
        (plan.flags & table.GAP_RAISED > 0) & expected("waters"), raised
    )
    drip = np.array([z.drip for z in zones])
    assert not raised[drip].any()
    assert np.count_nonzero(raised) > 50


# The comparison is worth what it covers: every kind of month, many times.
def test_the_drawn_zones_cover_every_kind_of_month(both):
    _, zones, expected = both
    waters = expected("waters")

    for name in ("frost", "carried", "light", "forbidden", "too_few", "over",
                 "carried_in", "every", "soak", "starts_too_few"):  # fmt: skip
        assert np.count_nonzero(expected(name)) > 50, name
    for every in (14, 21, 28):
        assert np.count_nonzero((expected("every") == every) & waters) > 50
    tiny = expected("off") & ~expected("carried") & ~expected("light")
    assert np.count_nonzero(tiny & ~expected("frost") & (expected("net") > 0)) > 20
    assert np.count_nonzero(expected("n") > 3) > 500
    assert {z.minute_step for z in zones} == {0.5, 1.0, 5.0}
    assert sum(z.cycle_too_short for z in zones) > 50
    assert sum(z.drip for z in zones) > 300
