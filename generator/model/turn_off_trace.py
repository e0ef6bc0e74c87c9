"""The turn-off of one circuit's coil through time, as a scope behind it draws it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from generator.model.circuit import columns_of
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.transients import CoilCircuit, Trace, coil_turn_off
from generator.model.turn_off import NO_CURRENT_A, coil_of

if TYPE_CHECKING:
    from generator.model.circuit import RelayCircuit

__all__ = ["turn_off_trace"]

_STEP_S = 0.01


def turn_off_trace(circuit: RelayCircuit, probe: str) -> Trace:
    """Follow the voltage at a terminal of the coil from when the driver opens.

    Parameters
    ----------
    circuit : RelayCircuit
    probe : str
        The terminal on the driver's side, one of ``circuit.PROBES``.

    Returns
    -------
    Trace
        Flat where the driver changes nothing, a step where no current is cut off.
    """
    columns = columns_of([circuit])
    setups = [Setup(probe=probe), Setup(command="off", probe=probe)]
    settled = settle(columns, columns, setups)
    on_v, off_v = settled.meter_voltage(probe)[0, :, 0].tolist()
    on_a, off_a = settled.current("coil")[0, :, 0].tolist()
    if not on_a - off_a > NO_CURRENT_A:
        return Trace(
            time_s=np.array([0.0, 0.0, _STEP_S]),
            current_a=np.array([on_a, off_a, off_a]),
            voltage_v=np.array([on_v, off_v, off_v]),
            final_a=off_a,
        )
    coil, source_v = coil_of(circuit), (on_a - off_a) * circuit.coil_ohm
    # The coil on a source that gives it just the current that is cut off.
    alone = coil_turn_off(
        CoilCircuit(
            supply_v=source_v, winding=coil.winding, suppression=coil.suppression
        )
    )
    away_v = alone.voltage_v - source_v
    voltage_v = off_v - away_v if circuit.is_high_side else off_v + away_v
    voltage_v[0] = on_v
    return replace(alone, voltage_v=voltage_v)
