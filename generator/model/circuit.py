"""A relay circuit as a network: its values, how it is set up, how it settles.

One relay circuit has two branches from one supply. Control: fuse, feed, coil with its
suppression between terminals 86 and 85, return, low-side driver, module ground.
Load: fuse, feed, contacts between terminals 30 and 87, wire, load, ground.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from generator.model import parts
from generator.model.network import Branch, Network, Topology, solve_batch

__all__ = [
    "METER_OHM",
    "PROBES",
    "TOPOLOGY",
    "Command",
    "RelayCircuit",
    "Settled",
    "Setup",
    "columns_of",
    "network_of",
    "settle",
]

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
Columns = Mapping[str, Floats]
Command = Literal["normal", "output test", "off"]

# Input resistance of a digital multimeter on volts (common practice, no source).
METER_OHM = 1.0e7
# Where the voltmeter can be put: plus probe, minus probe.
PROBES = {
    "supply-30": ("supply", "30"),
    "30-87": ("30", "87"),
    "87-load": ("87", "load+"),
    "load-ground": ("load-", "0"),
    "86": ("86", "0"),
    "85": ("85", "0"),
    "driver": ("driver", "0"),
}
TOPOLOGY = Topology.of(
    [
        ("battery", "0", "supply"),
        ("control_fuse", "supply", "control_fuse_out"),
        ("control_feed", "control_fuse_out", "86"),
        ("coil", "86", "85"),
        ("suppression", "86", "85"),
        ("control_return", "85", "driver"),
        ("driver", "driver", "module_ground"),
        ("module_ground", "module_ground", "0"),
        ("load_fuse", "supply", "load_fuse_out"),
        ("load_feed", "load_fuse_out", "30"),
        ("contacts", "30", "87"),
        ("load_wire", "87", "load+"),
        ("load", "load+", "load-"),
        ("load_ground", "load-", "0"),
        ("return_to_ground", "85", "0"),
        ("load_to_ground", "load+", "0"),
        ("load_to_power", "supply", "load+"),
        ("jumper", "30", "87"),
        *((f"meter {name}", plus, minus) for name, (plus, minus) in PROBES.items()),
    ]
)
_ENDS = {
    name: (
        TOPOLOGY.nodes[int(row.argmax())],
        TOPOLOGY.nodes[int(row.argmin())],
    )
    for name, row in zip(TOPOLOGY.branches, TOPOLOGY.incidence, strict=True)
}
_AT = {name: i for i, name in enumerate(TOPOLOGY.branches)}
INF = np.inf
# Fused test lead and fused jumper with their fuses (common practice, no source).
_LEAD_OHM = 0.010
_JUMPER_OHM = 0.015
_STRAY_OHM = 1.0e9


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayCircuit:
    """All values of one relay circuit with two fuses and a low-side driver.

    Resistances [Ω] carry ``_ohm`` and may be ``inf`` (open). ``load_ohm`` is the
    load cold, ``hot_frac`` its resistance at work over that, ``load_rated_a`` what
    it should draw. A motor has a
    constant [V·s], a fan coefficient [N·m·s²] and friction [N·m]; ``friction_nm``
    of ``inf`` is a seized rotor. ``mechanism`` says what a hand feels.
    """

    supply_v: float
    supply_ohm: float
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
    contacts_ohm: float
    load_wire_ohm: float
    load_rated_a: float
    load_ohm: float
    hot_frac: float
    motor_constant_vs: float
    fan_nms2: float
    friction_nm: float
    load_ground_ohm: float
    return_to_ground_ohm: float = np.inf
    load_to_ground_ohm: float = np.inf
    load_to_power_ohm: float = np.inf
    is_enabled: bool = True
    is_driver_dead: bool = False
    is_driver_on: bool = False
    is_welded: bool = False
    does_work: bool = True
    mechanism: Literal["normal effort", "stuck", "heavy", "free"] = "normal effort"


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """How the circuit is set up for a test.

    A fused lead takes the place of a fuse; with a ``jumper`` between 30 and 87 the
    relay is out; ``new_relay`` swaps in a sound one; ``probe`` names where the
    voltmeter is put, one of ``PROBES``.
    """

    command: Command = "output test"
    control_lead: bool = False
    load_lead: bool = False
    jumper: bool = False
    new_relay: bool = False
    module_unplugged: bool = False
    probe: str | None = None


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
        current: Floats = self.current_a[..., _AT[branch]]
        return current

    def emf(self, branch: str) -> Floats:
        """Emf of one branch [V], shape (...)."""
        emf: Floats = self.emf_v[..., _AT[branch]]
        return emf

    def meter_voltage(self, probe: str) -> Floats:
        """Voltage that the meter sees at a probe [V], shape (...)."""
        return self.current(f"meter {probe}") * METER_OHM


_NUMERIC = tuple(f.name for f in fields(RelayCircuit) if f.name != "mechanism")
_RELAY = ("coil_ohm", "suppression_ohm", "pull_in_a", "contacts_ohm", "is_welded")
_LAWS = ("pull_in_a", "driver_limit_a", "motor_constant_vs", "fan_nms2", "friction_nm")


def columns_of(circuits: Sequence[RelayCircuit]) -> dict[str, Floats]:
    """Values of several circuits as columns, each of shape (n_circuits, 1)."""
    return {
        name: np.array([[float(getattr(c, name))] for c in circuits])
        for name in _NUMERIC
    }


def _resistances(columns: Columns, sound: Columns, setup: Setup) -> Floats:
    """Resistance of every branch in a setup, the contacts as if closed."""
    value = dict(columns)
    if setup.new_relay:
        value |= {name: sound[name] for name in _RELAY}
    shape = value["supply_ohm"].shape
    resistance = {name: np.full(shape, np.inf) for name in TOPOLOGY.branches}
    for name in resistance.keys() & {c.removesuffix("_ohm") for c in value}:
        resistance[name] = value[f"{name}_ohm"]
    resistance["battery"] = value["supply_ohm"]
    resistance["load"] = value["load_ohm"] * value["hot_frac"]
    resistance["driver"] = np.where(_conducts(columns, setup), value["driver_ohm"], INF)
    for branch, is_present, ohm in (
        *((name, setup.jumper, INF) for name in ("coil", "suppression", "contacts")),
        ("control_fuse", setup.control_lead, _LEAD_OHM),
        ("load_fuse", setup.load_lead, _LEAD_OHM),
        ("jumper", setup.jumper, _JUMPER_OHM),
        (f"meter {setup.probe}", setup.probe is not None, METER_OHM),
    ):
        if is_present:
            resistance[branch] = np.full(shape, ohm)
    return np.stack([resistance[name] for name in TOPOLOGY.branches], axis=-1)


def _conducts(columns: Columns, setup: Setup) -> NDArray[np.bool_]:
    """Whether the driver conducts: commanded and alive, or stuck on."""
    always = np.ones_like(columns["is_enabled"], dtype=bool)
    commanded = {
        "normal": columns["is_enabled"] > 0,
        "output test": always,
        "off": ~always,
    }[setup.command]
    is_on = (commanded & (columns["is_driver_dead"] == 0)) | (
        columns["is_driver_on"] > 0
    )
    conducts: NDArray[np.bool_] = is_on & (not setup.module_unplugged)
    return conducts


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laws:
    """What the nonlinear parts of each case follow, shape (n_cases,)."""

    pull_in_a: Floats
    is_welded: NDArray[np.bool_]
    driver_limit_a: Floats
    motor_constant_vs: Floats
    fan_nms2: Floats
    friction_nm: Floats


def settle(columns: Columns, sound: Columns, setups: Sequence[Setup]) -> Settled:
    """Find the operating points of every circuit in every setup.

    Parameters
    ----------
    columns : mapping of arrays, shape (n_circuits, n_variants)
        Values of the circuits, as from ``columns_of``.
    sound : mapping of arrays that broadcast to the same shape
        Values of the sound circuit, for parts that a setup replaces.
    setups : sequence of Setup, length n_setups

    Returns
    -------
    Settled
        Arrays of shape (n_circuits, n_setups, n_variants, ...).
    """
    shape = np.broadcast_shapes(*(np.shape(c) for c in columns.values()))
    columns = {name: np.broadcast_to(c, shape) for name, c in columns.items()}
    sound = {name: np.broadcast_to(c, shape) for name, c in sound.items()}
    resistance = np.stack([_resistances(columns, sound, s) for s in setups], axis=1)
    full = resistance.shape[:-1]

    def spread(name: str) -> Floats:
        per_setup = [
            (sound if s.new_relay and name in _RELAY else columns)[name] for s in setups
        ]
        return np.stack(per_setup, axis=1).reshape(-1)

    laws = _Laws(
        is_welded=spread("is_welded") > 0,
        **{name: spread(name) for name in _LAWS},
    )
    emf = np.zeros_like(resistance)
    emf[..., _AT["battery"]] = np.broadcast_to(columns["supply_v"][:, None], full)
    flat = (-1, len(TOPOLOGY.branches))
    return _settle_rows(resistance.reshape(flat), emf.reshape(flat), laws, full)


def _settle_rows(
    resistance: Floats, emf: Floats, laws: _Laws, shape: tuple[int, ...]
) -> Settled:
    """Let the driver, the contacts and the motor of each case find their state."""
    contacts = resistance[:, _AT["contacts"]].copy()
    resistance[:, _AT["contacts"]] = np.where(laws.is_welded, contacts, INF)
    idle = solve_batch(TOPOLOGY, resistance, emf).current_a
    limited = np.flatnonzero(idle[:, _AT["driver"]] > laws.driver_limit_a)
    _limit_driver(resistance, emf, limited, laws)
    idle[limited] = solve_batch(TOPOLOGY, resistance[limited], emf[limited]).current_a
    coil_a = idle[:, _AT["coil"]]
    pulls = laws.is_welded | (coil_a >= laws.pull_in_a)
    resistance[:, _AT["contacts"]] = np.where(pulls, contacts, INF)
    _turn_motor(resistance, emf, laws)
    final = solve_batch(TOPOLOGY, resistance, emf)
    _linearise_driver(resistance, emf, limited, final.current_a)
    return Settled(
        resistance_ohm=resistance.reshape(*shape, -1),
        emf_v=emf.reshape(*shape, -1),
        current_a=final.current_a.reshape(*shape, -1),
        voltage_v=final.voltage_v.reshape(*shape, -1),
        coil_frac=(coil_a / laws.pull_in_a).reshape(shape),
    )


def _limit_driver(resistance: Floats, emf: Floats, rows: Rows, laws: _Laws) -> None:
    """Turn drivers above their limit into steep current sources, in place."""
    resistance[rows, _AT["driver"]] += parts.LIMITER_OHM
    emf[rows, _AT["driver"]] = parts.LIMITER_OHM * laws.driver_limit_a[rows]


def _linearise_driver(
    resistance: Floats, emf: Floats, rows: Rows, current_a: Floats
) -> None:
    """Write a limiting driver as the resistance of its operating point, in place."""
    at = _AT["driver"]
    current = current_a[rows, at]
    resistance[rows, at] -= emf[rows, at] / current
    emf[rows, at] = 0.0


def _turn_motor(resistance: Floats, emf: Floats, laws: _Laws) -> None:
    """Give running motors the back-EMF of their operating point, in place.

    Seen from the motor the rest is a source with a resistance (Thévenin), so that
    each case is one equation in the current: fan torque over speed, a quadratic.
    """
    at = _AT["load"]
    turns = np.isfinite(laws.friction_nm) & (laws.motor_constant_vs > 0)
    rows = np.flatnonzero(turns & np.isfinite(resistance[:, at]))
    standing = solve_batch(TOPOLOGY, resistance[rows], emf[rows]).current_a[:, at]
    rows, standing = rows[standing > 1e-9], standing[standing > 1e-9]
    without = resistance[rows].copy()
    without[:, at] = INF
    solution = solve_batch(TOPOLOGY, without, emf[rows])
    plus, minus = (TOPOLOGY.nodes.index(node) for node in _ENDS["load"])
    open_v = solution.voltage_v[:, plus] - solution.voltage_v[:, minus]
    emf[rows, at] = -parts.running_emf(
        open_v,
        open_v / standing,
        laws.motor_constant_vs[rows],
        (laws.fan_nms2[rows], laws.friction_nm[rows]),
    )


def network_of(
    settled: Settled, case: tuple[int, ...], probe: str | None = None
) -> Network:
    """Give one settled case as a network that any solver can check.

    Open branches are left out, and so is what has no path to ground. Only what the
    voltmeter is put on stays: where that floats, a stray resistance that carries no
    current ties it to ground.
    """
    closed = [
        Branch(name, *_ENDS[name], float(ohm), float(volts))
        for name, ohm, volts in zip(
            TOPOLOGY.branches,
            settled.resistance_ohm[case],
            settled.emf_v[case],
            strict=True,
        )
        if np.isfinite(ohm)
    ]
    if probe is not None and PROBES[probe][1] not in _reached(closed):
        closed.append(Branch("stray", PROBES[probe][1], "0", _STRAY_OHM))
    reached = _reached(closed)
    return Network(branches=tuple(b for b in closed if b.node_from in reached))


def _reached(branches: Sequence[Branch], ground: str = "0") -> set[str]:
    """Nodes with a path to ground."""
    reached, grown = {ground}, True
    while grown:
        ends = [{b.node_from, b.node_to} for b in branches]
        new = set().union(*(pair for pair in ends if pair & reached)) - reached
        reached |= new
        grown = bool(new)
    return reached
