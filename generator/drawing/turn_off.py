"""What a scope sees of one circuit's coil when it is switched off."""

from __future__ import annotations

from dataclasses import dataclass

from generator.drawing.names import Named
from generator.model.circuit import (
    RelayCircuit,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnOff:
    """What a scope on the driver's side of a coil looks at.

    Attributes
    ----------
    names : Named
        Only what is the same in all languages is shown of them.
    shown_v : float
        What the scope shows from peak to peak [V]: its error is in the trace's height.
    is_asked : bool
        Whether the student is to read that height.
    """

    circuit: RelayCircuit
    names: Named
    shown_v: float
    is_asked: bool = False
