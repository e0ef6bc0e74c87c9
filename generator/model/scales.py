"""The words that readings are sorted into, and the limits that they are sorted by."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

# Largest voltage behind a coil that counts as suppressed, peak to peak [V] (common
# practice, no source: resistors leave about a hundred volts, the bare coil hundreds).
SPIKE_LIMIT_V = 180.0


# Voltage drop that counts as sound at rated current [V] (common practice, no source:
# limits in use differ, so the specification sheet states them).
DROP_LIMITS_V: Mapping[str, float] = {
    "supply-30": 0.4,
    "30-87": 0.3,
    "87-load": 0.9,
    "load connector": 0.2,
    "load-ground": 0.3,
}


CODES = ("none", "open load", "overcurrent", "no supply")
"""Fault codes that a smart switch can have set, as outcomes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Outcome words of a test, and the edges between them in ascending order.

    ``band`` is the expected band of the quantity where the test has one.
    """

    words: tuple[str, ...]
    edges: tuple[float, ...]
    band: tuple[float, float] | None = None

    def word(self, value: float) -> str:
        """Outcome word of a value."""
        # On an edge it is the word above.
        return self.words[bisect_right(self.edges, value)]

    @property
    def choices(self) -> tuple[str, ...]:
        """The words that can be chosen, each once."""
        return tuple(dict.fromkeys(self.words))
