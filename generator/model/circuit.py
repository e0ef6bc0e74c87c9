"""A relay circuit as a network: its variants, its values, its states.

One relay circuit has two branches from one supply. Control: fuse, feed, coil with its
suppression between its two terminals, return, and a driver either behind the coil
(low-side) or before it (high-side). Load: fuse, feed, terminal 30 of the relay's
socket, contacts, terminal 87, wire, connector of the load, load, ground. Both may
share one fuse.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from generator.model.network import Branch, Network, Topology

Floats = NDArray[np.float64]
Mechanism = Literal["normal effort", "stuck", "heavy", "free", "wide gap"]

# Input resistance of a digital multimeter on volts (common practice, no source).
METER_OHM = 1.0e7
# Where the voltmeter can be put: plus probe, minus probe.
PROBES = {
    "fuse box": ("fed", "0"),
    "supply-30": ("supply", "30"),
    "30-87": ("30", "87"),
    "87-load": ("87", "load+"),
    "load connector": ("plug", "load+"),
    "load-ground": ("load-", "0"),
    "86": ("86", "0"),
    "85": ("85", "0"),
    "87a": ("87a", "0"),
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
        ("return_to_ground", "85", "0"),
        ("load_to_ground", "plug", "0"),
        ("load_to_power", "supply", "plug"),
        # The jumper is plugged into the socket in place of the relay.
        ("jumper", "blade_30", "87"),
        *((f"{_METER}{name}", plus, minus) for name, (plus, minus) in PROBES.items()),
    ]
)
ENDS = {
    name: (TOPOLOGY.nodes[int(row.argmax())], TOPOLOGY.nodes[int(row.argmin())])
    for name, row in zip(TOPOLOGY.branches, TOPOLOGY.incidence, strict=True)
}
AT = {name: i for i, name in enumerate(TOPOLOGY.branches)}
_STRAY_OHM = 1.0e9
_BUS_BAR_OHM = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayCircuit:
    """All values of one relay circuit, whatever its variant.

    Resistances [Ω] carry ``_ohm`` and may be ``inf`` (open). ``upstream_ohm`` is what
    feeds both fuses: a bus bar, an ignition switch or the contacts of a main relay.
    ``socket_ohm`` is where terminal 30 of the relay sits in its socket,
    ``load_connector_ohm`` the contact pair and crimps on the supply side of the load;
    those of the other terminals count with their wires.

    ``load_ohm`` is the load cold, ``hot_frac`` its resistance at rated power over
    that; a lamp's rises with ``lamp_exponent`` of its voltage. ``load_rated_a`` is
    what it should draw at ``rated_v``. A motor has a constant [V·s], a fan
    coefficient [N·m·s²] and friction [N·m]: a fan little friction, a pump much and no
    fan; ``friction_nm`` of ``inf`` is a seized rotor. ``duty_frac`` below 1 is a load
    that is switched fast, seen by what averages.

    Across the coil lies ``suppression_ohm``, a diode, or nothing. ``is_fed_at_85``
    says that terminal 85 has the supply; the terminals go by the names of the plain
    circuit all the same, so that ``85`` is the coil's terminal on the ground side.
    A module that ``is_module_weak`` restarts on what a sound one bears.
    ``mechanism`` says what a hand feels.
    """

    supply_v: float
    supply_ohm: float
    upstream_ohm: float = 0.0002
    control_fuse_ohm: float
    control_feed_ohm: float
    coil_ohm: float
    suppression_ohm: float
    pull_in_a: float
    control_return_ohm: float
    driver_ohm: float
    driver_limit_a: float
    module_ground_ohm: float
    load_fuse_ohm: float
    load_fuse_rating_a: float
    load_feed_ohm: float
    socket_ohm: float = 0.003
    contacts_ohm: float
    load_wire_ohm: float
    load_connector_ohm: float = 0.003
    rated_v: float = 13.5
    load_rated_a: float
    load_ohm: float
    hot_frac: float
    lamp_exponent: float = 0.0
    duty_frac: float = 1.0
    motor_constant_vs: float
    fan_nms2: float
    friction_nm: float
    load_ground_ohm: float
    feed_to_power_ohm: float = np.inf
    return_to_ground_ohm: float = np.inf
    load_to_ground_ohm: float = np.inf
    load_to_power_ohm: float = np.inf
    is_fuse_shared: bool = False
    is_high_side: bool = False
    has_break_contact: bool = False
    is_fed_at_85: bool = False
    does_driver_shut_off: bool = False
    is_enabled: bool = True
    is_driver_dead: bool = False
    is_driver_on: bool = False
    is_welded: bool = False
    has_diode: bool = False
    is_diode_reversed: bool = False
    is_module_weak: bool = False
    does_work: bool = True
    mechanism: Mechanism = "normal effort"
    has_mechanism: bool = False

    @property
    def has_control_fuse(self) -> bool:
        """Whether the control circuit has a fuse of its own."""
        return not self.is_fuse_shared

    @property
    def is_low_side(self) -> bool:
        """Whether the driver stands between coil and ground."""
        return not self.is_high_side

    @property
    def is_suppressed(self) -> bool:
        """Whether something lies across the coil that takes its energy."""
        return self.has_diode or bool(np.isfinite(self.suppression_ohm))

    @property
    def has_switch_upstream(self) -> bool:
        """Whether a switch or a main relay feeds the fuses, not a bus bar."""
        return self.upstream_ohm > _BUS_BAR_OHM


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


_NUMERIC = tuple(f.name for f in fields(RelayCircuit) if f.name != "mechanism")


def columns_of(circuits: Sequence[RelayCircuit]) -> dict[str, Floats]:
    """Values of several circuits as columns, each of shape (n_circuits, 1)."""
    return {
        name: np.array([[float(getattr(c, name))] for c in circuits])
        for name in _NUMERIC
    }


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
