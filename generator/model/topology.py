"""One network that holds every variant of a relay circuit, and its solutions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from generator.model.circuit import Floats
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
        ("control_tap", "load_fuse_out", "control_fuse_out"),
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
        ("load_ground", "load-", "0"),
        ("feed_to_power", "fed", "86"),
        ("feed_to_ground", "86", "0"),
        ("return_to_ground", "85", "0"),
        ("load_to_ground", "plug", "0"),
        ("load_to_power", "supply", "plug"),
        # The jumper is plugged into the socket in place of the relay.
        ("jumper", "blade_30", "87"),
        # A test lamp likewise: on a terminal that should be fed, or on one that should
        # lead to ground.
        ("lamp_30", "blade_30", "0"),
        ("lamp_86", "86", "0"),
        ("lamp_85", "supply", "85"),
        ("lamp_87", "supply", "87"),
        *((f"{_METER}{name}", plus, minus) for name, (plus, minus) in PROBES.items()),
    ]
)


ENDS = {
    name: (TOPOLOGY.nodes[int(row.argmax())], TOPOLOGY.nodes[int(row.argmin())])
    for name, row in zip(TOPOLOGY.branches, TOPOLOGY.incidence, strict=True)
}


AT = {name: i for i, name in enumerate(TOPOLOGY.branches)}


_STRAY_OHM = 1.0e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """Operating points of a batch of cases, each linear with its own solution.

    Attributes
    ----------
    resistance_ohm, emf_v, current_a : arrays, shape (..., n_branches)
        Nonlinear parts as resistance and emf at their operating point.
    voltage_v : array, shape (..., n_nodes)
    coil_frac : array, shape (...)
        Coil current over the pull-in current.
    """

    resistance_ohm: Floats
    emf_v: Floats
    current_a: Floats
    voltage_v: Floats
    coil_frac: Floats

    def current(self, branch: str) -> Floats:
        """Current of one branch [A], shape (...)."""
        current: Floats = self.current_a[..., AT[branch]]
        return current

    def emf(self, branch: str) -> Floats:
        """Emf of one branch [V], shape (...)."""
        emf: Floats = self.emf_v[..., AT[branch]]
        return emf

    def in_setups(self, numbers: Sequence[int]) -> Settled:
        """Choose states by the numbers of their setups, the second axis."""
        picked = {f.name: getattr(self, f.name)[:, numbers] for f in fields(self)}
        return Settled(**picked)

    def meter_voltage(self, probe: str) -> Floats:
        """Voltage that the meter sees at a probe [V], shape (...)."""
        return self.current(f"meter {probe}") * METER_OHM


def network_of(
    settled: Settled, case: tuple[int, ...], kept: str | None = None
) -> Network:
    """Give one settled case as a network that any solver can check.

    Open branches are left out, and so is what has no path to ground. Only what the
    meter is put on stays, named by one of its nodes: where that floats, a stray
    resistance that carries no current ties it to ground. What hangs by the voltmeter
    alone is left out too, for it is as good as the end of its probe.
    """
    closed = [
        Branch(name, *ENDS[name], float(ohm), float(volts))
        for name, ohm, volts in zip(
            TOPOLOGY.branches,
            settled.resistance_ohm[case],
            settled.emf_v[case],
            strict=True,
        )
        if np.isfinite(ohm)
    ]
    if kept is not None and kept not in _reached(closed):
        closed.append(Branch("stray", kept, "0", _STRAY_OHM))
    reached = _reached([b for b in closed if not b.name.startswith(_METER)])
    return Network(
        branches=tuple(b for b in closed if {b.node_from, b.node_to} & reached)
    )


def _reached(branches: Sequence[Branch], ground: str = "0") -> set[str]:
    """Nodes with a path to ground."""
    reached, grown = {ground}, True
    while grown:
        ends = [{b.node_from, b.node_to} for b in branches]
        new = set().union(*(pair for pair in ends if pair & reached)) - reached
        reached |= new
        grown = bool(new)
    return reached
