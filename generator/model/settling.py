"""How circuits settle: drivers, contacts, motors and filaments find their states.

Everything nonlinear is put at its operating point in a few linear solves of the whole
batch, so that each settled case is a linear network that any program can check.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generator.model import parts
from generator.model.islands import island_roots
from generator.model.measure import Setup
from generator.model.network import BatchSolution, solve_batch
from generator.model.topology import AT, ENDS, METER_OHM, PROBES, TOPOLOGY, Settled

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]
Columns = Mapping[str, Floats]

# Fused test lead and fused jumper with their fuses (common practice, no source).
_LEAD_OHM = 0.010
_JUMPER_OHM = 0.015
# Test lamps: 10 W where the load is fed, 5 W where a driver or a coil's wire carries
# them. Their filaments count as hot; a cooler one only loads a bad joint more.
_LAMP_W = {"lamp_30": 10.0, "lamp_86": 5.0, "lamp_85": 5.0, "lamp_87": 5.0}
# Copper where a variant has no part: the track in a module, a splice of two wires.
_TRACK_OHM = 0.001
# A diode that conducts, at the limit of the driver: 0.7 V at 1 A, and its own ohms.
_FORWARD_OHM = 0.9
_RELAY = (
    "coil_ohm",
    "suppression_ohm",
    "is_diode_reversed",
    "pull_in_a",
    "contacts_ohm",
    "is_welded",
)
_INF = np.inf


def settle(
    columns: Columns,
    sound: Columns,
    setups: Sequence[Setup],
    stressed: Columns | None = None,
) -> Settled:
    """Find the operating points of every circuit in every setup.

    Parameters
    ----------
    columns : mapping of arrays, shape (n_circuits, n_variants)
        Values of the circuits, as from ``columns_of``.
    sound : mapping of arrays that broadcast to the same shape
        Values of the sound circuit, for parts that a setup replaces.
    setups : sequence of Setup, length n_setups
    stressed : mapping of arrays, optional
        Values of the circuits while the harness is wiggled and warm; default as they
        are.

    Returns
    -------
    Settled
        Arrays of shape (n_circuits, n_setups, n_variants, ...).
    """
    shape = np.broadcast_shapes(*(np.shape(c) for c in columns.values()))

    def whole(some: Columns) -> Columns:
        return {
            name: c if np.shape(c) == shape else np.broadcast_to(c, shape)
            for name, c in some.items()
        }

    calm, new, strained = whole(columns), whole(sound), whole(stressed or columns)
    # A voltmeter moves no state: each state is found once for all its probes.
    unprobed = [replace(setup, probe=None) for setup in setups]
    states = list(dict.fromkeys(unprobed))
    per_state = [
        _with_relay(strained if s.is_stressed else calm, new if s.new_relay else None)
        for s in states
    ]
    resistance = np.stack(
        [resistances(v, s) for v, s in zip(per_state, states, strict=True)], axis=1
    )
    value = {
        name: np.stack([v[name] for v in per_state], axis=1).reshape(-1)
        for name in OPERATING
    }
    emf = np.zeros_like(resistance)
    emf[..., AT["battery"]] = value["supply_v"].reshape(resistance.shape[:-1])
    flat = (-1, len(TOPOLOGY.branches))
    cases = _Cases(
        resistance=resistance.reshape(flat), emf=emf.reshape(flat), value=value
    )
    coil_frac = _find_states(cases)
    kept = [states.index(setup) for setup in unprobed]
    of_state = (*resistance.shape[:-1], -1)
    return _measured(
        cases.resistance.reshape(of_state)[:, kept],
        cases.emf.reshape(of_state)[:, kept],
        coil_frac.reshape(resistance.shape[:-1])[:, kept],
        [setup.probe for setup in setups],
    )


OPERATING = (
    "supply_v",
    "pull_in_a",
    "contacts_ohm",
    "driver_limit_a",
    "rated_v",
    "load_rated_a",
    "load_ohm",
    "hot_frac",
    "lamp_exponent",
    "duty_frac",
    "motor_constant_vs",
    "fan_nms2",
    "friction_nm",
    "is_welded",
    "is_high_side",
    "does_driver_shut_off",
    "has_break_contact",
)
"""Values that decide at which point a circuit works, beside its resistances."""


def _with_relay(value: Columns, relay: Columns | None) -> Columns:
    """Swap in the relay of another circuit, or keep the circuit's own."""
    if relay is None:
        return value
    return {**value, **{name: relay[name] for name in _RELAY}}


def resistances(value: Columns, setup: Setup) -> Floats:
    """Resistance of every branch in a setup, the contacts as if closed [Ω].

    Parameters
    ----------
    value : mapping of arrays, shape (n_circuits, n_variants)
        Values of the circuits, as from ``columns_of``.

    Returns
    -------
    array, shape (n_circuits, n_variants, n_branches)
    """
    shape = value["supply_ohm"].shape
    absent, track = np.full(shape, _INF), np.full(shape, _TRACK_OHM)
    driver = np.where(_conducts(value, setup), value["driver_ohm"], _INF)
    is_high, is_shared = value["is_high_side"] > 0, value["is_fuse_shared"] > 0
    resistance = {
        name: value.get(f"{name}_ohm", absent) for name in TOPOLOGY.branches
    } | {
        "battery": value["supply_ohm"],
        "control_fuse": np.where(is_shared, _INF, value["control_fuse_ohm"]),
        "control_tap": np.where(is_shared, track, _INF),
        "high_driver": np.where(is_high, driver, track),
        "suppression": np.where(
            value["is_diode_reversed"] > 0, _FORWARD_OHM, value["suppression_ohm"]
        ),
        "low_driver": np.where(is_high, track, driver),
        "load": value["load_ohm"],
    }
    if setup.control_lead:
        resistance["control_fuse"] = np.where(is_shared, _INF, _LEAD_OHM)
    if setup.load_lead:
        resistance["load_fuse"] = np.full(shape, _LEAD_OHM)
    resistance["load_fuse"] = resistance["load_fuse"] + value["fuse_holder_ohm"]
    out = {
        "control_fuse": setup.control_fuse_out,
        "load_fuse": setup.load_fuse_out,
        "load_connector": setup.load_unplugged,
        "load_ground": setup.load_unplugged,
    }
    resistance |= {name: absent for name, is_out in out.items() if is_out}
    if setup.jumper or setup.relay_out:
        resistance |= dict.fromkeys(("coil", "suppression", "contacts"), absent)
    if setup.jumper:
        resistance["jumper"] = np.full(shape, _JUMPER_OHM)
    if setup.lamp is not None:
        resistance[setup.lamp] = value["rated_v"] ** 2 / _LAMP_W[setup.lamp]
    return np.stack([resistance[name] for name in TOPOLOGY.branches], axis=-1)


def _conducts(value: Columns, setup: Setup) -> NDArray[np.bool_]:
    """Whether the driver conducts: commanded and alive, or stuck on."""
    always = np.ones_like(value["is_enabled"], dtype=bool)
    commanded = {
        "normal": value["is_enabled"] > 0,
        "output test": always,
        "off": ~always,
    }[setup.command]
    is_on = (commanded & (value["is_driver_dead"] == 0)) | (value["is_driver_on"] > 0)
    conducts: NDArray[np.bool_] = is_on & (not setup.module_unplugged)
    return conducts


@dataclass(slots=True, kw_only=True)
class _Cases:
    """A batch of cases on the way to their operating points.

    Attributes
    ----------
    resistance, emf : arrays, shape (n_cases, n_branches)
    value : mapping of arrays, shape (n_cases,)
    """

    resistance: Floats
    emf: Floats
    value: Columns

    def currents(self, rows: Rows | slice = slice(None)) -> Floats:
        """Branch currents of some cases [A]."""
        return _solved(self.resistance[rows], self.emf[rows]).current_a

    def at(self, name: str) -> Floats:
        """Resistance of one branch, as a view [Ω]."""
        return self.resistance[:, AT[name]]


def _solved(resistance: Floats, emf: Floats) -> BatchSolution:
    """Solve a batch, equal cases once: most faults leave most setups as they are."""
    rows = np.concatenate([resistance, emf], axis=1)
    number: dict[bytes, int] = {}
    which = np.array(
        [number.setdefault(row.tobytes(), len(number)) for row in rows], dtype=np.intp
    )
    first = np.unique(which, return_index=True)[1]
    solution = solve_batch(TOPOLOGY, resistance[first], emf[first])
    return BatchSolution(
        voltage_v=solution.voltage_v[which], current_a=solution.current_a[which]
    )


def _find_states(cases: _Cases) -> Floats:
    """Let the driver, the contacts and the load of each case find their state.

    Returns
    -------
    array, shape (n_cases,)
        Coil current over the pull-in current.
    """
    value = cases.value
    contacts, is_welded = value["contacts_ohm"], value["is_welded"] > 0
    is_out = np.isinf(cases.at("contacts"))
    made = np.where(is_out, _INF, contacts)
    cases.at("contacts")[:] = np.where(is_welded, made, _INF)
    idle = cases.currents()
    limited = _limit_drivers(cases, idle)
    idle[limited] = cases.currents(limited)
    coil_a = idle[:, AT["coil"]]
    pulls = is_welded | (coil_a >= value["pull_in_a"])
    cases.at("contacts")[:] = np.where(pulls, made, _INF)
    rests = ~pulls & ~is_out & (value["has_break_contact"] > 0)
    cases.at("break_contact")[:] = np.where(rests, contacts, _INF)
    _work_loads(cases)
    return np.asarray(coil_a / value["pull_in_a"])


def _measured(
    resistance: Floats, emf: Floats, coil_frac: Floats, probes: Sequence[str | None]
) -> Settled:
    """Put each setup's voltmeter to its place, and solve what is linear now.

    Parameters
    ----------
    resistance, emf : arrays, shape (n_circuits, n_setups, n_variants, n_branches)
    coil_frac : array, shape (n_circuits, n_setups, n_variants)
    probes : sequence of str or None, length n_setups
    """
    for number, probe in enumerate(probes):
        if probe is not None:
            resistance[:, number, :, AT[f"meter {probe}"]] = METER_OHM
    flat = (-1, len(TOPOLOGY.branches))
    solution = _solved(resistance.reshape(flat), emf.reshape(flat))
    current = solution.current_a.reshape(resistance.shape)
    _linearise_drivers(resistance, emf, current)
    _rest_meters(resistance, current)
    return Settled(
        resistance_ohm=resistance,
        emf_v=emf,
        current_a=current,
        voltage_v=solution.voltage_v.reshape(*coil_frac.shape, -1),
        coil_frac=coil_frac,
    )


def _rest_meters(resistance: Floats, current: Floats) -> None:
    """Let a meter read nothing by which something hangs that nothing else feeds.

    No current can flow there; a wire of milliohms behind ten megohms leaves some
    microvolts of rounding.
    """
    without = np.isfinite(resistance)
    without[..., list(_METERS)] = False
    of_case = (*without.shape[:-1], -1)
    flat = without.reshape(-1, without.shape[-1])
    roots = island_roots(TOPOLOGY, flat).reshape(of_case)
    for meter, (plus, minus) in _METERS.items():
        current[roots[..., plus] != roots[..., minus], meter] = 0.0


_METERS = {
    AT[f"meter {name}"]: (TOPOLOGY.nodes.index(plus), TOPOLOGY.nodes.index(minus))
    for name, (plus, minus) in PROBES.items()
}


def _driver_of(cases: _Cases) -> NDArray[np.intp]:
    """Branch number of the driver in each case."""
    is_high = cases.value["is_high_side"] > 0
    return np.where(is_high, AT["high_driver"], AT["low_driver"])


def _limit_drivers(cases: _Cases, current_a: Floats) -> Rows:
    """Turn drivers above their limit into steep current sources, or off.

    Returns
    -------
    array of int
        The cases whose driver limits.
    """
    driver, limit = _driver_of(cases), cases.value["driver_limit_a"]
    over = np.flatnonzero(current_a[np.arange(len(driver)), driver] > limit)
    shuts = cases.value["does_driver_shut_off"][over] > 0
    cases.resistance[over[shuts], driver[over[shuts]]] = _INF
    kept = over[~shuts]
    cases.resistance[kept, driver[kept]] += parts.LIMITER_OHM
    cases.emf[kept, driver[kept]] = parts.LIMITER_OHM * limit[kept]
    return over


def _linearise_drivers(resistance: Floats, emf: Floats, current: Floats) -> None:
    """Write limiting drivers as the resistance of their operating point."""
    for driver in (AT["high_driver"], AT["low_driver"]):
        limits = emf[..., driver] > 0
        drop = emf[limits, driver] / current[limits, driver]
        resistance[limits, driver] -= drop
        emf[limits, driver] = 0.0


def _work_loads(cases: _Cases) -> None:
    """Give every load that is fed its operating point.

    Seen from the load the rest is a source with a resistance (Thévenin), so that each
    case is one equation in one unknown.
    """
    fed = np.flatnonzero(np.isfinite(cases.at("load")))
    standing = cases.currents(fed)[:, AT["load"]]
    fed, standing = fed[standing > 1e-9], standing[standing > 1e-9]
    without = cases.resistance[fed].copy()
    without[:, AT["load"]] = _INF
    solution = _solved(without, cases.emf[fed])
    plus, minus = (TOPOLOGY.nodes.index(node) for node in ENDS["load"])
    open_v = solution.voltage_v[:, plus] - solution.voltage_v[:, minus]
    # A load that hangs on its own ground lead alone floats when it is taken out.
    sure = np.isfinite(open_v)
    fed, open_v, standing = fed[sure], open_v[sure], standing[sure]
    series = open_v / standing - cases.at("load")[fed]
    is_motor = cases.value["motor_constant_vs"][fed] > 0
    for rows, law in ((is_motor, _turn), (~is_motor, _warm)):
        law(cases, fed[rows], open_v[rows], series[rows])


def _turn(cases: _Cases, rows: Rows, open_v: Floats, series_ohm: Floats) -> None:
    """Let motors run: the armature warm, against their back-EMF."""
    value = {name: column[rows] for name, column in cases.value.items()}
    armature = value["load_ohm"] * value["hot_frac"]
    cases.resistance[rows, AT["load"]] = armature
    cases.emf[rows, AT["load"]] = -parts.running_emf(
        open_v,
        series_ohm + armature,
        value["motor_constant_vs"],
        (value["fan_nms2"], value["friction_nm"]),
    )


def _warm(cases: _Cases, rows: Rows, open_v: Floats, series_ohm: Floats) -> None:
    """Let windings, mats and filaments come to their working resistance."""
    value = {name: column[rows] for name, column in cases.value.items()}
    cases.resistance[rows, AT["load"]] = parts.working_resistance(
        open_v, series_ohm, value
    )
