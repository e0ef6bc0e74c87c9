"""A coil that is switched off on one vehicle, as an exercise shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from generator.model.circuit import RelayCircuit
    from generator.writing.specification import Named

__all__ = ["TurnOff"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnOff:
    """What a scope on the driver's side of a coil looks at.

    Attributes
    ----------
    circuit : RelayCircuit
    names : Named
    shown_v : float
        What the scope shows from peak to peak [V]: its error is in the trace's height.
    is_asked : bool
        Whether the student is to read that height.
    """

    circuit: RelayCircuit
    names: Named
    shown_v: float
    is_asked: bool = False
