"""Offers of nozzles for one zone, written out or drawn at random; an example."""

from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.folder import read_site
from scheduler.rates.choice.offers import ZoneOffer

EXAMPLE = Path(__file__).parents[2] / "examples" / "home"


def an_offer(flow_l_min, arc_deg, count=None, spacing_m=10.0, **given):
    """Offer in which every nozzle suits every row, but for what is given."""
    arc = np.asarray(arc_deg, float)
    shape = len(arc), len(flow_l_min)
    suits = np.asarray(given.pop("suits", np.ones(shape, bool)))
    values = {
        "zone": 0,
        "rows": np.arange(len(arc)),
        "count": np.ones(len(arc), int) if count is None else np.asarray(count),
        "area_m2": arc / 360 * spacing_m**2,
        "spacing_m": np.full(len(arc), spacing_m),
        "areas_by_arc": False,
        "pressure_kpa": 310.0,
        "pressure_source": "site",
        "flow_l_min": np.asarray(flow_l_min, float),
        "radius_m": np.full(len(flow_l_min), spacing_m * 1.1),
        "low_angle": np.zeros(len(flow_l_min), bool),
        "suits": suits,
        "reaches": suits,
        "to_next": np.ones(shape, bool),
        "near": np.ones(shape, bool),
        "reach": np.ones(shape),
        "now": np.full(len(arc), -1),
        "calm": np.ones(len(flow_l_min), bool),
        "in_chart": np.ones(len(flow_l_min), bool),
    }
    return ZoneOffer(**(values | given))


@pytest.fixture(scope="session")
def offer():
    """Function that makes an offer of what is given."""
    return an_offer


@pytest.fixture(scope="session")
def base():
    """An example, whose heads and outlines each test puts its own in place of."""
    return read_site(EXAMPLE)
