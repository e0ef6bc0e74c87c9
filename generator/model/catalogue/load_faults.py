"""Faults of the load circuit: from the supply through contacts and load to ground."""

from __future__ import annotations

from functools import partial
from operator import attrgetter
from typing import get_args

import numpy as np

from generator.model import edits
from generator.model.catalogue.fault import Fault
from generator.model.variant import LoadKind

ALONE = " and nothing else is wrong"
"""What a title ends in that is not true of two faults at once."""
_WITH_TURNS: tuple[LoadKind, ...] = tuple(
    kind for kind in get_args(LoadKind) if kind != "lamp bank"
)
_BUT_PUMPS: tuple[LoadKind, ...] = tuple(
    kind for kind in get_args(LoadKind) if kind != "pump motor"
)
SHARES_GROUND: tuple[LoadKind, ...] = ("solenoid valve", "magnetic clutch")
"""Loads so small that the filaments of a neighbour's lamps let them work weakly."""
# Share of the load's working resistance. It drops some 2 to 5 V in a 12 V vehicle: less
# nobody notices, and with more the joint burns off (common practice, no source).
_BAD_JOINT = (0.25, 0.36)
# Ohms of a few strands left, over those of the load: some tens of ohms, which a meter
# of ten megohms does not see and a load does (common practice, no source). With fewer
# the current of a fan comes near the edge of none, with more a small load's lamp at 87
# near the supply.
_FEW_STRANDS = (24.0, 28.0)
# From this current on a joint of some tenths of a volt gets too hot to touch [A].
_HEATS_A = 8.0
_fault = partial(Fault, side="load side")
_of_relay = partial(Fault, side="load side", applies=attrgetter("has_relay"))
_bad_joint = partial(Fault, side="load side", severity=_BAD_JOINT)
_few_strands = partial(Fault, side="load side", severity=_FEW_STRANDS)
_of_switch = partial(Fault, side="load side", applies=attrgetter("is_smart"))

LOAD_FAULTS = (
    _fault(
        id="load_fuse_open",
        title=f"Load fuse {{load_fuse}} is open{ALONE}",
        repair="replace_load_fuse",
        prior=1.0,
        edit=edits.set_values(load_fuse_ohm=np.inf),
    ),
    _fault(
        id="fuse_holder_hot",
        title="The holder of load fuse {load_fuse} is spread and gets hot",
        repair="mend_fuse_holder",
        prior=1.2,
        edit=edits.spread_fuse_holder,
        # Volts: some watts at a current that stays in its band (common practice, no
        # source). What draws little heats no holder.
        severity=(0.36, 0.44),
        applies=lambda circuit: circuit.load_rated_a >= _HEATS_A,
    ),
    _fault(
        id="load_feed_open",
        title="Load feed is open between fuse {load_fuse} and terminal {pin_in}",
        repair="mend_load_feed",
        prior=0.8,
        edit=edits.set_values(load_feed_ohm=np.inf),
    ),
    _bad_joint(
        id="load_feed_resistance",
        title="High resistance between fuse {load_fuse} and terminal {pin_in}",
        repair="mend_load_feed",
        prior=1.2,
        edit=edits.add_load_resistance("load_feed_ohm"),
    ),
    _few_strands(
        id="load_feed_strands",
        title="All but a few strands between fuse {load_fuse} and terminal {pin_in} "
        "are corroded through",
        repair="mend_load_feed",
        prior=0.7,
        edit=edits.corrode("load_feed_ohm"),
    ),
    _fault(
        id="supply_low",
        title="The battery is low, and is not being charged",
        repair="restore_supply",
        prior=1.0,
        edit=edits.weaken_supply,
        # It leaves some 10 V: relays still pull in (common practice, no source).
        severity=(0.70, 0.74),
    ),
    _of_relay(
        id="socket_open",
        title="Terminal 30 is pushed back in the socket of relay {relay}",
        repair="mend_socket",
        prior=0.6,
        edit=edits.set_values(socket_ohm=np.inf),
    ),
    _bad_joint(
        id="socket_resistance",
        title="Terminal 30 is spread in the socket of relay {relay}",
        repair="mend_socket",
        prior=0.9,
        edit=edits.add_load_resistance("socket_ohm"),
        # A pump's current stays, so that nothing would tell it from bad contacts.
        kinds=_BUT_PUMPS,
        applies=attrgetter("has_relay"),
    ),
    _of_relay(
        id="contacts_open",
        title="The contacts of relay {relay} do not close",
        repair="replace_relay",
        prior=1.5,
        edit=edits.set_values(contacts_ohm=np.inf),
    ),
    _bad_joint(
        id="contacts_resistance",
        title="The contacts of relay {relay} have high resistance",
        repair="replace_relay",
        prior=1.5,
        edit=edits.add_load_resistance("contacts_ohm"),
        applies=attrgetter("has_relay"),
    ),
    _of_relay(
        id="contacts_welded",
        title="The contacts of relay {relay} are welded",
        repair="replace_relay",
        prior=1.2,
        edit=edits.set_values(is_welded=True),
    ),
    _of_switch(
        id="switch_open",
        title="The switch in {module} never conducts",
        repair="replace_switch",
        prior=0.8,
        edit=edits.set_values(contacts_ohm=np.inf),
    ),
    _of_switch(
        id="switch_shorted",
        title="The switch in {module} is shorted and always conducts",
        repair="replace_switch",
        prior=1.0,
        edit=edits.set_values(is_welded=True),
    ),
    _of_switch(
        id="switch_bridged",
        title="Terminals {pin_in} and {pin_out} touch in the plug of {module}",
        repair="mend_switch_plug",
        prior=0.7,
        edit=edits.set_values(bridged_ohm=0.02),
    ),
    _of_switch(
        id="sense_too_high",
        title="The switch in {module} measures far more than flows, and shuts off",
        repair="replace_switch",
        prior=0.6,
        edit=edits.misjudge_current,
        # Clearly past what it shuts off at, whatever its ratio (common practice, no
        # source).
        severity=(2.6, 3.2),
    ),
    _fault(
        id="load_wire_open",
        title="The wire from terminal {pin_out} to connector {load_connector} is open",
        repair="mend_load_wire",
        prior=1.0,
        edit=edits.set_values(load_wire_ohm=np.inf),
    ),
    _bad_joint(
        id="load_wire_resistance",
        title="High resistance in the wire from terminal {pin_out} to connector "
        "{load_connector}",
        repair="mend_load_wire",
        prior=1.2,
        edit=edits.add_load_resistance("load_wire_ohm"),
    ),
    _fault(
        id="load_wire_to_ground",
        title="The wire from terminal {pin_out} to the {load} is shorted to ground",
        repair="mend_load_wire",
        prior=0.8,
        # Hundreds of amperes: the fuse has opened long before the vehicle comes in.
        edit=edits.set_values(load_to_ground_ohm=0.02),
    ),
    _fault(
        id="load_wire_to_power",
        title="The wire from terminal {pin_out} to the {load} is shorted to a live "
        "wire",
        repair="mend_load_wire",
        prior=0.6,
        edit=edits.set_values(load_to_power_ohm=0.1),
    ),
    _fault(
        id="load_connector_open",
        title="A pin is pushed back in connector {load_connector} of the {load}",
        repair="mend_load_connector",
        prior=0.8,
        edit=edits.set_values(load_connector_ohm=np.inf),
    ),
    _bad_joint(
        id="load_connector_resistance",
        title="Connector {load_connector} of the {load} is corroded",
        repair="mend_load_connector",
        prior=1.2,
        edit=edits.add_load_resistance("load_connector_ohm"),
    ),
    _fault(
        id="load_open",
        title="The {load} is open inside",
        repair="replace_load",
        prior=1.2,
        edit=edits.set_values(load_ohm=np.inf),
    ),
    _fault(
        id="load_share_open",
        title="One of the equal heating elements of the {load} is open",
        repair="replace_load",
        prior=1.0,
        edit=edits.leave_share,
        # One of three.
        severity=(0.66, 0.674),
        kinds=("heater", "pulsed heater"),
    ),
    _fault(
        id="load_turns_shorted",
        title="The {load} is partly shorted inside",
        repair="replace_load",
        prior=0.8,
        edit=edits.short_load_turns,
        # More than twice its current: nearly every fuse has opened when it comes in.
        severity=(0.32, 0.40),
        kinds=_WITH_TURNS,
    ),
    _of_relay(
        id="load_turns_shorted_fuse_too_large",
        title="The {load} is partly shorted inside, behind a fuse of twice the rating",
        repair="replace_load+replace_load_fuse",
        prior=0.8,
        edit=edits.short_turns_behind_large_fuse,
        severity=(0.45, 0.55),
        kinds=_WITH_TURNS,
    ),
    _of_relay(
        id="load_too_strong_fuse_too_large",
        title="Lamps of twice the power are fitted, behind a fuse of twice the rating",
        repair="replace_load+replace_load_fuse",
        prior=0.8,
        edit=edits.strong_load_behind_large_fuse,
        severity=(0.45, 0.55),
        kinds=("lamp bank",),
    ),
    _of_relay(
        id="load_wire_leaks_fuse_too_large",
        title="The wire from terminal {pin_out} to the {load} is chafed and leaks to "
        "ground, behind a fuse of twice the rating",
        repair="mend_load_wire+replace_load_fuse",
        prior=0.8,
        edit=edits.leak_behind_large_fuse,
        severity=(1.3, 1.7),
    ),
    _fault(
        id="load_ground_open",
        title="The ground of the {load} is open",
        repair="mend_load_ground",
        prior=1.0,
        edit=edits.set_values(load_ground_ohm=np.inf),
    ),
    _few_strands(
        id="load_ground_strands",
        title="All but a few strands of the ground wire of the {load} are corroded "
        "through",
        repair="mend_load_ground",
        prior=0.7,
        edit=edits.corrode("load_ground_ohm"),
    ),
    _bad_joint(
        id="load_ground_resistance",
        title="The ground of the {load} has high resistance",
        repair="mend_load_ground",
        prior=1.5,
        edit=edits.add_load_resistance("load_ground_ohm"),
    ),
    _fault(
        id="shared_ground_open",
        title="The ground point that the {load} shares with the {neighbour} is open",
        repair="mend_shared_ground",
        prior=1.2,
        # How weak the load gets is a matter of what is left to its current, the way
        # back through the neighbour.
        edit=edits.set_values(ground_point_ohm=np.inf),
        kinds=SHARES_GROUND,
        applies=attrgetter("is_ground_shared"),
    ),
)
