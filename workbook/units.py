"""Units that students type, told by pint: the one place that uses it."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

# What pint is told, as its own list has it: the whole of that takes as long to read as
# pint itself. SI Brochure, 9th edition, table 7 (from memory): the prefixes.
_DEFINITIONS = """
ampere = [current] = A = amp
volt = [voltage] = V
ohm = [resistance] = Ω
second = [time] = s = sec
minute = 60 * second = min
hour = 3600 * second = h
day = 86400 * second = d = days = Tag = Tage
rpm = [turning] = rpm = Upm
femto- = 1e-15 = f-
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = µ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
deca- = 1e1 = da-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
tera- = 1e12 = T-
"""
_UNIT_WORD = re.compile(r"(?i)(ohm|volt|amp(?:ere)?)s?$")


@lru_cache(maxsize=256)  # what is typed has no end
def unit_factor(typed: str, unit: str) -> Decimal | None:
    """Return how many of a unit one of the typed unit is.

    Returns
    -------
    Decimal or None
        None where the typed unit is unknown or of another kind.
    """
    import pint

    registry = _registry()
    name = _UNIT_WORD.sub(lambda word: word[1].lower(), typed.replace("Ω", "ohm"))
    try:
        one = registry.Quantity(1.0, registry.parse_units(name))
        magnitude = one.to(unit.replace("Ω", "ohm")).magnitude
    except (AttributeError, ValueError, pint.PintError):
        # pint takes "NaN" for a number and says so by a ValueError.
        return None
    # repr() keeps 0.001 exact in decimal, so that 350 mA is 0.35 A to the last bit.
    return Decimal(repr(float(magnitude)))


def load_units() -> None:
    """Get ready to read numbers, so that the first one does not have to wait."""
    _registry()


@cache
def _registry() -> Any:  # noqa: ANN401 - pint is imported late, types and all
    """Import pint when the page is there, or else at the first number."""
    import pint

    registry: Any = pint.UnitRegistry(None)
    registry.load_definitions(_DEFINITIONS.splitlines())
    return registry
