"""What an instrument truly sees of one circuit in a set-up, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from workbook.measuring.bands import Truth
from workbook.measuring.network import Topology
from workbook.measuring.settling import Circuits, Settled, topology_with
from workbook.measuring.turn_off import spike_v
from workbook.record.bench import Pair
from workbook.record.set_up import SetUp

# While a part is in its place, its pins are where they are plugged in.
_IN_SOCKET = {
    "pin_86": "86",
    "pin_85": "85",
    "pin_30": "blade_30",
    "pin_87": "87",
}
# In these a current comes back to where that of the others came from.
_BACK = ("control_return", "module_ground", "load_ground")
# What an ohmmeter drives through a resistor of its own, to find what it is put on.
_OWN_OHM = 1.0
# The values that decide how high a coil drives its end.
_OF_SPIKES = ("supply_v", "coil", "suppression")


def truth_of(circuits: Circuits, pair: Pair, set_up: SetUp) -> Truth:
    """Measure one circuit.

    Parameters
    ----------
    pair : Pair
        One of the circuits.
    """
    settled = circuits.settled(pair, set_up)
    probe = _Probe(circuits, set_up, settled)
    measure = {"volts": probe.volts, "ohms": probe.ohms, "clamp": probe.clamp}
    if set_up.instrument == "scope":
        found = _scoped(circuits, pair, set_up)
    else:
        found = measure[set_up.instrument]()
    return replace(found, coil_frac=settled.coil_frac, blown=settled.blown)


def node_of(point: str, set_up: SetUp) -> str:
    """Give the node at which a point lies: a part in its place has its own no more."""
    if set_up.relay == "in":
        point = _IN_SOCKET.get(point, point)
    return "load-" if point == "cavity" and set_up.load_connector == "in" else point


@dataclass(frozen=True, slots=True)
class _Probe:
    """An instrument on a circuit at its operating point."""

    circuits: Circuits
    set_up: SetUp
    settled: Settled

    @property
    def nodes(self) -> tuple[str, str]:
        """Where plus and minus are."""
        return node_of(self.set_up.plus, self.set_up), node_of(
            self.set_up.minus, self.set_up
        )

    def volts(self) -> Truth:
        """Put the voltmeter, with its own resistance, between two points."""
        one, two = self.nodes
        if one == two:
            return Truth(value=0.0)
        if not self.circuits.topology.joins(self.settled.ohm, one, two):
            return Truth(value=0.0, is_floating=True)
        topology, ohm = self._metered(one, two)
        answer = topology.solve(self._sloped(ohm), self._unit(len(ohm) - 1))
        u = self._uncertainty(answer.current_a[:-1], self._meter_ohm)
        value = self.currents_with_meter()[-1] * self._meter_ohm
        return Truth(value=value, tolerance_u=u)

    @property
    def _meter_ohm(self) -> float:
        return self.circuits.model.instruments.meter_ohm

    def _metered(self, one: str, two: str) -> tuple[Topology, list[float | None]]:
        """The circuit with the voltmeter as its last branch."""
        topology = topology_with(self.circuits, one, two)
        return topology, [*self.settled.ohm, self._meter_ohm]

    def currents_with_meter(self) -> list[float]:
        """Current of each branch while the voltmeter is on, its own the last [A]."""
        topology, ohm = self._metered(*self.nodes)
        return topology.solve(ohm, [*self.settled.emf_v, 0.0]).current_a

    def ohms(self) -> Truth:
        """Let an ohmmeter drive its current from one point to the other."""
        one, two = self.nodes
        if one == two:
            return Truth(value=0.0)
        live_v = self.volts().value
        ohm = [*self.settled.ohm, _OWN_OHM]
        topology = topology_with(self.circuits, one, two)
        answer = topology.solve(ohm, self._unit(len(ohm) - 1)).current_a
        through = answer[-1]
        if not self.circuits.topology.joins(self.settled.ohm, one, two):
            return Truth(value=math.inf, live_v=live_v)
        # One volt drives the current through the meter's own resistor and what it is
        # put on.
        value = 1 / through - _OWN_OHM
        moved = (
            # What each ohm moves the whole by: the square of its share of the current.
            frac * own * (part / through) ** 2
            for frac, own, part in self._toleranced(answer)
        )
        u = math.sqrt(sum(each**2 for each in moved))
        return Truth(value=value, tolerance_u=u, live_v=live_v)

    def clamp(self) -> Truth:
        """Close the clamp around a wire or two."""
        set_up, at = self.set_up, self.circuits.at
        value = self.settled.current_a[at[set_up.wire]]
        u = self._clamped_u(at[set_up.wire])
        if set_up.back:
            # What comes back in one of the wires takes away from the other.
            is_against = (set_up.wire in _BACK) != (set_up.back in _BACK)
            other = self.settled.current_a[at[set_up.back]]
            value += -other if is_against else other
        return Truth(value=value, tolerance_u=u)

    def _clamped_u(self, wire: int) -> float:
        ohm = self.settled.ohm
        if ohm[wire] is None:
            return 0.0
        topology = self.circuits.topology
        answer = topology.solve(self._sloped(ohm), self._unit(wire, len(ohm)))
        return self._uncertainty(answer.current_a, 1.0)

    def _unit(self, at: int, length: int = 0) -> list[float]:
        """One volt in one branch."""
        emf = [0.0] * (length or at + 1)
        emf[at] = 1.0
        return emf

    def _sloped(self, ohm: list[float | None]) -> list[float | None]:
        """A load that works answers by its slope, not by its resistance."""
        if self.settled.load_slope_ohm is None:
            return list(ohm)
        sloped = list(ohm)
        sloped[self.circuits.at["load"]] = self.settled.load_slope_ohm
        return sloped

    def _uncertainty(self, answer: list[float], factor: float) -> float:
        """Add up what each tolerance moves.

        A resistance that is larger by a little takes its current times that from the
        voltage of its branch; by reciprocity a volt in any branch moves what is
        measured as much as a volt at the instrument moves that branch.
        """
        settled, at = self.settled, self.circuits.at
        moved = [
            frac * own * settled.current_a[number] * answer[number]
            for number, frac, own in self._own_tolerances()
        ]
        supply = self.circuits.model.tolerances.get("supply_v", 0.0)
        battery = at["battery"]
        moved.append(supply * settled.emf_v[battery] * answer[battery])
        moved += [pull * answer[at["load"]] for pull in settled.load_pull.values()]
        return factor * math.sqrt(sum(each**2 for each in moved))

    def _own_tolerances(self) -> list[tuple[int, float, float]]:
        at, ohm = self.circuits.at, self.settled.ohm
        return [
            (at[name], frac, own)
            for name, frac in self.circuits.model.tolerances.items()
            if name in at and (own := ohm[at[name]]) is not None
        ]

    def _toleranced(self, answer: list[float]) -> list[tuple[float, float, float]]:
        """Tolerance, ohms and current of each branch that has one, the load's too."""
        own = [(f, ohm, answer[n]) for n, f, ohm in self._own_tolerances()]
        load, ohm = self.circuits.at["load"], self.settled.ohm
        of_load = self.circuits.model.tolerances.get("load_ohm", 0.0)
        pins = (("pin_coil", "coil"), ("pin_suppression", "suppression"))
        for pin, part in pins:
            number = self.circuits.at[pin]
            each = ohm[number]
            if each is not None:
                frac = self.circuits.model.tolerances.get(part, 0.0)
                own.append((frac, each, answer[number]))
        load_ohm = ohm[load]
        if load_ohm is not None:
            own.append((of_load, load_ohm, answer[load]))
        return own


def _scoped(circuits: Circuits, pair: Pair, set_up: SetUp) -> Truth:
    """Look at a terminal while the driver opens: from the lowest to the highest.

    Of what sets how high a coil drives its end each moves it by its share at most.
    """
    value = _peak_to_peak(circuits, pair, set_up)
    fracs = [circuits.model.tolerances.get(name, 0.0) for name in _OF_SPIKES]
    return Truth(value=value, tolerance_u=value * math.hypot(*fracs))


def _peak_to_peak(circuits: Circuits, pair: Pair, set_up: SetUp) -> float:
    # What the scope is triggered by: the driver lets go of what it has held.
    off = replace(set_up, command="off")
    volts, coil_a = [], []
    for state in (set_up, off):
        probe = _Probe(circuits, state, circuits.settled(pair, state))
        volts.append(probe.volts().value)
        coil_a.append(probe.currents_with_meter()[circuits.at["coil"]])
    step_v = abs(volts[0] - volts[1])
    model = circuits.model
    value = {**model.sound.value, **pair.calm.value}
    if not {*_driven(circuits, value)} & {set_up.plus, set_up.minus}:
        return step_v
    return step_v + spike_v(coil_a[0] - coil_a[1], value, model.constants)


def _driven(circuits: Circuits, value: dict[str, float]) -> tuple[str, str]:
    """Points on the side of the coil where the driver is."""
    fed, grounded = circuits.ends[circuits.at["coil"]]
    return (fed, "driver_out") if value["is_high_side"] else (grounded, "driver")
