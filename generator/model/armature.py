"""A coil that pulls something: its current dips while the armature or plunger moves.

As the air gap closes, the inductance grows and drives a voltage against the current.
With a gap that closes evenly everything is in closed form: U = R·i + d(L·i)/dt is
linear in i, also while L grows with time.

References
----------
V. Gourishankar, "Electromechanical Energy Conversion", ch. 2: a coil whose inductance
changes has the voltage L·di/dt + i·dL/dt (from memory). That the current of a relay
falls until its armature has arrived is in the makers' notes (read at
meishuo-relay.com, "Relay suction characteristics").
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from generator.model.inrush import Source, new_trace
from generator.model.trace import Trace

_POINTS = 400
# Inductance open over closed, and how long the armature of a mini relay moves (common
# practice, no source).
OPEN_FRAC = 0.45
MOVE_S = 0.0012


@dataclass(frozen=True, slots=True, kw_only=True)
class Plunger:
    """A winding with what it pulls.

    ``open_h`` and ``closed_h`` are its inductance before and after the move, which
    begins at ``pull_in_a`` and takes ``move_s``; a ``pull_in_a`` of ``inf`` is one that
    sticks.
    """

    winding_ohm: float
    open_h: float
    closed_h: float
    move_s: float
    pull_in_a: float

    def __post_init__(self) -> None:
        if not 0 < self.open_h < self.closed_h:
            raise ValueError("a gap that closes needs closed_h above open_h, above 0")
        if not min(self.winding_ohm, self.move_s, self.pull_in_a) > 0:
            raise ValueError("winding_ohm, move_s and pull_in_a must be above 0")


def pull_in_trace(source: Source, plunger: Plunger, duration_s: float) -> Trace:
    """Current of a coil from when it is switched on.

    Returns
    -------
    Trace
        Without a dip where the current never reaches ``pull_in_a``.

    Examples
    --------
    >>> coil = Plunger(
    ...     winding_ohm=90.0, open_h=0.14, closed_h=0.3, move_s=0.0012, pull_in_a=0.08
    ... )
    >>> trace = pull_in_trace(Source(emf_v=14.0), coil, 0.03)
    >>> start, end = moves_s(Source(emf_v=14.0), coil)
    >>> round(start * 1000, 2), round(end * 1000, 2)
    (1.12, 2.32)
    >>> [round(float(np.interp(t, trace.time_s, trace.current_a)), 4) for t in (end,)]
    [0.0675]
    """
    time_s = np.linspace(0.0, duration_s, _POINTS)
    # Straight lines between points would cut off the corners: they are points, too.
    corners = [t for t in moves_s(source, plunger) if t < duration_s]
    time_s = np.unique(np.concatenate([time_s, corners]))
    current = np.array([_current(source, plunger, t) for t in time_s.tolist()])
    final_a = source.emf_v / (source.resistance_ohm + plunger.winding_ohm)
    return new_trace(source, time_s, current, final_a)


def moves_s(source: Source, plunger: Plunger) -> tuple[float, float]:
    """When the armature starts and when it has arrived [s]; ``inf`` if it stays."""
    ohm = source.resistance_ohm + plunger.winding_ohm
    reached = plunger.pull_in_a * ohm / source.emf_v
    if reached >= 1:
        return math.inf, math.inf
    start_s = -plunger.open_h / ohm * math.log1p(-reached)
    return start_s, start_s + plunger.move_s


def _current(source: Source, plunger: Plunger, time_s: float) -> float:
    """Current at one time [A], by the piece that it lies in."""
    start_s, end_s = moves_s(source, plunger)
    ohm = source.resistance_ohm + plunger.winding_ohm
    if time_s <= start_s:
        return -source.emf_v / ohm * math.expm1(-time_s * ohm / plunger.open_h)
    if time_s <= end_s:
        return _moving(source, plunger, time_s - start_s)
    final_a, arrived_a = source.emf_v / ohm, _moving(source, plunger, plunger.move_s)
    left = math.exp(-(time_s - end_s) * ohm / plunger.closed_h)
    return final_a + (arrived_a - final_a) * left


def _moving(source: Source, plunger: Plunger, since_s: float) -> float:
    """Current while the gap closes [A]: it tends to U / (R + dL/dt)."""
    ohm = source.resistance_ohm + plunger.winding_ohm
    # With L = L0 + g·t the gap's voltage is g·i: a resistance that lasts as long as the
    # move. The rest of L·di/dt then makes a power of L / L0 of the usual exponential.
    growth_ohm = (plunger.closed_h - plunger.open_h) / plunger.move_s
    towards_a = source.emf_v / (ohm + growth_ohm)
    grown = 1 + growth_ohm * since_s / plunger.open_h
    left = math.pow(grown, -(ohm + growth_ohm) / growth_ohm)
    return towards_a + (plunger.pull_in_a - towards_a) * left
