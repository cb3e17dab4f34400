"""Plans, nozzles and cards made once in a run of the tests, by the first that asks.

A plan hangs on its site and, where something is new, the day; a card on plan, day and
visits; findings, savings and where water goes on the plan. What was made of equal
content is handed out again: within a worker from memory, between workers by a file of
the run's own folder. A test of making itself takes `make_plan`, `make_cards` and so on.
"""

import fcntl
import hashlib
import pickle
from collections import OrderedDict
from contextlib import contextmanager
from pathlib import Path

from scheduler.budget import goes, rain_rules, savings, weekly
from scheduler.budget import replay as replays
from scheduler.budget.less import less, on_card, ways
from scheduler.findings import audit, check, doubt
from scheduler.plan import choosing
from scheduler.plan import site as sites
from scheduler.plan.card import plan as cards
from scheduler.plan.card import ways_out as ways_out_of

MOST_PLANS = 16
"""Plans kept in memory by each worker; one of 24 zones takes 6 MB."""
MOST_OF_PLANS = 32
"""Plans whose cautions tell minutes."""

_plans: OrderedDict = OrderedDict()
_large: OrderedDict = OrderedDict()
_of_plans: OrderedDict = OrderedDict()
_made: dict = {}
_folder: list[Path] = []


def share_in(folder: Path) -> None:
    """Cards are shared by the workers of a run, in a folder of theirs."""
    _folder[:] = [folder]


def key_of(*parts):
    """A name for content: equal for what was read from equal files."""
    return hashlib.sha256(pickle.dumps(parts)).digest()


def key_of_plan(plan) -> bytes:
    """Of a plan from `plan_site` the site's; of one that a test changed its own."""
    for kept in (_plans, _of_plans, _large):
        for key, made in kept.items():
            if made is plan:
                return key
    return key_of(plan)


def plan_site(site, today=None):
    # The day is nothing to a site on which all has grown in.
    day = today if any(site.zones.planted) else None
    key = key_of(site, day)
    if key not in _plans:
        _plans[key] = make_plan(site, day)
    _plans.move_to_end(key)
    while len(_plans) > MOST_PLANS:
        _plans.popitem(last=False)
    return _plans[key]


def compare_cards(plan, start, visits):
    of = key_of("card", key_of_plan(plan), start)
    names = [key_of(of, count) for count in visits]
    with _shared(of):
        missing = [name for name in names if not _known(name)]
        counts = [visits[names.index(name)] for name in missing]
        if counts:
            made = make_cards(plan, start, counts)
            for name, card in zip(missing, made, strict=True):
                _keep(name, card)
    return tuple(_made[name] for name in names)


def ways_out(plan, card, start):
    name = key_of("ways out", key_of_plan(plan), card, start)
    return _once(name, make_ways, plan, card, start)


def choose_nozzles(plan, chart, *more, **named):
    name = key_of("nozzles", key_of_plan(plan), chart, more, sorted(named.items()))
    return _once(name, make_choices, plan, chart, *more, **named)


def budget_site(plan):
    return _in_memory(_large, MOST_PLANS, "budget", make_budget, plan)


def replay(plan, card=None):
    return _in_memory(_large, MOST_PLANS, "replay", make_replay, plan, card)


def with_weekly(found):
    return _in_memory(_large, MOST_PLANS, "weekly", make_weekly, found)


def find(plan):
    # A list, which whoever asked may change.
    return [*_once(key_of("find", key_of_plan(plan)), make_findings, plan)]


def card_with_less(found, start, visits):
    name = key_of("less", found, start, visits)
    return _once(name, make_card_with_less, found, start, visits)


def with_audited_minutes(plan):
    return _in_memory(_of_plans, MOST_OF_PLANS, "audited", make_audited, plan)


def of_plans(make):
    """A function of a plan that remembers."""

    def asked(plan):
        return _once(key_of(make.__qualname__, key_of_plan(plan)), make, plan)

    return asked


def _once(name, make, *of, **named):
    """What bears a name, made by the first worker that asks."""
    with _shared(name):
        if not _known(name):
            _keep(name, make(*of, **named))
    return _made[name]


def _in_memory(kept, most, what, make, plan, *more):
    name = key_of(what, key_of_plan(plan), more)
    if name not in kept:
        kept[name] = make(plan, *more)
    kept.move_to_end(name)
    while len(kept) > most:
        kept.popitem(last=False)
    return kept[name]


@contextmanager
def _shared(name):
    """While one worker makes what bears a name the others wait for it."""
    if not _folder:
        yield
        return
    with _path(name).with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _known(name):
    if name not in _made and _folder and _path(name).exists():
        _made[name] = pickle.loads(_path(name).read_bytes())
    return name in _made


def _keep(name, made):
    _made[name] = made
    if _folder:
        _path(name).write_bytes(pickle.dumps(made))


def _path(name):
    return _folder[0] / name.hex()


make_plan = sites.plan_site
make_cards = cards.compare_cards
make_ways = ways_out_of.ways_out
make_choices = choosing.choose_nozzles
make_budget = savings.budget_site
make_savings = savings.find_savings
make_replay = replays.replay
make_weekly = weekly.with_weekly
make_findings = check.find
make_audited = audit.with_audited_minutes
make_card_with_less = on_card.card_with_less


def remember() -> None:
    """Put the functions that remember in the place of those that make."""
    sites.plan_site = plan_site
    cards.compare_cards = compare_cards
    ways_out_of.ways_out = ways_out
    choosing.choose_nozzles = choose_nozzles
    savings.budget_site = budget_site
    savings.find_savings = of_plans(make_savings)
    replays.replay = replay
    weekly.with_weekly = with_weekly
    check.find = find
    audit.with_audited_minutes = with_audited_minutes
    on_card.card_with_less = card_with_less
    goes.where_it_goes = of_plans(goes.where_it_goes)
    doubt.doubt_site = of_plans(doubt.doubt_site)
    saving = of_plans(rain_rules.planned_saving_l)
    for module in (rain_rules, savings, check):
        module.planned_saving_l = saving
    of_water = of_plans(ways.ways_of)
    for module in (ways, less):
        module.ways_of = of_water
