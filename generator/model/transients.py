"""Transients: the turn-off of a relay coil.

The coil is a winding with its copper resistance, its inductance, a core loss across
the inductance and a stray capacitance across its terminals. A resistor or a diode may
lie in parallel, and the low-side switch may clamp. The parts that conduct only past a
voltage are broken lines, so that between their corners the circuit is linear in two
unknowns, the current of the inductance and the voltage across the coil. There the
solution is a sum of two exponentials or a damped oscillation, in closed form.

References
----------
W. H. Hayt, J. E. Kemmerly, S. M. Durbin, "Engineering Circuit Analysis", ch. 9: the
natural response of circuits with two stores of energy (from memory).
T. R. Kuphaldt, "Lessons In Electric Circuits", vol. III, ch. 3, diodes across switched
coils: a diode gives the lowest voltage and the slowest decay.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.model.trace import Trace

Floats = NDArray[np.float64]

# A mini relay of 12 V: a time constant of 3 to 4 ms over about 90 Ω, a solid core whose
# eddy currents take the fast part of the spike, and some turns next to each other
# (common practice, no source). Unsuppressed they give a spike of a few hundred volts.
RELAY_INDUCTANCE_H = 0.3
RELAY_LOSS_OHM = 2.2e3
RELAY_STRAY_F = 500e-12
# Below this the clamp of a driver would act in normal use (jump start with 24 V).
LEAST_CLAMP_OVER_SUPPLY_V = 12.0

_POINTS = 400
_POINTS_PER_RADIAN = 12
_MOST_POINTS = 60_000
_CORNER_V = 1e-9
_SHARES = [place / (_POINTS - 1) for place in range(_POINTS)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding:
    """A coil on a core: copper, inductance, core loss, stray capacitance.

    ``loss_ohm`` lies across the inductance alone, so that it takes no steady current;
    ``stray_f`` lies across the terminals.
    """

    resistance_ohm: float
    inductance_h: float = RELAY_INDUCTANCE_H
    loss_ohm: float = RELAY_LOSS_OHM
    stray_f: float = RELAY_STRAY_F

    def __post_init__(self) -> None:
        values = (self.resistance_ohm, self.inductance_h, self.loss_ohm, self.stray_f)
        if not all(value > 0 for value in values):
            raise ValueError(f"a winding needs values above 0, not {values}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Suppression:
    """What lies across a coil: a resistor, a reverse diode, both or nothing.

    ``resistor_ohm`` and ``diode_ohm`` are ``inf`` where there is none; the second is
    all that lies in series with the diode. ``diode_v`` is its forward voltage, which
    for silicon is about 0.7 V.
    """

    resistor_ohm: float = math.inf
    diode_ohm: float = math.inf
    diode_v: float = 0.7

    def __post_init__(self) -> None:
        if not min(self.resistor_ohm, self.diode_ohm, self.diode_v) > 0:
            raise ValueError(
                "suppression needs values above 0; inf for a part left out"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilCircuit:
    """A coil between a supply and a low-side switch that opens.

    ``feed_ohm`` lies before the coil and ``return_ohm`` behind it, the closed switch
    included. ``clamp_v`` is the voltage against ground at which the switch conducts
    again (``inf`` for an ideal one), with ``clamp_ohm`` in series. Drivers of control
    modules clamp at 40 to 60 V (common practice, no source).
    """

    supply_v: float
    winding: Winding
    suppression: Suppression = Suppression()
    feed_ohm: float = 0.0
    return_ohm: float = 0.0
    clamp_v: float = math.inf
    clamp_ohm: float = 1.0

    def __post_init__(self) -> None:
        if not self.supply_v > 0 or min(self.feed_ohm, self.return_ohm) < 0:
            raise ValueError("supply_v must be above 0 and resistances not below")
        if self.clamp_v < self.supply_v + LEAST_CLAMP_OVER_SUPPLY_V:
            raise ValueError(
                f"clamp_v is {self.clamp_v}. Put it {LEAST_CLAMP_OVER_SUPPLY_V} V or "
                "more above supply_v."
            )

    @property
    def coil_v(self) -> float:
        """Voltage across the coil while the switch is closed [V]."""
        together = 1 / (1 / self.winding.resistance_ohm + self._resistor_s)
        return self.supply_v * together / (self.feed_ohm + together + self.return_ohm)

    @property
    def initial_a(self) -> float:
        """Current of the coil while the switch is closed [A]."""
        return self.coil_v / self.winding.resistance_ohm

    @property
    def _resistor_s(self) -> float:
        return 1 / self.suppression.resistor_ohm

    @property
    def _switched_v(self) -> float:
        """Voltage at terminal 85 while the switch is closed [V]."""
        through_a = self.initial_a + self.coil_v * self._resistor_s
        return self.supply_v - self.feed_ohm * through_a - self.coil_v

    @property
    def _corners(self) -> tuple[tuple[float, float], ...]:
        """Coil voltages below which a part conducts [V], with its slope [S]."""
        diode, clamp_ohm = self.suppression, self.clamp_ohm + self.feed_ohm
        corners = (
            (-diode.diode_v, 1 / diode.diode_ohm),
            (self.supply_v - self.clamp_v, 1 / clamp_ohm),
        )
        kept = [(v, s) for v, s in corners if s > 0 and math.isfinite(v)]
        return tuple(sorted(kept, reverse=True))

    def terminal_v(self, across_v: Floats) -> Floats:
        """Voltage at terminal 85 against ground, switch open, by coil voltage [V]."""
        over_v = np.maximum(self.supply_v - self.clamp_v - across_v, 0.0)
        share = self.feed_ohm / (self.clamp_ohm + self.feed_ohm)
        return np.asarray(self.supply_v - across_v - share * over_v)


def coil_turn_off(circuit: CoilCircuit, duration_s: float | None = None) -> Trace:
    """Follow coil current and switched-terminal voltage from when the switch opens.

    Parameters
    ----------
    duration_s : float, optional
        Length of the trace [s]; left out, six time constants of the bare winding.

    Returns
    -------
    Trace
        From just before opening; the peak is a point of its own.

    Notes
    -----
    Without clamp, loss and capacitance a resistor R_s gives a peak of
    ``supply + I0·R_s``, and a diode one of ``supply + diode_v``.

    Examples
    --------
    >>> coil = Winding(resistance_ohm=90.0)
    >>> resistor = Suppression(resistor_ohm=680.0)
    >>> circuit = CoilCircuit(supply_v=12.0, winding=coil, suppression=resistor)
    >>> trace = coil_turn_off(circuit)
    >>> round(circuit.initial_a, 4), round(trace.release_s(0.02) * 1000, 2)
    (0.1333, 1.0)
    """
    winding = circuit.winding
    end_s = duration_s or 6 * winding.inductance_h / winding.resistance_ohm
    # Diode and clamp either conduct or not, and between their corners the circuit is
    # linear: the trace is put together from exact pieces, without steps in time.
    state = np.array([circuit.initial_a, circuit.coil_v])
    times, states = [np.zeros(1)], [state[None]]
    corners, passed, start_s, step = circuit._corners, 0, 0.0, 1
    while step:
        piece = _new_piece(circuit, corners[:passed], state)
        inside = _within(corners, passed)
        time_s, step = _until_corner(piece, inside, end_s - start_s)
        times.append(start_s + time_s)
        states.append(piece.at(time_s))
        start_s, state, passed = times[-1][-1], states[-1][-1], passed + step
    path = np.concatenate(states)
    voltage = circuit.terminal_v(path[:, 1])
    # The first point is the one before opening, where the driver still holds it down.
    voltage[0] = circuit._switched_v
    return Trace(
        time_s=np.concatenate(times),
        current_a=path[:, 0].copy(),
        voltage_v=voltage,
        final_a=0.0,
    )


@dataclass(frozen=True, slots=True)
class _Piece:
    """A linear stretch: x(t) = rest + Σ parts·exp(rates·t), x = (current, voltage)."""

    rest: Floats
    rates: tuple[complex, complex]
    parts: NDArray[np.complex128]

    def at(self, time_s: Floats) -> Floats:
        """States at some times, shape (n_times, 2)."""
        states = np.tile(self.rest, (len(time_s), 1))
        # Real products alone: NumPy's complex ones depend on the processor.
        for rate, part in zip(self.rates, self.parts, strict=True):
            growth = np.exp(rate * time_s)[:, None]
            states += growth.real * part.real - growth.imag * part.imag
        return states

    def voltage(self, time_s: float) -> float:
        """Coil voltage at one time [V]."""
        return float(self.at(np.array([time_s]))[0, 1])

    def turning_s(self) -> float | None:
        """First time at which the voltage turns [s], where it does."""
        slow, fast = self.rates
        weights = slow * self.parts[0, 1], fast * self.parts[1, 1]
        if not all(weights):
            return None
        gap = slow - fast
        time = cmath.log(-weights[1] / weights[0]) / gap
        # A complex time means that two real rates never bring the slope to nothing.
        if abs(time.imag) > 1e-6 * abs(time.real):
            return None
        # A ringing voltage turns twice a period; the logarithm may give one before 0.
        half_turn = 2 * math.pi / abs(gap.imag) if gap.imag else 0.0
        return time.real if time.real > 0 else time.real + half_turn


def _new_piece(
    circuit: CoilCircuit, conducting: tuple[tuple[float, float], ...], state: Floats
) -> _Piece:
    """Solve the stretch that begins with a state, with the parts that conduct."""
    coil = circuit.winding
    # The core loss lies beside the inductance, behind the copper: both resistances
    # divide the voltage that drives the inductance.
    share = 1 / (1 + coil.resistance_ohm / coil.loss_ohm)
    across_s = 1 / (coil.resistance_ohm + coil.loss_ohm) + circuit._resistor_s
    across_s += sum(slope for _, slope in conducting)
    drive_a = sum(corner * slope for corner, slope in conducting)
    inductance, stray = coil.inductance_h, coil.stray_f
    (a, b), (c, d) = matrix = (
        (-share * coil.resistance_ohm / inductance, share / inductance),
        (-share / stray, -across_s / stray),
    )
    # By Cramer's rule: the slope of the current is nothing, that of the voltage what
    # the parts drive that conduct.
    driven = drive_a / stray / (a * d - b * c)
    rest = np.array([b * driven, -a * driven])
    slow, fast = rates = _rates(matrix)
    x, y = (state - rest).tolist()
    parts = [
        [
            ((a - other) * x + b * y) / (own - other),
            (c * x + (d - other) * y) / (own - other),
        ]
        for own, other in ((slow, fast), (fast, slow))
    ]
    return _Piece(rest, rates, np.array(parts, dtype=complex))


def _rates(matrix: Sequence[Sequence[float]]) -> tuple[complex, complex]:
    """Eigenvalues of a damped 2 × 2 system; the slower one loses no digits."""
    (a, b), (c, d) = matrix
    half, determinant = (a + d) / 2, a * d - b * c
    root = cmath.sqrt(half * half - determinant)
    # Critical damping has no two eigenvectors: a millionth beside it has.
    if abs(root) < 1e-6 * abs(half):
        root = complex(1e-6 * abs(half))
    # half is below 0, so this adds and loses no digits; the slower would subtract.
    fast = half - root
    return determinant / fast, fast


def _within(
    corners: tuple[tuple[float, float], ...], passed: int
) -> tuple[float, float]:
    """Coil voltages between which no more and no fewer parts conduct [V]."""
    low = corners[passed][0] if passed < len(corners) else -math.inf
    high = corners[passed - 1][0] if passed else math.inf
    return low, high


def _until_corner(
    piece: _Piece, inside: tuple[float, float], span_s: float
) -> tuple[Floats, int]:
    """Times of a stretch, and whether one more (1) or one fewer (-1) conducts then."""
    low, high = inside
    time_s = _grid(piece, span_s)
    voltage = piece.at(time_s)[:, 1]
    # Each piece begins on a corner: without some room it would end where it begins.
    outside = (voltage < low - _CORNER_V) | (voltage > high + _CORNER_V)
    if not outside.any():
        return time_s, 0
    after = int(outside.argmax())
    step = 1 if voltage[after] < low else -1
    corner = low if step > 0 else high
    bracket = (float(time_s[max(after - 1, 0)]), float(time_s[after]))
    return _grid(piece, _bisected(piece, corner, bracket, step)), step


def _bisected(
    piece: _Piece, corner: float, bracket: tuple[float, float], step: int
) -> float:
    """When the coil voltage passes a corner [s]."""
    before, after = bracket
    # Sixty halvings use up all digits, and never leave the bracket as Newton's could.
    for _ in range(60):
        middle = (before + after) / 2
        is_past = (corner - piece.voltage(middle)) * step > 0
        before, after = (before, middle) if is_past else (middle, after)
    return after


def _grid(piece: _Piece, span_s: float) -> Floats:
    """Times that show both the fast and the slow part, and the turn of the voltage."""
    slow, fast = piece.rates
    wanted = _POINTS + span_s * abs(fast.imag) * _POINTS_PER_RADIAN
    # Even steps show the decay and the ringing, steps that grow by a factor the fast
    # beginning, which would need far too many even ones.
    first = min(0.01 / max(abs(slow), abs(fast)), span_s / 2)
    turn = piece.turning_s()
    return np.unique(
        np.concatenate(
            [
                np.linspace(0.0, span_s, int(min(wanted, _MOST_POINTS))),
                [first * (span_s / first) ** share for share in _SHARES],
                [turn] if turn is not None and 0 < turn < span_s else [],
            ]
        ).clip(0.0, span_s)
    )
