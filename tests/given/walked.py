"""Dry days of a card by a plain walk through the days, which shares no code with it."""

import datetime
import itertools
import math

import numpy as np
from controller import DAYS


def run_min(can, zone, percent):
    """Run at a percent, rounded as controllers round it."""
    steps = zone["base_minutes"] / can.minute_step * percent / 100
    return math.floor(steps + 0.5 + 1e-9) * can.minute_step


def depths_of(ground, card):
    """Depth of a watering day of each zone, by month, mm; from the programs alone."""
    can = ground.site.controller
    found = {zone: np.zeros(12) for zone in ground.zones}
    for visit in card["visits"]:
        for program, month in itertools.product(visit["programs"], visit["months"]):
            percent = program["month_percent"][str(month)]
            for zone in program["zones"]:
                name = zone["zone"]
                run = run_min(can, zone, percent) * len(program["starts"])
                found[name][month - 1] += run * ground.rate[name] / 60
    return found


def dry_shares(ground, cards, years):
    """Share of dry days by card, zone and month, by a plain walk through the days.

    Four quarters get DU, 1 - 0.2554 (1 - DU), and as much over 1, of the depth (quarter
    means of the normal law); ground loses ET0 by the landscape coefficient, less under
    the allowed depletion (FAO-56 eq. 84); a quarter is dry where what lacks after rain,
    and the day's need, are more than 1.1 of the larger of the allowed depletion and
    that need; the driest quarter does not count. Emitters wet a share of the ground:
    that gets its share of the rain, and is asked for what the rest, on rain alone, does
    not give of its share of the need, by the same equation. Years have 365 days, the
    first begins on a Monday, and the first year follows the last. Intervals count from
    the first of their weekdays.
    """
    inputs = ground.plan.inputs
    short = (1 - inputs.valve.uniformity)[:, None]
    shares = 1 + short * np.array([-1, -0.2554, 0.2554, 1.0])
    wide = (len(ground.zones), 12)
    total, allowed, coefficient = (
        np.broadcast_to(values, wide)
        for values in (
            inputs.ground.total_available_water_mm,
            inputs.ground.allowed_depletion_mm,
            inputs.ground.landscape_coefficient,
        )
    )
    dates = [datetime.date(2027, 1, 1) + datetime.timedelta(days=d) for d in range(365)]
    programs = [programs_by_month(ground, card) for card in cards]
    lacks = np.zeros((len(cards), len(ground.zones), 4))
    lacks_beside = np.zeros((len(cards), len(ground.zones)))
    wetted = inputs.ground.wetted_share
    beside, more = 1 - wetted, (1 - wetted) / wetted
    # Where all is wetted, nothing is left beside: 0 over 0, of no need.
    room_beside = np.where(more > 0, ((total - allowed).T * more), 1.0)
    room, store, part = ((of_zone.T)[:, :, None] for of_zone in
                         (total - allowed, total, allowed))  # fmt: skip
    store_beside = total.T * more
    dry, days = np.zeros((len(cards), *wide)), np.zeros(12)
    for turn in range(2):
        for year in range(len(years.et0_mm)):
            for day, date in enumerate(dates):
                number, month = year * 365 + day, date.month - 1
                water = np.zeros(lacks_beside.shape)
                for card, of_card in enumerate(programs):
                    for program, laid in of_card[date.month]:
                        if waters(program, number, date.day):
                            for row, depth in laid:
                                water[card, row] = depth
                frost = date.month in ground.frost
                need = years.et0_mm[year, day] * coefficient[:, month]
                need = need * (0.3 if frost else 1.0)
                rain = years.rain_mm[year, day]
                lacks_beside = np.maximum(lacks_beside - rain * beside, 0.0)
                left = store_beside[month] - lacks_beside
                stress = np.minimum(left / room_beside[month], 1.0)
                gives = np.minimum(need * beside * stress, left)
                lacks_beside = lacks_beside + gives
                need, full = (need - gives)[:, :, None], store[month]
                rain = (rain * wetted)[:, None]
                after = np.maximum(lacks - water[:, :, None] * shares - rain, 0.0)
                stress = np.minimum((full - after) / room[month], 1.0)
                lacks = after + np.minimum(need * stress, full - after)
                if turn and not frost:
                    over = after + need > 1.1 * np.maximum(part[month], need)
                    dry[:, :, month] += over[:, :, 1:].sum(axis=2) / 3
                    days[month] += 1
    return dry / np.maximum(days, 1)


def programs_by_month(ground, card):
    """Programs that run, each with the depths that it lays by row of the zones."""
    depths = depths_of(ground, card)
    return {
        month: [
            (p, [(ground.zones.index(z["zone"]), depths[z["zone"]][month - 1])
                 for z in p["zones"]])
            for visit in card["visits"]
            if month in visit["months"]
            for p in visit["programs"]
            if p["month_percent"][str(month)]
        ]
        for month in range(1, 13)
    }  # fmt: skip


def waters(program, number, of_month):
    """Whether a program runs on a day of years that begin with a Monday."""
    rows = [DAYS.index(day) for day in program["days"]]
    if program["every_days"] and (number - rows[0]) % program["every_days"]:
        return False
    if program["parity"] and (of_month % 2 == 1) != (program["parity"] == "odd"):
        return False
    return number % 7 in rows
