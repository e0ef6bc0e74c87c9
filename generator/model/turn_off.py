"""A coil that is switched off: the height of its spike, and its course through time.

``transients`` follows one coil through time; here its spike stands in closed form for
a whole batch, so that every circuit and every tolerance of a proof can be read.

Drivers of these circuits do not clamp: one that does would take the energy of the coil
itself, and hide from a scope that the suppression is missing.
"""

from __future__ import annotations

import cmath
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import Columns, RelayCircuit, columns_of
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.topology import Settled
from generator.model.trace import Trace
from generator.model.transients import (
    RELAY_INDUCTANCE_H,
    RELAY_LOSS_OHM,
    RELAY_STRAY_F,
    CoilCircuit,
    Suppression,
    Winding,
    coil_turn_off,
)

Floats = NDArray[np.float64]

# The relay whose inductance and core loss `transients` gives pulls in at this current.
_PULL_IN_A = 0.080
# Silicon; at 1 A the 0.9 Ω that `settling` has of a diode (common practice, no source).
_DIODE_V, _DIODE_OHM = 0.7, 0.2
CONSTANTS = {
    "coil_pull_in_a": _PULL_IN_A,
    "coil_inductance_h": RELAY_INDUCTANCE_H,
    "coil_loss_ohm": RELAY_LOSS_OHM,
    "coil_stray_f": RELAY_STRAY_F,
    "diode_v": _DIODE_V,
    "diode_ohm": _DIODE_OHM,
}
"""Of the coil whose turn-off this is, as data."""
NO_CURRENT_A = 1e-3
"""A coil current that is cut off and is below this drives no spike [A]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """A relay coil with its suppression, as a transient needs them.

    A reversed diode suppresses nothing: it blocks when the driver opens.
    """

    winding: Winding
    suppression: Suppression
    is_diode_reversed: bool


def coil_of(circuit: RelayCircuit) -> Coil:
    """Give the coil of a circuit with its inductance.

    The ampere-turns of pull-in belong to the frame of a relay, so that its turns go
    inversely with its pull-in current, and inductance and core loss with their square.
    """
    turns_frac = _PULL_IN_A / circuit.pull_in_a
    return Coil(
        winding=Winding(
            resistance_ohm=circuit.coil_ohm,
            inductance_h=RELAY_INDUCTANCE_H * turns_frac**2,
            loss_ohm=RELAY_LOSS_OHM * turns_frac**2,
            stray_f=RELAY_STRAY_F,
        ),
        suppression=Suppression(
            resistor_ohm=circuit.suppression_ohm,
            diode_ohm=_DIODE_OHM if circuit.has_diode else np.inf,
            diode_v=_DIODE_V,
        ),
        is_diode_reversed=circuit.is_diode_reversed,
    )


def peak_to_peak_v(
    columns: Columns, settled: Settled, at: tuple[str, int, int]
) -> Floats:
    """Voltage from lowest to highest at a probe when the driver opens [V].

    Parameters
    ----------
    columns : Columns, shape (n_circuits, n_variants)
        Values of the circuits.
    settled : Settled
        Their operating points, shape (n_circuits, n_setups, n_variants).
    at : tuple of str, int, int
        The probe, on the driver's side of the coil, and the numbers of the setups with
        it there: commanded on, and off.

    Returns
    -------
    array, shape (n_circuits, n_variants)
        0 where the terminal stays as it is.
    """
    probe, on, off = at
    volts = [settled.meter_voltage(probe, each) for each in (on, off)]
    coil_a = [settled.current("coil", each) for each in (on, off)]
    step_v = np.abs(volts[0] - volts[1])
    return np.asarray(step_v + _spike(columns, coil_a[0] - coil_a[1]))


def _spike(columns: Columns, cut_a: Floats) -> Floats:
    """How far a coil drives its end past where it rests [V], by the current cut off."""
    is_cut = cut_a > NO_CURRENT_A
    names = ("coil_ohm", "suppression_ohm", "pull_in_a", "has_diode")
    value = [np.broadcast_to(columns[n], cut_a.shape)[is_cut].tolist() for n in names]
    coils = zip(*value, cut_a[is_cut].tolist(), strict=True)
    spike = np.zeros_like(cut_a)
    spike[is_cut] = [_spike_of(*coil) for coil in coils]
    return spike


def _spike_of(
    coil_ohm: float,
    suppression_ohm: float,
    pull_in_a: float,
    has_diode: float,
    start_a: float,
) -> float:
    bare = _undershoot(coil_ohm, suppression_ohm, pull_in_a, start_a)
    return min(bare, _DIODE_V + _DIODE_OHM * start_a) if has_diode else bare


def _undershoot(
    coil_ohm: float, suppression_ohm: float, pull_in_a: float, start_a: float
) -> float:
    """Lowest voltage across a coil without a diode, its sign turned [V].

    The coil with core loss, stray capacitance and resistor is linear in its current and
    its voltage: v(t) = A·exp(s·t) + B·exp(f·t), which turns where its slope is 0.

    One coil after the other: how NumPy rounds the products of complex arrays depends on
    the processor.
    """
    square = (_PULL_IN_A / pull_in_a) ** 2
    loss_ohm, inductance_h = RELAY_LOSS_OHM * square, RELAY_INDUCTANCE_H * square
    share = loss_ohm / (loss_ohm + coil_ohm)
    across_s = 1 / (coil_ohm + loss_ohm) + 1 / suppression_ohm
    damping, leak = share * coil_ohm / inductance_h, across_s / RELAY_STRAY_F
    determinant = damping * leak + share**2 / (inductance_h * RELAY_STRAY_F)
    fast = _fast_rate(-(damping + leak) / 2, determinant)
    slow = determinant / fast
    start_v = start_a * coil_ohm
    slope = -share * start_a / RELAY_STRAY_F - leak * start_v
    first = (slope - fast * start_v) / (slow - fast)
    second = start_v - first
    gap = slow - fast
    # Of many turns of a ringing coil this is the first, and it lies ahead: its stray
    # capacitance empties faster than its copper brakes the current, as long as
    # inductance / (loss · stray) is above its ohms, which is 272 kΩ for every relay.
    turn_s = (cmath.log(-fast * second / (slow * first)) / gap).real
    low = first * cmath.exp(slow * turn_s) + second * cmath.exp(fast * turn_s)
    return -low.real


def _fast_rate(half: float, determinant: float) -> complex:
    """The faster of two rates by their mean and their product [1/s]."""
    root = cmath.sqrt(half * half - determinant)
    # Critical damping has one rate only: a millionth beside it has two.
    least = 1e-6 * abs(half)
    return half - (least if abs(root) < least else root)


_STEP_S = 0.01


def turn_off_trace(circuit: RelayCircuit, probe: str) -> Trace:
    """Follow the voltage at a terminal of the coil from when the driver opens.

    Parameters
    ----------
    probe : str
        The terminal on the driver's side, one of ``topology.PROBES``.

    Returns
    -------
    Trace
        Flat where the driver changes nothing, a step where no current is cut off.
    """
    columns = columns_of([circuit])
    # What is cut off is the difference: a coil that a short or a driver stuck on goes
    # on feeding keeps its current, and gives no spike.
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
    # The current goes on the same way through the coil: the end that was pulled down
    # flies up, and the one that was pulled up flies down.
    voltage_v = off_v - away_v if circuit.is_high_side else off_v + away_v
    voltage_v[0] = on_v
    return replace(alone, voltage_v=voltage_v)
