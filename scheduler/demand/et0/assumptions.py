"""What the climate's numbers take for granted, as records."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something taken for granted: a stable code, and values in SI.

    `report/words/climate.py` has the sentence of each code.
    """

    code: str
    values: Mapping[str, Any] = field(default_factory=dict)
