"""What a smart switch sees of each fault, for tests of it."""

from generator.model.catalogue.faults import FAULTS
from tests.circuits import LOADS, smart

CODE_OF = {
    "enable_missing": "none",
    "load_fuse_open": "no supply",
    "fuse_holder_hot": "none",
    "load_feed_open": "no supply",
    "load_feed_resistance": "none",
    # They carry a voltmeter, and no load.
    "load_feed_strands": "no supply",
    "supply_low": "none",
    "switch_open": "none",
    # Commanded off, its output stays up.
    "switch_shorted": "open load",
    "switch_bridged": "open load",
    "command_stuck": "none",
    "sense_too_high": "overcurrent",
    "load_wire_open": "open load",
    "load_wire_resistance": "none",
    "load_wire_to_ground": "overcurrent",
    "load_wire_to_power": "open load",
    "load_connector_open": "open load",
    "load_connector_resistance": "none",
    "load_open": "open load",
    "load_share_open": "none",
    "load_turns_shorted": "overcurrent",
    "load_ground_open": "open load",
    # So few ohms pull the output of a switch that is off down.
    "load_ground_strands": "none",
    "load_ground_resistance": "none",
    "mechanism_drags": "none",
    "mechanism_free": "none",
    "air_gap_excessive": "none",
    "work_hindered": "none",
    "nothing_wrong": "none",
}
"""Code of each fault that is there always, whatever the load; a seized one hangs on
that."""


def faults_of_smart(kind):
    """Ids of the faults that a load can have behind a smart switch, none advanced."""
    sound = smart(LOADS[kind])
    return [
        fault.id
        for fault in FAULTS.values()
        if kind in fault.kinds and fault.applies(sound) and not fault.is_advanced
    ]
