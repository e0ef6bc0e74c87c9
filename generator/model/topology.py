"""One network that holds every variant of a relay circuit, and its solutions."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.model.circuit import Floats
from generator.model.islands import Islands
from generator.model.network import Branch, Network, Topology

# Input resistance of a digital multimeter on volts (common practice, no source).
METER_OHM = 1.0e7


# Where the voltmeter can be put: plus probe, minus probe.
PROBES = {
    "fuse box": ("fed", "0"),
    "battery": ("supply", "0"),
    "supply-30": ("supply", "30"),
    "30-87": ("30", "87"),
    "87-load": ("87", "load+"),
    "load connector": ("plug", "load+"),
    "load-ground": ("load-", "0"),
    "86": ("86", "0"),
    "85": ("85", "0"),
    "87a": ("87a", "0"),
    "socket 30": ("blade_30", "0"),
    "socket 87": ("87", "0"),
    "low driver": ("driver", "0"),
    "high driver": ("driver_out", "0"),
    "module ground": ("module_ground", "0"),
    "coil": ("86", "85"),
    "load": ("load+", "load-"),
}


_METER = "meter "


# One topology holds every variant: what a circuit does not have is open, and where it
# has nothing but copper stands a bus bar or a splice.
TOPOLOGY = Topology.of(
    [
        ("battery", "0", "supply"),
        ("upstream", "supply", "fed"),
        ("control_fuse", "fed", "control_fuse_out"),
        # A shared fuse feeds the control circuit from behind itself.
        ("control_tap", "load_fuse_out", "control_fuse_out"),
        # A circuit has one of two drivers; where the other would be is a track.
        ("high_driver", "control_fuse_out", "driver_out"),
        ("control_feed", "driver_out", "86"),
        ("coil", "86", "85"),
        ("suppression", "86", "85"),
        ("control_return", "85", "driver"),
        ("low_driver", "driver", "module_ground"),
        ("module_ground", "module_ground", "0"),
        ("load_fuse", "fed", "load_fuse_out"),
        ("load_feed", "load_fuse_out", "30"),
        ("socket", "30", "blade_30"),
        ("contacts", "blade_30", "87"),
        ("break_contact", "blade_30", "87a"),
        ("load_wire", "87", "plug"),
        ("load_connector", "plug", "load+"),
        ("load", "load+", "load-"),
        ("load_ground", "load-", "ground_point"),
        ("ground_point", "ground_point", "0"),
        # What has its ground at the same point, and what hangs at the supply lead of
        # that: while both are off, they lie one behind the other to a ground elsewhere.
        ("neighbour", "ground_point", "0"),
        ("feed_to_power", "fed", "86"),
        ("feed_to_ground", "86", "0"),
        ("return_to_ground", "85", "0"),
        ("load_to_ground", "plug", "0"),
        # A live wire of another circuit: neither fuse, switch nor relay of this one
        # stops it.
        ("load_to_power", "supply", "plug"),
        # The jumper is plugged into the socket in place of the relay.
        ("jumper", "blade_30", "87"),
        # A test lamp likewise: on a terminal that should be fed, or on one that should
        # lead to ground.
        ("lamp_30", "blade_30", "0"),
        ("lamp_86", "86", "0"),
        ("lamp_85", "supply", "85"),
        ("lamp_87", "supply", "87"),
        # What loads the battery by itself: the vehicle's own lights.
        ("headlights", "supply", "0"),
        # A voltmeter is a branch, too: at ten megohms it takes a current, and closes
        # circuits that are open. Last of all, for `METERS_FROM`.
        *((f"{_METER}{name}", plus, minus) for name, (plus, minus) in PROBES.items()),
    ]
)


ISLANDS = Islands(TOPOLOGY.ends.T.tolist(), len(TOPOLOGY.nodes))


ENDS = {
    name: (TOPOLOGY.nodes[int(row.argmax())], TOPOLOGY.nodes[int(row.argmin())])
    for name, row in zip(TOPOLOGY.branches, TOPOLOGY.incidence, strict=True)
}


AT = {name: i for i, name in enumerate(TOPOLOGY.branches)}


# It is the only path of what floats, so that it carries nothing, whatever its ohms.
_STRAY_OHM = 1.0e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """Operating points of a batch of cases, each linear with its own solution.

    Attributes
    ----------
    resistance : array, shape (n_branches, ...)
        Nonlinear parts at their operating point [Ω].
    emfs : mapping of arrays, shape (...)
        Of branches that have one in some case, by number [V].
    voltage : array, shape (n_nodes, ...)
        Against ground [V]; where a node floats, against one of its island.
    known_a : mapping of arrays, shape (...)
        Currents that follow from nothing else here: those of meters, and of drivers
        that limit.
    coil_frac : array, shape (...)
        Coil current over the pull-in current; of a smart switch the current that it
        senses over what it shuts off at.
    """

    resistance: Floats
    emfs: Mapping[int, Floats]
    voltage: Floats
    known_a: Mapping[int, Floats]
    coil_frac: Floats

    def part(self, some: slice, shape: tuple[int, int, int]) -> Settled:
        """Take neighbours out of a row of cases.

        Parameters
        ----------
        shape : tuple of int
            (n_setups, n_circuits, n_variants); circuits come first in what is given.
        """

        def taken(array: NDArray[Any]) -> NDArray[Any]:
            own = array[..., some].reshape(*array.shape[:-1], *shape)
            return np.swapaxes(own, -3, -2)

        return self._each(taken)

    def in_setup(self, number: int) -> Settled:
        """Look at the states in one setup, the only one on the second axis of cases."""
        return self._each(lambda array: array[..., number : number + 1, :])

    def _each(self, do: Callable[[NDArray[Any]], NDArray[Any]]) -> Settled:
        return Settled(
            resistance=do(self.resistance),
            emfs={branch: do(volts) for branch, volts in self.emfs.items()},
            voltage=do(self.voltage),
            known_a={branch: do(amps) for branch, amps in self.known_a.items()},
            coil_frac=do(self.coil_frac),
        )

    def current(self, branch: str, setup: int | None = None) -> Floats:
        """Current of one branch [A], shape (...); without their axis in one setup."""
        number, at = AT[branch], (...,) if setup is None else (..., setup, slice(None))
        if number in self.known_a:
            return self.known_a[number][at]
        start, end = TOPOLOGY.ends[:, number]
        across = self.voltage[start][at] - self.voltage[end][at]
        if number in self.emfs:
            across += self.emfs[number][at]
        # Times the conductance, as the solver reckons it: a quotient could round
        # otherwise.
        current: Floats = 1 / self.resistance[number][at] * across
        return current

    def emf(self, branch: str) -> Floats:
        """Emf of one branch [V], shape (...)."""
        nothing = np.zeros(self.coil_frac.shape)
        return self.emfs.get(AT[branch], nothing)

    def meter_voltage(self, probe: str, setup: int | None = None) -> Floats:
        """Voltage that the meter sees at a probe [V], in the shape of a current."""
        return self.current(f"{_METER}{probe}", setup) * METER_OHM

    @property
    def resistance_ohm(self) -> Floats:
        """Resistance of every branch [Ω], shape (..., n_branches)."""
        return np.moveaxis(self.resistance, 0, -1)

    @property
    def emf_v(self) -> Floats:
        """Emf of every branch [V], shape (..., n_branches)."""
        return np.stack([self.emf(name) for name in AT], axis=-1)

    @property
    def current_a(self) -> Floats:
        """Current of every branch [A], shape (..., n_branches)."""
        return np.stack([self.current(name) for name in AT], axis=-1)

    @property
    def voltage_v(self) -> Floats:
        """Voltage of every node [V], shape (..., n_nodes); nan where it floats."""
        volts = [
            np.where(self.floats(node), np.nan, voltage)
            for node, voltage in zip(TOPOLOGY.nodes, self.voltage, strict=True)
        ]
        return np.stack(volts, axis=-1)

    def floats(self, node: str) -> NDArray[np.bool_]:
        """Tell where nothing joins a node to ground, shape (...)."""
        closed = np.isfinite(self.resistance).reshape(len(AT), -1)
        floats = ISLANDS.parted(closed).apart(TOPOLOGY.nodes.index(node), 0)
        return floats.reshape(self.coil_frac.shape)


def network_of(
    settled: Settled, case: tuple[int, ...], kept: str | None = None
) -> Network:
    """Give one settled case as a network that any solver can check.

    Open branches are left out, and so is what has no path to ground. Only what the
    meter is put on stays, named by one of its nodes: where that floats, a stray
    resistance that carries no current ties it to ground. What hangs by the voltmeter
    alone is left out too, for it is as good as the end of its probe.
    """
    ohms = settled.resistance.transpose(*range(1, settled.resistance.ndim), 0)[case]
    emf = {number: float(volts[case]) for number, volts in settled.emfs.items()}
    closed = {n: ohm for n, ohm in enumerate(ohms.tolist()) if math.isfinite(ohm)}
    # Without meters: the voltmeter grounds whatever it touches, which else would count
    # as having a path of its own.
    left = [_JOINS[number] for number in closed if number < METERS_FROM]
    stray = [] if kept is None else _stray(kept, _reached(_JOINS[n] for n in closed))
    reached = _reached([*left, *(_bits(b.node_from, b.node_to) for b in stray)])
    branches = [
        Branch(name, *ENDS[name], closed[number], emf.get(number, 0.0))
        for number, name in enumerate(TOPOLOGY.branches)
        if number in closed and _JOINS[number] & reached
    ]
    return Network(branches=(*branches, *stray))


def _stray(kept: str, reached: int) -> list[Branch]:
    """Tie a node that floats to ground."""
    floats = not reached & _bits(kept)
    return [Branch("stray", kept, "0", _STRAY_OHM)] if floats else []


def _bits(*nodes: str) -> int:
    """Write nodes as the bits of a whole number; ground is the lowest."""
    return sum(1 << TOPOLOGY.nodes.index(node) for node in nodes)


def _reached(joins: Iterable[int]) -> int:
    """Nodes with a path to ground along branches, all as bits."""
    reached, left, near = 0, list(joins), 1
    while near & ~reached:
        reached |= near
        near = 0
        for join in left:
            if join & reached:
                near |= join
    return reached


METERS_FROM = len(AT) - len(PROBES)
"""Meters stand behind all other branches."""
_JOINS = tuple(_bits(*ENDS[name]) for name in TOPOLOGY.branches)
