"""What dry days do to plants: days weighed by what each stands."""

from __future__ import annotations

import numpy as np

from scheduler.inputs.forms.fields import KEEP
from scheduler.plan.site import SitePlan

KEPT = dict(zip(KEEP, (10.0, 0.1), strict=True))
"""How many times the harm of a zone counts that is kept first, and last (rule of this
program: an owner's word goes before any plant's)."""


def weights(plan: SitePlan) -> np.ndarray:
    """What a dry day of each part counts, (part,): 1 where plants stand none.

    A plant that thrives on 60 % of its need stands 0.4, so its day counts 0.6; `keep`
    of a zone counts on top.
    """
    zones = plan.site.zones
    stands = plan.site.plants.tolerance[plan.stands_on.rows.plant]
    kept = np.array([KEPT.get(word or "", 1.0) for word in zones.keep])
    return np.asarray((1.0 - stands) * kept[plan.inputs.ground.valve])


def harm_of_month(
    dry_share: np.ndarray, days: np.ndarray, weight: np.ndarray
) -> np.ndarray:
    """Dry days of a month, weighed; arguments broadcast, NaN (frost) counts none.

    Each dry day counts by the share of its month that is dry: one in ten does little,
    one after the other kills. So what has to be given up is shared out.
    """
    share = np.nan_to_num(dry_share)
    return np.asarray(weight * days * share**2)


def area_m2(plan: SitePlan) -> np.ndarray:
    """Ground of each part, (part,)."""
    ground = plan.inputs.ground
    return np.asarray(plan.rates.area_m2[ground.valve] * ground.share)


def harm_of_zones(plan: SitePlan, dry_share: np.ndarray) -> np.ndarray:
    """Harm of a year by zone, (…, zone), of dry shares (…, part, period).

    Square meters times weighed dry days: a zone cut in two suffers as it did whole.
    """
    days = plan.inputs.periods.days
    weight = weights(plan) * area_m2(plan)
    of_part = harm_of_month(dry_share, days, weight[:, None]).sum(axis=-1)
    found = np.zeros((*of_part.shape[:-1], len(plan.site.zones)))
    for part, zone in enumerate(plan.inputs.ground.valve.tolist()):
        found[..., zone] += of_part[..., part]
    return found
