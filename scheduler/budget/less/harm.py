"""What dry days do to plants: days weighed by what each stands."""

from __future__ import annotations

import numpy as np

from scheduler.inputs.forms.fields import KEEP
from scheduler.plan.inputs import PlanInput
from scheduler.plan.site import SitePlan

KEPT = dict(zip(KEEP, (10.0, 0.1), strict=True))
"""How many times the harm of a zone counts that is kept first, and last (rule of this
program: an owner's word goes before any plant's)."""
GROWS = 4
"""Power of the dry share of a month in its harm (rule of this program). Dry days no
longer tell how dry, once nearly all are: at 2 it pays to let July go altogether."""


def weights(plan: SitePlan) -> np.ndarray:
    """What a dry day counts, (part, period): 1 where plants stand none, in a mean year.

    A plant that thrives on 60 % of its need stands 0.4, so its day counts the square of
    0.6 (rule of this program: what is dry counts by a power too); `keep` of a zone
    counts on top, and the heat of the month.
    """
    zones, of = plan.site.zones, plan.inputs.ground.valve
    stands = plan.site.plants.tolerance[plan.stands_on.rows.plant]
    kept = np.array([KEPT.get(word or "", 1.0) for word in zones.keep])
    counts = (1.0 - stands) ** 2 * kept[of]
    return np.asarray(counts[:, None] * heat(plan.inputs)[of])


def heat(inputs: PlanInput) -> np.ndarray:
    """ET0 of each period over the year's mean, (valve, period).

    What plants lose goes by the water that they lack, of all that they would use, so a
    dry day of July is worse than one of March.

    References
    ----------
    FAO66, eq. 1 (from memory): yield response to relative lack of evapotranspiration.
    """
    et0 = inputs.et0_mm_day
    mean = np.average(et0, axis=1, weights=inputs.periods.days)
    return np.asarray(et0 / mean[:, None])


def harm_of_month(
    dry_share: np.ndarray, days: np.ndarray, weight: np.ndarray
) -> np.ndarray:
    """Dry days of a month, weighed; arguments broadcast, NaN (frost) counts none.

    Each dry day counts by the share of its month that is dry, to the power that it
    grows by: one in ten does little, one after the other kills. So what has to be given
    up is shared out, and no month is let go for the others.
    """
    share = np.nan_to_num(dry_share)
    return np.asarray(weight * days * share**GROWS)


def area_m2(plan: SitePlan) -> np.ndarray:
    """Ground of each part, (part,)."""
    ground = plan.inputs.ground
    return np.asarray(plan.rates.area_m2[ground.valve] * ground.share)


def harm_of_zones(plan: SitePlan, dry_share: np.ndarray) -> np.ndarray:
    """Harm of a year by zone, (…, zone), of dry shares (…, part, period).

    Square meters times weighed dry days: a zone cut in two suffers as it did whole.
    """
    days = plan.inputs.periods.days
    weight = weights(plan) * area_m2(plan)[:, None]
    of_part = harm_of_month(dry_share, days, weight).sum(axis=-1)
    found = np.zeros((*of_part.shape[:-1], len(plan.site.zones)))
    for part, zone in enumerate(plan.inputs.ground.valve.tolist()):
        found[..., zone] += of_part[..., part]
    return found
