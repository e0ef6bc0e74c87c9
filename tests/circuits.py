"""Fixed relay circuits with round values, and what the tests set them up with."""

import math
from dataclasses import replace
from statistics import mean

from generator.model.catalogue.faults import FAULTS
from generator.model.circuit import RelayCircuit, columns_of
from generator.model.measure import Setup
from generator.model.settling import settle
from generator.model.symptoms import as_found

HEATER = RelayCircuit(
    supply_v=14.0,
    supply_ohm=0.01,
    control_fuse_ohm=0.02,
    control_feed_ohm=0.05,
    coil_ohm=85.0,
    suppression_ohm=680.0,
    pull_in_a=0.08,
    control_return_ohm=0.05,
    driver_ohm=0.6,
    driver_limit_a=1.0,
    module_ground_ohm=0.05,
    load_fuse_ohm=0.004,
    load_fuse_rating_a=20.0,
    load_feed_ohm=0.010,
    socket_ohm=0.003,
    contacts_ohm=0.005,
    load_wire_ohm=0.010,
    load_connector_ohm=0.003,
    load_rated_a=15.0,
    load_ohm=0.86,
    hot_frac=1.05,
    motor_constant_vs=0.0,
    fan_nms2=0.0,
    friction_nm=0.0,
    load_ground_ohm=0.010,
)
# Runs at 12 A and 250 rad/s on 13.5 V: 15 % of it falls on the hot armature, and of
# its torque of 0.5508 Nm friction takes a tenth.
FAN = replace(
    HEATER,
    load_rated_a=12.0,
    load_ohm=0.15,
    hot_frac=1.125,
    motor_constant_vs=0.0459,
    fan_nms2=7.93e-6,
    friction_nm=0.055,
    has_mechanism=True,
)
VALVE = replace(
    HEATER,
    load_fuse_rating_a=5.0,
    load_rated_a=3.0,
    load_ohm=4.0,
    hot_frac=1.125,
    has_mechanism=True,
)
# A heater whose ohms do not rise: its currents can be worked out by hand.
STEADY = replace(HEATER, load_ohm=0.9, hot_frac=1.0)
# A lead of 30 W/V² switched on for 60 % of the time; 15 A are its mean.
PULSED = replace(STEADY, load_ohm=0.54, duty_frac=0.6)
# Work lights: cold a tenth of their 0.9 Ω at 13.5 V.
LAMPS = replace(HEATER, load_ohm=0.09, hot_frac=10.0, lamp_exponent=0.45)
# The fan's motor before a pump: friction takes all its torque.
PUMP = replace(FAN, fan_nms2=0.0, friction_nm=0.0459 * 12.0)
# Beside lamps that have their ground at the same point.
WITH_NEIGHBOUR = replace(VALVE, neighbour_ohm=1.5)
CLUTCH = replace(VALVE, load_rated_a=4.0, load_ohm=3.0)
LOADS = {
    "heater": HEATER,
    "pulsed heater": PULSED,
    "lamp bank": LAMPS,
    "fan motor": FAN,
    "pump motor": PUMP,
    "solenoid valve": VALVE,
    "magnetic clutch": CLUTCH,
}

_CONTROL = (
    *("control_fuse_ohm", "control_feed_ohm", "coil_ohm", "suppression_ohm"),
    *("control_return_ohm", "module_ground_ohm"),
)


def smart(circuit):
    """The same load behind a switch without contacts: no part of a control circuit."""
    opened = dict.fromkeys(_CONTROL, math.inf)
    limit_a = 1.8 * circuit.load_rated_a
    return replace(circuit, **opened, is_smart=True, shut_off_a=limit_a)


# The heater's circuit in each variant, the rest as in the plainest.
HIGH = replace(HEATER, is_high_side=True)
SHARED = replace(HEATER, is_fuse_shared=True)
SWITCHED = replace(HEATER, upstream_ohm=0.004)
FIVE = replace(HEATER, break_contact_ohm=0.005)
WITH_DIODE = replace(HEATER, suppression_ohm=math.inf, has_diode=True)
FED_AT_85 = replace(HEATER, is_fed_at_85=True)
SHUTS_OFF = replace(HEATER, does_driver_shut_off=True)
SMART = smart(HEATER)

# Limits of what may be off, as fractions; steps are standard uncertainties.
TOLERANCES = {
    "supply_v": 0.01,
    "supply_ohm": 0.3,
    "coil_ohm": 0.05,
    "suppression_ohm": 0.05,
    "driver_ohm": 0.3,
    "load_ohm": 0.05,
    "load_feed_ohm": 0.2,
    "contacts_ohm": 0.3,
}
STEPS = {name: limit / 3**0.5 for name, limit in TOLERANCES.items()}

SOURCE_OHM = 0.01 + 0.0002
"""Battery and bus bar: what both circuits share."""
# A track in the module stands where the driver of the other side would be.
CONTROL_OHM = 0.02 + 0.001 + 0.05 + 1 / (1 / 85 + 1 / 680) + 0.05 + 0.6 + 0.05
"""All resistance of the sound control circuit behind the bus bar."""
LOAD_OHM = 0.004 + 0.010 + 0.003 + 0.005 + 0.010 + 0.003 + 0.9 + 0.010
"""All resistance of the steady heater's circuit behind the bus bar."""
NOTHING_IN_SERIES = {
    "supply_ohm": 1e-9,
    "upstream_ohm": 1e-9,
    "load_fuse_ohm": 1e-9,
    "load_feed_ohm": 1e-9,
    "socket_ohm": 1e-9,
    "contacts_ohm": 1e-9,
    "load_wire_ohm": 1e-9,
    "load_connector_ohm": 1e-9,
    "load_ground_ohm": 1e-9,
    "ground_point_ohm": 1e-9,
}
"""Values that put the load straight on the source."""


def broken(circuit, fault_id, severity=None):
    """A circuit with one fault, as bad as halfway through its range."""
    fault = FAULTS[fault_id]
    return fault.edit(circuit, mean(fault.severity) if severity is None else severity)


def builds_for(fault_id, circuit):
    """The circuit in each build in which a fault can happen to it."""
    builds = (
        {},
        {"upstream_ohm": 0.004},
        {"is_high_side": True},
        {"suppression_ohm": math.inf, "has_diode": True},
        {"is_fed_at_85": True},
        {"neighbour_ohm": WITH_NEIGHBOUR.neighbour_ohm},
    )
    applies = FAULTS[fault_id].applies
    built = [*(replace(circuit, **build) for build in builds), smart(circuit)]
    return [c for c in built if applies(c)]


def fit_for(fault_id, circuit):
    """The circuit, built so that a fault can happen to it."""
    return builds_for(fault_id, circuit)[0]


def broken_pair(circuit, fault_id, severity=None):
    """A circuit with one fault as it comes in: calm, and wiggled and warm."""
    fault = FAULTS[fault_id]
    severity = mean(fault.severity) if severity is None else severity
    [calm] = as_found([fault.as_calm(circuit, severity)])
    return calm, fault.edit(circuit, severity) if fault.is_intermittent else calm


def settled(circuit, setup=None, sound=None):
    """One circuit in one setup, its arrays of shape (1, 1, 1, ...)."""
    return settle(
        columns_of([circuit]), columns_of([sound or circuit]), [setup or Setup()]
    )


def current(circuit, branch, setup=None, sound=None):
    """Current of one branch of one circuit in one setup [A]."""
    return float(settled(circuit, setup, sound).current(branch)[0, 0, 0])


def currents(circuits, branch):
    """Current of one branch of each of some circuits, settled at once [A]."""
    columns = columns_of(circuits)
    return settle(columns, columns, [Setup()]).current(branch)[:, 0, 0].tolist()


def faults_of(kind, circuit):
    """Names of the faults that a kind of load can have in a circuit."""
    return [
        fault.id
        for fault in FAULTS.values()
        if kind in fault.kinds and fault.applies(circuit)
    ]


def calm_pairs(*circuits):
    """Circuits whose harness changes nothing when it is moved."""
    return [(circuit, circuit) for circuit in circuits]
