"""Three fixed relay circuits with round values, and what the tests set them up with."""

from dataclasses import replace
from statistics import mean

from generator.model.circuit import RelayCircuit, Setup, columns_of, settle
from generator.model.faults import FAULTS

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
    contacts_ohm=0.005,
    load_wire_ohm=0.010,
    load_rated_a=15.0,
    load_ohm=0.86,
    hot_frac=1.05,
    motor_constant_vs=0.0,
    fan_nms2=1.0,
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
)
VALVE = replace(
    HEATER, load_fuse_rating_a=5.0, load_rated_a=3.0, load_ohm=4.0, hot_frac=1.125
)
LOADS = {"heater": HEATER, "fan motor": FAN, "solenoid valve": VALVE}

CONTROL_OHM = 0.02 + 0.05 + 1 / (1 / 85 + 1 / 680) + 0.05 + 0.6 + 0.05
"""All resistance of the sound control circuit outside the battery."""
LOAD_OHM = 0.004 + 0.010 + 0.005 + 0.010 + 0.86 * 1.05 + 0.010
"""All resistance of the sound heater's circuit outside the battery."""


def broken(circuit, fault_id, severity=None):
    """A circuit with one fault, as bad as halfway through its range."""
    fault = FAULTS[fault_id]
    return fault.edit(circuit, mean(fault.severity) if severity is None else severity)


def settled(circuit, setup=None, sound=None):
    """One circuit in one setup, its arrays of shape (1, 1, 1, ...)."""
    return settle(
        columns_of([circuit]), columns_of([sound or circuit]), [setup or Setup()]
    )


def current(circuit, branch, setup=None, sound=None):
    """Current of one branch of one circuit in one setup [A]."""
    return float(settled(circuit, setup, sound).current(branch)[0, 0, 0])


def faults_of(kind):
    """Names of the faults that a kind of load can have."""
    return [fault.id for fault in FAULTS.values() if kind in fault.kinds]
