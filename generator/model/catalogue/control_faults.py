"""Faults of the control circuit: what commands and pulls in the contacts."""

from __future__ import annotations

from functools import partial
from operator import attrgetter

import numpy as np

from generator.model import edits
from generator.model.catalogue.fault import Fault

_fault = partial(Fault, side="control side")
_of_relay = partial(Fault, side="control side", applies=attrgetter("has_relay"))
_of_low_side = partial(Fault, side="control side", applies=attrgetter("is_low_side"))

CONTROL_FAULTS = (
    _fault(
        id="control_fuse_open",
        title="Control fuse {control_fuse} is open",
        repair="replace_control_fuse",
        prior=1.0,
        edit=edits.set_values(control_fuse_ohm=np.inf),
        applies=attrgetter("has_control_fuse"),
    ),
    _of_relay(
        id="control_feed_open",
        title="Control feed is open between {feed_from} and {coil_supply}",
        repair="mend_control_feed",
        prior=1.0,
        edit=edits.set_values(control_feed_ohm=np.inf),
    ),
    _of_relay(
        id="control_feed_resistance",
        title="High resistance between {feed_from} and terminal {coil_supply}",
        repair="mend_control_feed",
        prior=0.8,
        edit=edits.resist_control_feed,
        # It leaves the coil some 0.5 to 0.7 of its pull-in current: clearly too little.
        severity=(1.8, 2.8),
    ),
    _fault(
        id="control_feed_to_ground",
        title="The wire from fuse {control_fuse} to {coil_supply} is shorted to ground",
        repair="mend_control_feed+replace_control_fuse",
        prior=0.9,
        # So little that the coil gets nothing even while a lead holds.
        edit=edits.set_values(feed_to_ground_ohm=0.005),
        applies=lambda circuit: circuit.is_low_side and circuit.has_control_fuse,
    ),
    _of_relay(
        id="coil_open",
        title="The coil of relay {relay} is open",
        repair="replace_relay",
        prior=1.0,
        edit=edits.set_values(coil_ohm=np.inf),
    ),
    _of_relay(
        id="coil_turns_shorted",
        title="Turns of the coil of relay {relay} are shorted",
        repair="replace_relay",
        prior=0.5,
        edit=edits.short_coil_turns,
        # The driver's limit through so few turns is some 0.45 to 0.7 of pull-in.
        severity=(0.22, 0.34),
    ),
    _of_relay(
        id="wrong_relay",
        title="A relay of the wrong part is fitted at {relay}",
        repair="replace_relay",
        prior=0.5,
        edit=edits.fit_wrong_relay,
        severity=(4.2, 4.8),
    ),
    _of_relay(
        id="control_return_open",
        title="The wire from terminal {coil_return} {return_to} is open",
        repair="mend_control_return",
        prior=1.0,
        edit=edits.set_values(control_return_ohm=np.inf),
    ),
    _of_low_side(
        id="control_return_to_ground",
        title="The wire from {coil_return} to the control module is shorted to ground",
        repair="mend_control_return",
        prior=1.0,
        edit=edits.set_values(return_to_ground_ohm=0.05),
    ),
    _of_relay(
        id="driver_stuck_off",
        title="The driver in the control module never conducts",
        repair="replace_module",
        prior=0.6,
        edit=edits.set_values(is_driver_dead=True),
    ),
    _of_relay(
        id="driver_stuck_on",
        title="The driver in the control module always conducts",
        repair="replace_module",
        prior=0.8,
        edit=edits.set_values(is_driver_on=True),
    ),
    _fault(
        id="enable_missing",
        title="An enable input is missing, so the module does not command",
        repair="restore_enable",
        prior=1.2,
        edit=edits.set_values(is_enabled=False),
    ),
    _fault(
        id="command_stuck",
        title="An input is stuck, so that {module} commands without demand",
        repair="mend_input",
        prior=0.8,
        edit=edits.set_values(is_driver_on=True),
        applies=attrgetter("is_smart"),
    ),
    _fault(
        id="control_feed_to_power",
        title="The wire from the control module to the coil is shorted to a live wire",
        repair="mend_control_feed",
        prior=0.9,
        edit=edits.set_values(feed_to_power_ohm=1.0),
        applies=attrgetter("is_high_side"),
    ),
    _of_low_side(
        id="module_ground_open",
        title="The ground of the control module's driver is open",
        repair="mend_module_ground",
        prior=0.7,
        edit=edits.set_values(module_ground_ohm=np.inf),
    ),
    _of_relay(
        id="suppression_missing",
        title="A relay without suppression is fitted at {relay}",
        repair="replace_relay",
        prior=0.8,
        edit=edits.fit_plain_relay,
    ),
    _of_relay(
        id="stronger_relay",
        title="A relay with a stronger coil and no suppression is fitted at {relay}",
        repair="replace_relay",
        prior=0.5,
        edit=edits.fit_plain_relay,
        severity=(0.55, 0.65),
    ),
    _fault(
        id="suppression_open",
        title="The diode inside relay {relay} is open",
        repair="replace_relay",
        prior=0.6,
        edit=edits.set_values(has_diode=False),
        applies=attrgetter("has_diode"),
    ),
    _fault(
        id="diode_reversed",
        title="A relay with a diode is fitted at {relay}, and terminal {coil_supply} "
        "feeds that the wrong way round",
        repair="replace_relay",
        prior=0.6,
        edit=edits.fit_diode_relay,
        applies=attrgetter("is_fed_at_85"),
    ),
    _of_low_side(
        id="module_ground_resistance",
        title="The ground of the control module's driver has high resistance",
        repair="mend_module_ground",
        prior=0.8,
        edit=edits.lift_module,
        # It lifts the module by some 3.5 to 4.3 V in a 12 V vehicle, and the relay
        # still pulls in, at 1.4 times what it takes or more.
        severity=(0.30, 0.40),
    ),
    _of_relay(
        id="module_restarts",
        title="The control module is weak inside and restarts on ordinary switching",
        repair="replace_module",
        prior=0.4,
        edit=edits.set_values(is_module_weak=True),
    ),
    _fault(
        id="upstream_open",
        title="The {upstream} passes nothing",
        repair="mend_upstream",
        prior=0.9,
        edit=edits.set_values(upstream_ohm=np.inf),
        applies=attrgetter("has_switch_upstream"),
    ),
)
