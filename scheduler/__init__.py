"""Run times for sprinkler controllers, from the nozzle plan, the soil and the climate.

The public library: `read_site`, `plan`, `night`, `card`, `budget`, and `InputError`
for what is wrong with the input. They stand in `scheduler.library` and are imported
when they are first asked for, so that `import scheduler` costs next to nothing.

Two rooms of the package, `plan` and `budget`, have names that functions have too: an
attribute of `scheduler` is the function, `from scheduler.plan import ...` the room.
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scheduler.errors import InputError as InputError
    from scheduler.library import budget as budget
    from scheduler.library import card as card
    from scheduler.library import night as night
    from scheduler.library import plan as plan
    from scheduler.library import read_site as read_site

__all__ = ["InputError", "budget", "card", "night", "plan", "read_site"]


class _Package(ModuleType):
    """This package: its functions come before its rooms, and not before asked for."""

    def __getattr__(self, name: str) -> Any:
        if name not in __all__:
            raise AttributeError(f"module {self.__name__!r} has no attribute {name!r}")
        from scheduler import library

        return getattr(library, name)

    def __setattr__(self, name: str, value: object) -> None:
        """Keep what Python sets on a package when one of its rooms is imported out."""
        if not (name in __all__ and isinstance(value, ModuleType)):
            super().__setattr__(name, value)

    def __dir__(self) -> list[str]:
        return sorted({*super().__dir__(), *__all__})


sys.modules[__name__].__class__ = _Package
