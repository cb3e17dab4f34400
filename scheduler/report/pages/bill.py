"""Water and money on the owner's page: allowance, bills, losses, what would save."""

from __future__ import annotations

from decimal import Decimal

from scheduler.budget.compare import Compared
from scheduler.budget.goes import LOSSES, Goes, largest_losses
from scheduler.budget.savings import Budget, Saving, beside_today
from scheduler.inputs.library import head_kinds
from scheduler.report.shown import money
from scheduler.report.words.pages import owner as words
from scheduler.report.words.pages import spoken

STEPS_TOLD = 3
_MENDS = {"matched-heads", "uniformity"}
_FREE = {"season", "days"}
"""Steps that take no work to be paid for."""


def comparison_story(budget: Budget, units: str) -> list[str]:
    """The plan against the allowance and against today, in sentences."""
    year = budget.year
    total = float(year.volume_l.sum())
    told = []
    if year.allowance_l > 0:
        told.append(words.beside_allowance(total - year.allowance_l, units))
    beside = beside_today(budget)
    if beside is not None:
        saved = beside.saves or Decimal(0)
        money_told = "" if beside.saves is None else in_money(budget, abs(saved))
        told.append(
            words.beside_today(
                beside.less_l, money_told, saved >= 0, units, beside.shut_off
            )
        )
        told += _bills_that_rise(budget) if money_told and saved >= 0 else []
    if budget.cost is None:
        told.append(words.NO_PRICE)
    return told


def _bills_that_rise(budget: Budget) -> list[str]:
    """Bills that come to more than today's, although the year's come to less."""
    pairs = zip(budget.today_bills, budget.bills, strict=True)
    rise = [
        (bill.months, in_money(budget, now.cost), in_money(budget, bill.cost))
        for now, bill in pairs
        if bill.cost > now.cost
    ]
    return [words.bills_rise(rise)] if rise else []


def goes_story(found: Goes | None, budget: Budget) -> list[str]:
    """The three largest losses in a sentence, but for what is under a tenth."""
    if found is None:
        return []
    lost = []
    for loss, row in largest_losses(found):
        part = float(found.lost_l[loss, row] / found.water_l[row])
        if part >= spoken.A_TENTH:
            lost.append((budget.plan.site.zones.name[row], part, LOSSES[loss]))
    return [words.goes(found.of == "today", lost)] if lost else []


def year_rows(
    budget: Budget, units: str, compared: Compared | None = None
) -> list[tuple[str, str, str, str]]:
    """Plan, allowance, today and before: water, cost, and share of the allowance."""
    year, currency = budget.year, budget.plan.site.water.currency
    rows: list[tuple[str, float, Decimal | None, str]] = [
        (words.PLAN, float(year.volume_l.sum()), budget.cost, currency),
        (words.ALLOWANCE, year.allowance_l, None, ""),
    ]
    if year.today_l is not None:
        today = float(year.today_l.sum())
        rows.append((words.OLD_SETTINGS, today, budget.today_cost, currency))
    if compared is not None:
        side = compared.before
        before = float(side.year.volume_l.sum())
        rows.append((words.BEFORE, before, side.cost, side.plan.site.water.currency))
    return [
        (
            name,
            spoken.whole(volume, units),
            "" if cost is None else money(cost, whose),
            f"{100 * volume / year.allowance_l:.0f} %" if year.allowance_l else "",
        )
        for name, volume, cost, whose in rows
    ]


def savings_story(budget: Budget, units: str, *, given_up: bool = False) -> list[str]:
    """The step of each kind that would save most, a sentence each.

    A kind names the zones where it saves more than the last kind that is told;
    `given_up`: the steps are those of the table from which water was given up.
    """
    told = []
    zones = budget.plan.site.zones
    kinds: dict[str, list[Saving]] = {}
    for saving in budget.savings:
        if not (given_up and saving.code == "season"):
            kinds.setdefault(saving.code, []).append(saving)
    first = list(kinds.values())[:STEPS_TOLD]
    for savings in first:
        best, *others = savings
        row = best.zone or 0
        drips = bool(head_kinds().drips[zones.head_kind[row]])
        told.append(
            words.saving(
                words.step(best.code, best.values, zones.name[row], drips),
                _saved(budget, best, units),
                [
                    (
                        zones.name[one.zone or 0],
                        spoken.quantity(one.saves_l, "volume", units),
                    )
                    for one in others
                    if one.saves_l >= first[-1][0].saves_l
                ],
            )
        )
    if told:
        notes = [words.NO_ADDING_UP]
        if any(savings[0].code not in _FREE for savings in first):
            notes.append(words.QUOTES)
        if len(budget.plan.site.water.tiers) > 1:
            notes.append(words.DEAREST)
        known = budget.year.today_l is not None
        if known and any(savings[0].code in _MENDS for savings in first):
            notes.append(words.MENDS)
        if given_up:
            notes.append(words.OF_THE_TABLE)
        told.append(" ".join(notes))
    return told


def _saved(budget: Budget, saving: Saving, units: str) -> str:
    cost = saving.saves_cost
    money_told = "" if cost is None else in_money(budget, cost)
    return words.saved(saving.saves_l, money_told, units)


def in_money(budget: Budget, amount: Decimal) -> str:
    """An amount in the site's currency."""
    return money(amount, budget.plan.site.water.currency)
