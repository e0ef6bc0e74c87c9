"""What the operator notices of a broken circuit, as it comes in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import RelayCircuit, columns_of
from generator.model.complaints import Symptom
from generator.model.measure import Setup
from generator.model.parts import CONTROL_FUSE_A, fuse_gate, heating_current
from generator.model.settling import Unsettled
from generator.model.steps import InSteps, Steps, settled_of
from generator.model.work import WEAK_FRAC, work_done

# A fuse that opens within this time at the latest has opened when the vehicle comes in.
_TIME_TO_OPEN_S = 600.0
# Share of the sound work below which a load stands, and above which it runs on.
_STANDS_FRAC, _RUNS_FRAC = 0.25, 0.5
# Share of the sound load current above which wires and fuse holder smell.
_HOT_FRAC = 1.25
# Heat of a fuse holder above which it smells and its lid goes brown [W] (common
# practice, no source).
_HOT_W = 2.5
# A module whose ground is lifted this far starts anew when it falls back [V].
_LIFTED_V = 1.0


@InSteps
def as_found(circuits: Sequence[RelayCircuit]) -> Steps[tuple[RelayCircuit, ...]]:
    """Give the circuits as they come in, with fuses open where overloaded."""
    columns, setups = columns_of(circuits), [Setup(command="normal")]
    # What the circuit drew in use, before anybody measured, is what opened its fuses.
    settled = yield from settled_of(
        Unsettled(columns=columns, sound=columns, setups=setups)
    )
    current = heating_current(
        settled.current("load_fuse")[:, 0, 0],
        settled.current("load")[:, 0, 0],
        columns["duty_frac"][:, 0],
    )
    control = settled.current("control_fuse")[:, 0, 0]
    return tuple(
        _with_fuses(
            circuit,
            _found(circuit.load_fuse_ohm, load_a / circuit.load_fuse_rating_a),
            _found(circuit.control_fuse_ohm, control_a / CONTROL_FUSE_A),
        )
        for circuit, load_a, control_a in zip(
            circuits, current.tolist(), control.tolist(), strict=True
        )
    )


def _with_fuses(
    circuit: RelayCircuit, load_ohm: float, control_ohm: float
) -> RelayCircuit:
    if (load_ohm, control_ohm) == (circuit.load_fuse_ohm, circuit.control_fuse_ohm):
        return circuit
    return circuit.with_values(load_fuse_ohm=load_ohm, control_fuse_ohm=control_ohm)


def _found(fuse_ohm: float, current_frac: float) -> float:
    """Resistance of a fuse as it comes in, by its current over its rating [Ω]."""
    has_opened = fuse_gate(current_frac)[1] <= _TIME_TO_OPEN_S
    return np.inf if has_opened else fuse_ohm


@InSteps
def symptoms(
    pairs: Sequence[tuple[RelayCircuit, RelayCircuit]], sound: RelayCircuit
) -> Steps[tuple[Symptom, ...]]:
    """What the operator of the vehicle notices of each circuit as it comes in.

    Parameters
    ----------
    pairs : sequence of pairs of RelayCircuit
        Each circuit calm, and while its harness is wiggled and warm.
    """
    noticed = yield from _noticed([calm for calm, _ in pairs], sound)
    return tuple(
        _symptom(pair, each) for pair, each in zip(pairs, noticed, strict=True)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Noticed:
    """What can be noticed of a circuit, as shares of the sound one.

    Its work on command and off command, its load current, the heat of its fuse holder
    [W], and how far the coil's current lifts the module's ground [V].
    """

    on_frac: float
    off_frac: float
    current_frac: float
    holder_w: float
    lifted_v: float


def _noticed(
    circuits: Sequence[RelayCircuit], sound: RelayCircuit
) -> Steps[list[_Noticed]]:
    """Command each circuit on and off, beside the sound one."""
    columns, reference = columns_of((sound, *circuits)), columns_of([sound])
    setups = [Setup(command="normal"), Setup(command="off")]
    settled = yield from settled_of(
        Unsettled(columns=columns, sound=reference, setups=setups)
    )
    work = work_done(columns, settled)[..., 0]
    share = work[1:] / work[0, 0]
    current = settled.current("load_fuse")[:, 0, 0]
    heat = current**2 * columns["fuse_holder_ohm"][:, 0]
    # Nothing flows through an open ground, and nothing times inf would be nan.
    lifted = settled.current("module_ground")[:, 0, 0] * _closed(
        columns["module_ground_ohm"][:, 0]
    )
    return [
        _Noticed(
            on_frac=on, off_frac=off, current_frac=amps, holder_w=watts, lifted_v=volts
        )
        for (on, off), amps, watts, volts in zip(
            share.tolist(),
            (current[1:] / current[0]).tolist(),
            heat[1:].tolist(),
            lifted[1:].tolist(),
            strict=True,
        )
    ]


def _closed(ohm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Resistances, those of open branches as nothing."""
    return np.where(np.isfinite(ohm), ohm, 0.0)


def _symptom(pair: tuple[RelayCircuit, RelayCircuit], noticed: _Noticed) -> Symptom:
    calm, stressed = pair
    # A spike, a weak module or a lifted ground: each lets the module start anew.
    upsets = (
        not calm.is_suppressed or calm.is_module_weak or noticed.lifted_v > _LIFTED_V
    )
    # The first that fits is complained of: what does nothing is not said to be weak,
    # too.
    felt: dict[Symptom, bool] = {
        "never stops": noticed.off_frac > _RUNS_FRAC,
        "does nothing": noticed.on_frac < _STANDS_FRAC,
        "works weakly": noticed.on_frac < WEAK_FRAC,
        # Not by what it is worth: a fault that comes and goes has a record of its own.
        "comes and goes": calm is not stressed,
        "runs hot": noticed.current_frac > _HOT_FRAC or noticed.holder_w > _HOT_W,
        "upsets the module": upsets,
    }
    return next((symptom for symptom, is_felt in felt.items() if is_felt), "none")
