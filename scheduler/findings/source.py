"""What water that is not drinking water asks for, and what goes against it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.cautions import Caution
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Site
from scheduler.plan.times.windows import is_open_between, windows_in_force

UNSAFE_ON_FOOD = ("pond", "recycled")
"""Sources that are not sprayed on what is eaten (common practice; local rules say)."""
MOST_DRINKING_DS_M = 1000 / 640
"""Salinity over which hardly anybody drinks water: 1000 mg/L of salts (WHO guidelines
for drinking water, from memory), 640 mg/L to a dS/m (OKS, read)."""
ABOUT_MIN = (8 * 60, 20 * 60)
"""Minutes of a day between which people are about where heads spray (common practice:
recycled water by night)."""


def source_cautions(site: Site) -> Iterator[Caution]:
    """Care that a source asks for, and zones and hours that go against it."""
    source = site.supply.source
    if source == "drinking":
        if site.salinity_ds_m > MOST_DRINKING_DS_M:
            values = {"salinity_ds_m": site.salinity_ds_m}
            yield Caution("drinking-salty", None, None, values)
        return
    zones, drips = site.zones, head_kinds().drips[site.zones.head_kind]
    if source in UNSAFE_ON_FOOD:
        for row in np.flatnonzero(site.plants.food[zones.plant] & ~drips).tolist():
            yield Caution("spray-on-food", zones.zone[row], None, {"source": source})
    if source == "recycled":
        yield from _by_day(site, drips)
        yield Caution("recycled-signs")
    for row in np.flatnonzero(drips).tolist():
        yield Caution("filter-needed", zones.zone[row], None, {"source": source})
    if not site.salinity_ds_m:
        yield Caution("salinity-unknown", None, None, {"source": source})


def _by_day(site: Site, drips: np.ndarray) -> Iterator[Caution]:
    """A window of heads that throw that is open while people are about."""
    throwing = {HEAD_KINDS[kind] for kind in site.zones.head_kind[~drips].tolist()}
    for window in windows_in_force(site.windows, throwing):
        if is_open_between(window, *ABOUT_MIN):
            values = {"opens": window.opens, "closes": window.closes}
            yield Caution("recycled-by-day", None, None, values)
            return
