"""A fault: an edit of a sound circuit, and what is said of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, get_args

from generator.model.circuit import RelayCircuit
from generator.model.complaints import Manner
from generator.model.variant import LoadKind

Side = Literal["control side", "load side", "mechanics"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault: its edit of the circuit, its prior and the repair that cures it.

    ``title`` names the cause in words, with the circuit's names in braces;
    ``severity`` is the range of the number that ``edit`` takes, ``applies`` says to
    which circuits it can happen. An intermittent fault is there only while the harness
    is wiggled and warm, and its ``manner`` says which of both it takes, if any; of the
    others it says whether a load that does no work is silent. An advanced one is drawn
    only where a lesson names it.
    """

    id: str
    title: str
    side: Side
    repair: str
    prior: float
    edit: Callable[[RelayCircuit, float], RelayCircuit]
    severity: tuple[float, float] = (1.0, 1.0)
    kinds: tuple[LoadKind, ...] = get_args(LoadKind)
    applies: Callable[[RelayCircuit], bool] = lambda _: True
    is_intermittent: bool = False
    manner: Manner | None = "silent"
    is_advanced: bool = False

    def as_calm(self, circuit: RelayCircuit, severity: float) -> RelayCircuit:
        """Break a circuit as it is while nothing moves the harness."""
        return circuit if self.is_intermittent else self.edit(circuit, severity)
