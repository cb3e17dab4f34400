"""What water costs: bills by tiers, in decimals, rounded as bills are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal

import numpy as np

from scheduler.inputs.site import Water

CENT = Decimal("0.01")
LITERS_PER_UNIT = {
    # Exact: 100 cubic feet, the foot being 3.048 dm (NIST SP 811, appendix B).
    "ccf": 100 * Decimal("3.048") ** 3,
    # Exact: 1000 gallons of 231 cubic inches, the inch being 0.254 dm (NIST
    # Handbook 44, appendix C).
    "kgal": 1000 * 231 * Decimal("0.254") ** 3,
    "m3": Decimal(1000),
}
"""Liters in a unit of the bill."""


@dataclass(frozen=True, slots=True)
class Bill:
    """One bill: its months (1 to 12), its water, and its two charges.

    `units` is the water in the unit of the bill.
    """

    months: tuple[int, ...]
    volume_l: float
    units: Decimal
    water_charge: Decimal
    fixed_charge: Decimal

    @property
    def cost(self) -> Decimal:
        """What the bill comes to."""
        return self.water_charge + self.fixed_charge


def billing_units(volume_l: float, billing_unit: str) -> Decimal:
    """Volume in the unit of a bill.

    Parameters
    ----------
    volume_l : float
        Volume of water. [L]
    billing_unit : str
        ccf, kgal or m3. [-]

    Returns
    -------
    Decimal
        Number of units, not rounded: a year's plan is no meter reading. [unit]

    Raises
    ------
    ValueError
        If the volume is negative or no number, or the unit is not known.

    Notes
    -----
    1 ccf = 100 ft³ = 748.05 gal; 1 kgal = 1000 gal of 231 in³.

    References
    ----------
    None: definition of the units.

    Examples
    --------
    >>> print(f"{billing_units(5663.3693184, 'ccf'):.3f} ccf")
    2.000 ccf
    """
    if billing_unit not in LITERS_PER_UNIT:
        raise ValueError(f"billing_unit must be ccf, kgal or m3, got {billing_unit!r}")
    if not volume_l >= 0:
        raise ValueError(f"volume_l must be 0 or more, got {volume_l:g}")
    return Decimal(repr(float(volume_l))) / LITERS_PER_UNIT[billing_unit]


def tier_charge(units: Decimal, tiers: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Charge for the water of one bill, before it is rounded.

    Parameters
    ----------
    units : Decimal
        Water in the unit of the bill. [unit]
    tiers : sequence
        Upper limit and price of each tier; the last limit is infinite. [unit, money]

    Returns
    -------
    Decimal
        Charge. [money]

    Raises
    ------
    ValueError
        If the water is negative, or the last tier ends.

    Notes
    -----
    Block rates: each unit costs the price of the tier that it falls in. A uniform
    rate is one tier.

    References
    ----------
    None: what block rates mean.

    Examples
    --------
    Twelve units, ten of them in the first tier:

    >>> tiers = [(Decimal(10), Decimal("3.10")), (Decimal("inf"), Decimal("4.50"))]
    >>> print(tier_charge(Decimal(12), tiers))
    40.00
    """
    if units < 0:
        raise ValueError(f"units must be 0 or more, got {units}")
    if tiers[-1][0].is_finite():
        raise ValueError("tiers must end with one that has no limit")
    charge, below = Decimal(0), Decimal(0)
    for limit, price in tiers:
        charge += max(min(units, limit) - below, Decimal(0)) * price
        below = limit
    return charge


def rounded_to_cents(amount: Decimal) -> Decimal:
    """Amount of money in whole cents, half a cent up."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def bills_of_year(
    volume_l: Sequence[float] | np.ndarray, water: Water
) -> tuple[Bill, ...]:
    """Bills of a year for the water of its twelve months; none without a price.

    The first bill begins with January. Limits of tiers are those of one bill. The
    charge for the water and the fixed charge are each rounded to cents, as two lines
    of a bill are.
    """
    if not water.tiers:
        return ()
    fixed = rounded_to_cents(water.fixed_charge or Decimal(0))
    bills = []
    for first in range(0, len(volume_l), water.months_per_bill):
        months = range(first, first + water.months_per_bill)
        volume = float(sum(float(volume_l[month]) for month in months))
        units = billing_units(volume, water.billing_unit)
        charge = rounded_to_cents(tier_charge(units, water.tiers))
        bills.append(Bill(tuple(m + 1 for m in months), volume, units, charge, fixed))
    return tuple(bills)


def cost_of_year(
    volume_l: Sequence[float] | np.ndarray, water: Water
) -> Decimal | None:
    """What the water of twelve months costs; None without a price."""
    return total_cost(bills_of_year(volume_l, water))


def total_cost(bills: Sequence[Bill]) -> Decimal | None:
    """What bills come to; None where there is none, for want of a price."""
    return sum((bill.cost for bill in bills), Decimal(0)) if bills else None


def charges_of_zones(
    volume_l: np.ndarray, bills: Sequence[Bill]
) -> tuple[tuple[Decimal, ...], ...]:
    """Charges for the water, shared over (zone, month) as the water is.

    All cells of a bill add up to its charge for the water, to the cent; the fixed
    charge is left out.
    """
    shared = [[Decimal(0)] * volume_l.shape[1] for _ in range(len(volume_l))]
    for bill in bills:
        cells = [(z, m - 1) for z in range(len(volume_l)) for m in bill.months]
        water = [Decimal(repr(float(volume_l[cell]))) for cell in cells]
        for (z, m), part in zip(cells, shares(bill.water_charge, water), strict=True):
            shared[z][m] = part
    return tuple(map(tuple, shared))


def shares(amount: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    """Amount in whole cents shared by weight; the parts add up to it.

    Parts are cut to cents, and the cents left over go to where most was cut off.
    """
    total = sum(weights, Decimal(0))
    if total == 0:
        return [Decimal(0)] * len(weights)
    exact = [amount * weight / total for weight in weights]
    parts = [part.quantize(CENT, ROUND_FLOOR) for part in exact]
    left = int((amount - sum(parts, Decimal(0))) / CENT)
    most_cut = sorted(range(len(parts)), key=lambda i: parts[i] - exact[i])
    for i in most_cut[:left]:
        parts[i] += CENT
    return parts
