"""Unit suffixes that a field's name may end in, and how each converts to SI."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler import units


@dataclass(frozen=True, slots=True)
class Unit:
    """One suffix: SI value = (written value + shift) · factor."""

    suffix: str
    symbol: str
    factor: float
    shift: float = 0.0

    def to_si(self, value: float) -> float:
        """Value in SI of a number written in this unit."""
        return (value + self.shift) * self.factor

    def from_si(self, value: float) -> float:
        """Number in this unit of a value in SI."""
        return value / self.factor - self.shift


@dataclass(frozen=True, slots=True)
class Dimension:
    """Units of one kind of quantity; the first is SI, `us` is shown to US readers."""

    units: tuple[Unit, ...]
    us: str

    @property
    def si(self) -> Unit:
        """Unit used inside the package."""
        return self.units[0]

    def unit(self, suffix: str) -> Unit:
        """Unit of a suffix; KeyError where the dimension has none such."""
        for unit in self.units:
            if unit.suffix == suffix:
                return unit
        raise KeyError(suffix)

    def shown(self, system: str) -> Unit:
        """Unit that readers of `us` or `metric` are shown."""
        return self.unit(self.us) if system == "us" else self.si


US_SUFFIXES = ("in", "ft", "in2", "ft2", "gal", "ft3", "gpm", "gph", "psi", "mph", "f",
               "in_h", "in_day", "in_in", "in_ft")  # fmt: skip
"""Suffixes of US customary units; all others are metric."""

DIMENSIONS: dict[str, Dimension] = {
    "depth": Dimension((Unit("mm", "mm", 1), Unit("in", "in", units.MM_PER_IN)), "in"),
    "catch": Dimension((Unit("mm", "mm", 1), Unit("in", "in", units.MM_PER_IN)), "in"),
    "length": Dimension((Unit("m", "m", 1), Unit("ft", "ft", units.M_PER_FT)), "ft"),
    "area": Dimension(
        (Unit("m2", "m²", 1), Unit("ft2", "ft²", units.M2_PER_FT2)), "ft2"
    ),
    "can_length": Dimension(
        (Unit("mm", "mm", 1), Unit("cm", "cm", 10), Unit("in", "in", units.MM_PER_IN)),
        "in",
    ),
    "can_area": Dimension(
        (
            Unit("mm2", "mm²", 1),
            Unit("cm2", "cm²", 100),
            Unit("in2", "in²", units.MM_PER_IN**2),
        ),
        "in2",
    ),
    "volume": Dimension(
        (
            Unit("l", "L", 1),
            Unit("gal", "gal", units.L_PER_GAL),
            Unit("ft3", "ft³", units.L_PER_FT3),
            Unit("m3", "m³", units.L_PER_M3),
        ),
        "gal",
    ),
    "flow": Dimension(
        (
            Unit("l_min", "L/min", 1),
            Unit("gpm", "gpm", units.L_PER_GAL),
            Unit("m3_h", "m³/h", units.L_PER_M3 / units.MIN_PER_H),
            Unit("l_h", "L/h", 1 / units.MIN_PER_H),
            Unit("gph", "gph", units.L_PER_GAL / units.MIN_PER_H),
        ),
        "gpm",
    ),
    "pressure": Dimension(
        (
            Unit("kpa", "kPa", 1),
            Unit("psi", "psi", units.KPA_PER_PSI),
            Unit("bar", "bar", units.KPA_PER_BAR),
        ),
        "psi",
    ),
    "wind": Dimension(
        (
            Unit("m_s", "m/s", 1),
            Unit("mph", "mph", units.M_S_PER_MPH),
            Unit("km_h", "km/h", units.M_S_PER_KM_H),
        ),
        "mph",
    ),
    "temperature": Dimension(
        (
            Unit("c", "°C", 1),
            Unit("f", "°F", 1 / units.F_PER_C, -units.F_AT_0_C),
        ),
        "f",
    ),
    "rate": Dimension(
        (Unit("mm_h", "mm/h", 1), Unit("in_h", "in/h", units.MM_PER_IN)), "in_h"
    ),
    "depth_day": Dimension(
        (Unit("mm_day", "mm/day", 1), Unit("in_day", "in/day", units.MM_PER_IN)),
        "in_day",
    ),
    "radiation": Dimension(
        (
            Unit("mj_m2_day", "MJ/m²/day", 1),
            Unit("w_m2", "W/m²", units.MJ_M2_DAY_PER_W_M2),
        ),
        "mj_m2_day",
    ),
    "storage": Dimension(
        (
            Unit("mm_m", "mm/m", 1),
            Unit("in_in", "in/in", units.MM_PER_M),
            Unit("in_ft", "in/ft", units.MM_PER_M / units.IN_PER_FT),
        ),
        "in_in",
    ),
}
