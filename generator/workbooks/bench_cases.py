"""The circuits of a bench, as page and key have them: of a cause what differs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from itertools import chain

from generator.model.circuit import RelayCircuit
from generator.model.diagnostics import Pair as Circuits
from generator.model.free_setups import FreeCircuit, free_circuits
from workbook.record.bench import Case, Ohms, Pair

_ENDLESS = 1e30


# A page and its key hold the same, and a workbook's pages come before its keys.
@lru_cache(maxsize=64)
def cases_of(
    nominal: RelayCircuit, pairs: tuple[Circuits, ...]
) -> tuple[Case, tuple[Pair, ...]]:
    """The sound circuit, and how those of each pair differ from it."""
    circuits = tuple(dict.fromkeys((nominal, *chain.from_iterable(pairs))))
    free = dict(zip(circuits, free_circuits(circuits), strict=True))
    sound = free[nominal]
    return _case(sound), tuple(_pair(pair, free, sound) for pair in pairs)


def _pair(
    circuits: Circuits, free: Mapping[RelayCircuit, FreeCircuit], sound: FreeCircuit
) -> Pair:
    calm, moved = circuits
    own = _differing(free[calm], sound)
    # Nothing that comes and goes: once is enough.
    if moved == calm:
        return Pair(calm=own)
    return Pair(calm=own, moved=_differing(free[moved], sound))


def _case(circuit: FreeCircuit) -> Case:
    return Case(
        ohm=_open_as_none(circuit.ohm),
        value=_finite(circuit.value),
        edits={name: _open_as_none(ohms) for name, ohms in circuit.edits.items()},
        fuses=circuit.fuses,
    )


def _differing(circuit: FreeCircuit, sound: FreeCircuit) -> Case:
    """Keep of a circuit what differs from the sound one."""
    # Of a cause only what differs: a page holds the circuits of all of them.
    edits = {
        name: _other(_whole_edit(circuit, name, ohms), ohms)
        for name, ohms in sound.edits.items()
    }
    return Case(
        ohm=_open_as_none(_other(circuit.ohm, sound.ohm)),
        value=_finite(_other(circuit.value, sound.value)),
        edits={name: _open_as_none(ohms) for name, ohms in edits.items() if ohms},
        fuses={n: w for n, w in circuit.fuses.items() if w != sound.fuses[n]},
    )


def _whole_edit(
    circuit: FreeCircuit, name: str, sound: Mapping[str, float]
) -> dict[str, float]:
    """What an option makes of every branch that it changes here or in a sound circuit.

    A driver that is dead is open under a command, too.
    """
    return {branch: circuit.ohm[branch] for branch in sound} | {**circuit.edits[name]}


def _other(own: Mapping[str, float], sound: Mapping[str, float]) -> dict[str, float]:
    return {name: each for name, each in own.items() if each != sound.get(name)}


def _finite(values: Mapping[str, float]) -> dict[str, float]:
    """JSON has no endless friction; this one holds every rotor."""
    return {name: min(each, _ENDLESS) for name, each in values.items()}


def _open_as_none(ohms: Mapping[str, float]) -> Ohms:
    return {name: each if math.isfinite(each) else None for name, each in ohms.items()}
