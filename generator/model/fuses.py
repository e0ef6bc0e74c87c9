"""Blade fuses as small resistors: current from the drop across their test points.

References
----------
Cold resistances of makers' tables (from memory, but these two, which were read): a
standard fuse of 10 A drops 1 mV at 130 mA (mvwautotechniek.nl, "Voltage drop over
fuses"), a small one of 15 A drops 0.1 mV at 22 mA and 1.0 mV at 218 mA (MACS Service
Reports, June 2017). How far makes differ, and that fuses of unknown make differ by
more, is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

FuseType = Literal["standard", "small"]

COLD_OHM: Mapping[FuseType, Mapping[float, float]] = MappingProxyType(
    {
        "standard": MappingProxyType(
            {
                5.0: 17.9e-3,
                7.5: 10.9e-3,
                10.0: 7.7e-3,
                15.0: 4.8e-3,
                20.0: 3.4e-3,
                25.0: 2.5e-3,
                30.0: 2.0e-3,
                40.0: 1.4e-3,
            }
        ),
        "small": MappingProxyType(
            {
                5.0: 17.5e-3,
                7.5: 10.5e-3,
                10.0: 7.4e-3,
                15.0: 4.6e-3,
                20.0: 3.2e-3,
                25.0: 2.4e-3,
                30.0: 1.9e-3,
            }
        ),
    }
)
"""Resistance of a cold fuse by its type and rating [Ω]."""

SPREAD_FRAC = 0.15
"""How far a fuse may be off its table."""


def current_from_drop(drop_v: float, type_: FuseType, rating_a: float) -> float:
    """Current through a fuse from the drop across its test points [A].

    Examples
    --------
    >>> round(current_from_drop(1e-3, "standard", 10.0), 2)
    0.13
    """
    return drop_v / COLD_OHM[type_][rating_a]
