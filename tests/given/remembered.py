"""Plans, nozzles and cards made once in a run of the tests, by the first that asks.

A plan hangs on its site and, where something is new, the day; a card on plan, day and
visits. What was made of equal content is handed out again: within a worker from memory,
between workers by a file of the run's own folder. A test of making itself takes
`make_plan` or `make_cards`.
"""

import fcntl
import hashlib
import pickle
from collections import OrderedDict
from contextlib import contextmanager
from pathlib import Path

from scheduler.budget import replay as replays
from scheduler.budget import savings
from scheduler.plan import choosing
from scheduler.plan import site as sites
from scheduler.plan.card import plan as cards
from scheduler.plan.card import ways_out as ways

MOST_PLANS = 16
"""Plans kept in memory by each worker; one of 24 zones takes 6 MB."""

_plans: OrderedDict = OrderedDict()
_large: OrderedDict = OrderedDict()
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
    for key, kept in _plans.items():
        if kept is plan:
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
    with _shared(name):
        if not _known(name):
            _keep(name, make_ways(plan, card, start))
    return _made[name]


def choose_nozzles(plan, chart, *more, **named):
    name = key_of("nozzles", key_of_plan(plan), chart, more, sorted(named.items()))
    if name not in _made:
        _made[name] = make_choices(plan, chart, *more, **named)
    return _made[name]


def budget_site(plan):
    return _in_memory("budget", make_budget, plan)


def replay(plan, card=None):
    return _in_memory("replay", make_replay, plan, card)


def _in_memory(what, make, plan, *more):
    name = key_of(what, key_of_plan(plan), more)
    if name not in _large:
        _large[name] = make(plan, *more)
    while len(_large) > MOST_PLANS:
        _large.popitem(last=False)
    return _large[name]


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
make_ways = ways.ways_out
make_choices = choosing.choose_nozzles
make_budget = savings.budget_site
make_replay = replays.replay


def remember() -> None:
    """Put the functions that remember in the place of those that make."""
    sites.plan_site = plan_site
    cards.compare_cards = compare_cards
    ways.ways_out = ways_out
    choosing.choose_nozzles = choose_nozzles
    savings.budget_site = budget_site
    replays.replay = replay
