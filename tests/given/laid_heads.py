"""Heads at their places, in zones of an example."""

import dataclasses

import numpy as np


def site_of(base, heads, outline=None, **columns):
    rows = np.array(heads, float)
    count = len(rows)
    unknown = np.full(count, np.nan)
    values = {
        "zone": np.zeros(count, int),
        "head": tuple(str(row + 1) for row in range(count)),
        "nozzle": ("",) * count,
        "count": np.ones(count),
        "x_m": rows[:, 0],
        "y_m": rows[:, 1],
        "arc_deg": rows[:, 2],
        "facing_deg": rows[:, 3],
        "radius_m": rows[:, 4],
        "flow_l_min": rows[:, 5],
        "pressure_kpa": unknown,
        "spacing_m": unknown,
        "row_spacing_m": unknown,
        "triangular": np.zeros(count, bool),
        "low_angle": np.zeros(count, bool),
    } | columns
    none = np.zeros((0, 2))
    given = none if outline is None else np.array(outline, float)
    return dataclasses.replace(
        base,
        heads=dataclasses.replace(base.heads, **values),
        outlines=(given, *[none] * (len(base.zones) - 1)),
    )


def box(west, south, east, north):
    return [(west, south), (east, south), (east, north), (west, north)]


def random_heads(seed, count=12):
    draw = np.random.default_rng(seed)
    return np.column_stack(
        [
            draw.uniform(-8, 8, count),
            draw.uniform(-5, 5, count),
            draw.choice([45, 90, 180, 210, 270, 360], count),
            draw.uniform(-360, 360, count),
            draw.uniform(1.5, 9, count),
            draw.uniform(0.5, 15, count),
        ]
    )


def three_by_three(step, radius, full_flow):
    """Heads at the corners, on the sides and in the middle, matched to their arcs."""
    heads = []
    for i in range(3):
        for j in range(3):
            inward = np.array([1 - i, 1 - j])
            arc = (360, 180, 90)[int(np.abs(inward).sum())]
            facing = np.degrees(np.arctan2(inward[0], inward[1])) % 360
            heads.append(
                (i * step, j * step, arc, facing, radius, full_flow * arc / 360)
            )
    return heads
