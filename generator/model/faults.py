"""The fault model: every fault is an edit of a sound circuit.

Severities are drawn from the range that each fault states. The priors are rough
relative frequencies from the trade (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from operator import attrgetter
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np

from generator.model import edits
from generator.model.circuit import RelayCircuit
from generator.model.complaints import Manner
from generator.model.parts import LoadKind

Side = Literal["control side", "load side", "mechanics"]

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
# What a title ends in that is not true of two faults at once.
_ALONE = " and nothing else is wrong"
# From this current on a joint of some tenths of a volt gets too hot to touch [A].
_HEATS_A = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault: its edit of the circuit, its prior and the repair that cures it.

    ``title`` names the cause in words, with the circuit's names in braces;
    ``severity`` is the range of the number that ``edit`` takes, ``applies`` says to
    which circuits it can happen. An intermittent fault is there only while the harness
    is wiggled and warm, and its ``manner`` says which of both it takes, if any; of the
    others it says whether a load that does no work is silent. An advanced one is drawn
    only where a lesson names it.
    """

    id: str
    title: str
    side: Side
    repair: str
    prior: float
    edit: edits.Edit
    severity: tuple[float, float] = (1.0, 1.0)
    kinds: tuple[LoadKind, ...] = get_args(LoadKind)
    applies: Callable[[RelayCircuit], bool] = lambda _: True
    is_intermittent: bool = False
    manner: Manner | None = "silent"
    is_advanced: bool = False

    def as_calm(self, circuit: RelayCircuit, severity: float) -> RelayCircuit:
        """Break a circuit as it is while nothing moves the harness."""
        return circuit if self.is_intermittent else self.edit(circuit, severity)


_CONTROL = (
    Fault(
        id="control_fuse_open",
        title="Control fuse {control_fuse} is open",
        side="control side",
        repair="replace_control_fuse",
        prior=1.0,
        edit=edits.set_values(control_fuse_ohm=np.inf),
        applies=attrgetter("has_control_fuse"),
    ),
    Fault(
        id="control_feed_open",
        title="Control feed is open between {feed_from} and {coil_supply}",
        side="control side",
        repair="mend_control_feed",
        prior=1.0,
        edit=edits.set_values(control_feed_ohm=np.inf),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="control_feed_resistance",
        title="High resistance between {feed_from} and terminal {coil_supply}",
        side="control side",
        repair="mend_control_feed",
        prior=0.8,
        edit=edits.resist_control_feed,
        # It leaves the coil some 0.5 to 0.7 of its pull-in current: clearly too little.
        severity=(1.8, 2.8),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="control_feed_to_ground",
        title="The wire from fuse {control_fuse} to {coil_supply} is shorted to ground",
        side="control side",
        repair="mend_control_feed+replace_control_fuse",
        prior=0.9,
        # So little that the coil gets nothing even while a lead holds.
        edit=edits.set_values(feed_to_ground_ohm=0.005),
        applies=lambda circuit: circuit.is_low_side and circuit.has_control_fuse,
    ),
    Fault(
        id="coil_open",
        title="The coil of relay {relay} is open",
        side="control side",
        repair="replace_relay",
        prior=1.0,
        edit=edits.set_values(coil_ohm=np.inf),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="coil_turns_shorted",
        title="Turns of the coil of relay {relay} are shorted",
        side="control side",
        repair="replace_relay",
        prior=0.5,
        edit=edits.short_coil_turns,
        # The driver's limit through so few turns is some 0.45 to 0.7 of pull-in.
        severity=(0.22, 0.34),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="wrong_relay",
        title="A relay of the wrong part is fitted at {relay}",
        side="control side",
        repair="replace_relay",
        prior=0.5,
        edit=edits.fit_wrong_relay,
        severity=(4.2, 4.8),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="control_return_open",
        title="The wire from terminal {coil_return} {return_to} is open",
        side="control side",
        repair="mend_control_return",
        prior=1.0,
        edit=edits.set_values(control_return_ohm=np.inf),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="control_return_to_ground",
        title="The wire from {coil_return} to the control module is shorted to ground",
        side="control side",
        repair="mend_control_return",
        prior=1.0,
        edit=edits.set_values(return_to_ground_ohm=0.05),
        applies=attrgetter("is_low_side"),
    ),
    Fault(
        id="driver_stuck_off",
        title="The driver in the control module never conducts",
        side="control side",
        repair="replace_module",
        prior=0.6,
        edit=edits.set_values(is_driver_dead=True),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="driver_stuck_on",
        title="The driver in the control module always conducts",
        side="control side",
        repair="replace_module",
        prior=0.8,
        edit=edits.set_values(is_driver_on=True),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="enable_missing",
        title="An enable input is missing, so the module does not command",
        side="control side",
        repair="restore_enable",
        prior=1.2,
        edit=edits.set_values(is_enabled=False),
    ),
    Fault(
        id="command_stuck",
        title="An input is stuck, so that {module} commands without demand",
        side="control side",
        repair="mend_input",
        prior=0.8,
        edit=edits.set_values(is_driver_on=True),
        applies=attrgetter("is_smart"),
    ),
    Fault(
        id="control_feed_to_power",
        title="The wire from the control module to the coil is shorted to a live wire",
        side="control side",
        repair="mend_control_feed",
        prior=0.9,
        edit=edits.set_values(feed_to_power_ohm=1.0),
        applies=attrgetter("is_high_side"),
    ),
    Fault(
        id="module_ground_open",
        title="The ground of the control module's driver is open",
        side="control side",
        repair="mend_module_ground",
        prior=0.7,
        edit=edits.set_values(module_ground_ohm=np.inf),
        applies=attrgetter("is_low_side"),
    ),
    Fault(
        id="suppression_missing",
        title="A relay without suppression is fitted at {relay}",
        side="control side",
        repair="replace_relay",
        prior=0.8,
        edit=edits.fit_plain_relay,
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="stronger_relay",
        title="A relay with a stronger coil and no suppression is fitted at {relay}",
        side="control side",
        repair="replace_relay",
        prior=0.5,
        edit=edits.fit_plain_relay,
        severity=(0.55, 0.65),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="suppression_open",
        title="The diode inside relay {relay} is open",
        side="control side",
        repair="replace_relay",
        prior=0.6,
        edit=edits.set_values(has_diode=False),
        applies=attrgetter("has_diode"),
    ),
    Fault(
        id="diode_reversed",
        title="A relay with a diode is fitted at {relay}, and terminal {coil_supply} "
        "feeds that the wrong way round",
        side="control side",
        repair="replace_relay",
        prior=0.6,
        edit=edits.fit_diode_relay,
        applies=attrgetter("is_fed_at_85"),
    ),
    Fault(
        id="module_ground_resistance",
        title="The ground of the control module's driver has high resistance",
        side="control side",
        repair="mend_module_ground",
        prior=0.8,
        edit=edits.lift_module,
        # It lifts the module by some 3.5 to 4.3 V in a 12 V vehicle, and the relay
        # still pulls in, at 1.4 times what it takes or more.
        severity=(0.30, 0.40),
        applies=attrgetter("is_low_side"),
    ),
    Fault(
        id="module_restarts",
        title="The control module is weak inside and restarts on ordinary switching",
        side="control side",
        repair="replace_module",
        prior=0.4,
        edit=edits.set_values(is_module_weak=True),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="upstream_open",
        title="The {upstream} passes nothing",
        side="control side",
        repair="mend_upstream",
        prior=0.9,
        edit=edits.set_values(upstream_ohm=np.inf),
        applies=attrgetter("has_switch_upstream"),
    ),
)
_LOAD = (
    Fault(
        id="load_fuse_open",
        title=f"Load fuse {{load_fuse}} is open{_ALONE}",
        side="load side",
        repair="replace_load_fuse",
        prior=1.0,
        edit=edits.set_values(load_fuse_ohm=np.inf),
    ),
    Fault(
        id="fuse_holder_hot",
        title="The holder of load fuse {load_fuse} is spread and gets hot",
        side="load side",
        repair="mend_fuse_holder",
        prior=1.2,
        edit=edits.spread_fuse_holder,
        # Volts: some watts at a current that stays in its band (common practice, no
        # source). What draws little heats no holder.
        severity=(0.36, 0.44),
        applies=lambda circuit: circuit.load_rated_a >= _HEATS_A,
    ),
    Fault(
        id="load_feed_open",
        title="Load feed is open between fuse {load_fuse} and terminal {pin_in}",
        side="load side",
        repair="mend_load_feed",
        prior=0.8,
        edit=edits.set_values(load_feed_ohm=np.inf),
    ),
    Fault(
        id="load_feed_resistance",
        title="High resistance between fuse {load_fuse} and terminal {pin_in}",
        side="load side",
        repair="mend_load_feed",
        prior=1.2,
        edit=edits.add_load_resistance("load_feed_ohm"),
        severity=_BAD_JOINT,
    ),
    Fault(
        id="load_feed_strands",
        title="All but a few strands between fuse {load_fuse} and terminal {pin_in} "
        "are corroded through",
        side="load side",
        repair="mend_load_feed",
        prior=0.7,
        edit=edits.corrode("load_feed_ohm"),
        severity=_FEW_STRANDS,
    ),
    Fault(
        id="supply_low",
        title="The battery is low, and is not being charged",
        side="load side",
        repair="restore_supply",
        prior=1.0,
        edit=edits.weaken_supply,
        # It leaves some 10 V: relays still pull in (common practice, no source).
        severity=(0.70, 0.74),
    ),
    Fault(
        id="socket_open",
        title="Terminal 30 is pushed back in the socket of relay {relay}",
        side="load side",
        repair="mend_socket",
        prior=0.6,
        edit=edits.set_values(socket_ohm=np.inf),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="socket_resistance",
        title="Terminal 30 is spread in the socket of relay {relay}",
        side="load side",
        repair="mend_socket",
        prior=0.9,
        edit=edits.add_load_resistance("socket_ohm"),
        severity=_BAD_JOINT,
        # A pump's current stays, so that nothing would tell it from bad contacts.
        kinds=_BUT_PUMPS,
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="contacts_open",
        title="The contacts of relay {relay} do not close",
        side="load side",
        repair="replace_relay",
        prior=1.5,
        edit=edits.set_values(contacts_ohm=np.inf),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="contacts_resistance",
        title="The contacts of relay {relay} have high resistance",
        side="load side",
        repair="replace_relay",
        prior=1.5,
        edit=edits.add_load_resistance("contacts_ohm"),
        severity=_BAD_JOINT,
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="contacts_welded",
        title="The contacts of relay {relay} are welded",
        side="load side",
        repair="replace_relay",
        prior=1.2,
        edit=edits.set_values(is_welded=True),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="switch_open",
        title="The switch in {module} never conducts",
        side="load side",
        repair="replace_switch",
        prior=0.8,
        edit=edits.set_values(contacts_ohm=np.inf),
        applies=attrgetter("is_smart"),
    ),
    Fault(
        id="switch_shorted",
        title="The switch in {module} is shorted and always conducts",
        side="load side",
        repair="replace_switch",
        prior=1.0,
        edit=edits.set_values(is_welded=True),
        applies=attrgetter("is_smart"),
    ),
    Fault(
        id="switch_bridged",
        title="Terminals {pin_in} and {pin_out} touch in the plug of {module}",
        side="load side",
        repair="mend_switch_plug",
        prior=0.7,
        edit=edits.set_values(bridged_ohm=0.02),
        applies=attrgetter("is_smart"),
    ),
    Fault(
        id="sense_too_high",
        title="The switch in {module} measures far more than flows, and shuts off",
        side="load side",
        repair="replace_switch",
        prior=0.6,
        edit=edits.misjudge_current,
        # Clearly past what it shuts off at, whatever its ratio (common practice, no
        # source).
        severity=(2.6, 3.2),
        applies=attrgetter("is_smart"),
    ),
    Fault(
        id="load_wire_open",
        title="The wire from terminal {pin_out} to connector {load_connector} is open",
        side="load side",
        repair="mend_load_wire",
        prior=1.0,
        edit=edits.set_values(load_wire_ohm=np.inf),
    ),
    Fault(
        id="load_wire_resistance",
        title="High resistance in the wire from terminal {pin_out} to connector "
        "{load_connector}",
        side="load side",
        repair="mend_load_wire",
        prior=1.2,
        edit=edits.add_load_resistance("load_wire_ohm"),
        severity=_BAD_JOINT,
    ),
    Fault(
        id="load_wire_to_ground",
        title="The wire from terminal {pin_out} to the {load} is shorted to ground",
        side="load side",
        repair="mend_load_wire",
        prior=0.8,
        # Hundreds of amperes: the fuse has opened long before the vehicle comes in.
        edit=edits.set_values(load_to_ground_ohm=0.02),
    ),
    Fault(
        id="load_wire_to_power",
        title="The wire from terminal {pin_out} to the {load} is shorted to a live "
        "wire",
        side="load side",
        repair="mend_load_wire",
        prior=0.6,
        edit=edits.set_values(load_to_power_ohm=0.1),
    ),
    Fault(
        id="load_connector_open",
        title="A pin is pushed back in connector {load_connector} of the {load}",
        side="load side",
        repair="mend_load_connector",
        prior=0.8,
        edit=edits.set_values(load_connector_ohm=np.inf),
    ),
    Fault(
        id="load_connector_resistance",
        title="Connector {load_connector} of the {load} is corroded",
        side="load side",
        repair="mend_load_connector",
        prior=1.2,
        edit=edits.add_load_resistance("load_connector_ohm"),
        severity=_BAD_JOINT,
    ),
    Fault(
        id="load_open",
        title="The {load} is open inside",
        side="load side",
        repair="replace_load",
        prior=1.2,
        edit=edits.set_values(load_ohm=np.inf),
    ),
    Fault(
        id="load_share_open",
        title="One of the equal heating elements of the {load} is open",
        side="load side",
        repair="replace_load",
        prior=1.0,
        edit=edits.leave_share,
        # One of three.
        severity=(0.66, 0.674),
        kinds=("heater", "pulsed heater"),
    ),
    Fault(
        id="load_turns_shorted",
        title="The {load} is partly shorted inside",
        side="load side",
        repair="replace_load",
        prior=0.8,
        edit=edits.short_load_turns,
        # More than twice its current: nearly every fuse has opened when it comes in.
        severity=(0.32, 0.40),
        kinds=_WITH_TURNS,
    ),
    Fault(
        id="load_turns_shorted_fuse_too_large",
        title="The {load} is partly shorted inside, behind a fuse of twice the rating",
        side="load side",
        repair="replace_load+replace_load_fuse",
        prior=0.8,
        edit=edits.short_turns_behind_large_fuse,
        severity=(0.45, 0.55),
        kinds=_WITH_TURNS,
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="load_too_strong_fuse_too_large",
        title="Lamps of twice the power are fitted, behind a fuse of twice the rating",
        side="load side",
        repair="replace_load+replace_load_fuse",
        prior=0.8,
        edit=edits.strong_load_behind_large_fuse,
        severity=(0.45, 0.55),
        kinds=("lamp bank",),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="load_wire_leaks_fuse_too_large",
        title="The wire from terminal {pin_out} to the {load} is chafed and leaks to "
        "ground, behind a fuse of twice the rating",
        side="load side",
        repair="mend_load_wire+replace_load_fuse",
        prior=0.8,
        edit=edits.leak_behind_large_fuse,
        severity=(1.3, 1.7),
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="load_ground_open",
        title="The ground of the {load} is open",
        side="load side",
        repair="mend_load_ground",
        prior=1.0,
        edit=edits.set_values(load_ground_ohm=np.inf),
    ),
    Fault(
        id="load_ground_strands",
        title="All but a few strands of the ground wire of the {load} are corroded "
        "through",
        side="load side",
        repair="mend_load_ground",
        prior=0.7,
        edit=edits.corrode("load_ground_ohm"),
        severity=_FEW_STRANDS,
    ),
    Fault(
        id="load_ground_resistance",
        title="The ground of the {load} has high resistance",
        side="load side",
        repair="mend_load_ground",
        prior=1.5,
        edit=edits.add_load_resistance("load_ground_ohm"),
        severity=_BAD_JOINT,
    ),
    Fault(
        id="shared_ground_open",
        title="The ground point that the {load} shares with the {neighbour} is open",
        side="load side",
        repair="mend_shared_ground",
        prior=1.2,
        # How weak the load gets is a matter of what is left to its current, the way
        # back through the neighbour.
        edit=edits.set_values(ground_point_ohm=np.inf),
        kinds=SHARES_GROUND,
        applies=attrgetter("is_ground_shared"),
    ),
)
_MECHANICS = (
    Fault(
        id="mechanism_seized",
        title="The {mechanism} is stuck and does not move",
        side="mechanics",
        repair="free_mechanism",
        prior=1.0,
        edit=edits.set_values(friction_nm=np.inf, work_frac=0.0, mechanism="stuck"),
        kinds=("fan motor", "pump motor", "solenoid valve"),
    ),
    Fault(
        id="mechanism_binding",
        title="The {mechanism} binds and turns heavily",
        side="mechanics",
        repair="free_mechanism",
        prior=1.0,
        edit=edits.bind,
        # Some twice its current: a pump's fuse opens at that, a fan's may hold while it
        # works weakly.
        severity=(1.2, 1.6),
        kinds=("fan motor", "pump motor"),
        # Near what a smart switch shuts off at, a tolerance would decide.
        applies=attrgetter("has_relay"),
    ),
    Fault(
        id="mechanism_drags",
        title="The {mechanism} drags in its bearings",
        side="mechanics",
        repair="free_mechanism",
        prior=0.8,
        edit=edits.drag,
        # About 1.4 times the current: hot and out of its band, and no fuse opens at
        # that.
        severity=(0.5, 0.6),
        kinds=("fan motor", "pump motor"),
    ),
    Fault(
        id="mechanism_free",
        title="The {mechanism} turns free without doing its work",
        side="mechanics",
        repair="free_mechanism",
        prior=0.7,
        edit=edits.let_spin,
        manner=None,
        severity=(0.15, 0.22),
        kinds=("fan motor", "pump motor"),
    ),
    Fault(
        id="air_gap_excessive",
        title="The air gap of the {mechanism} is too wide",
        side="mechanics",
        repair="set_air_gap",
        prior=1.2,
        edit=edits.widen_gap,
        manner=None,
        kinds=("magnetic clutch",),
    ),
    Fault(
        id="work_hindered",
        title="The {load} is sound, but its work is hindered: {hindrance}",
        side="mechanics",
        repair="clear_hindrance",
        prior=1.5,
        edit=edits.hinder,
        severity=(0.45, 0.65),
    ),
    Fault(
        id="nothing_wrong",
        title="Nothing is wrong: an enable input was rightly absent",
        side="mechanics",
        repair="explain_use",
        prior=0.6,
        # Nothing changes, yet `symptoms` counts it as what comes and goes: what is
        # there under stress is another record, though an equal one.
        edit=edits.set_values(),
        is_intermittent=True,
        manner=None,
    ),
)


_WHEN: Mapping[Manner, str] = MappingProxyType(
    {"moved": "only when the harness moves", "warm": "only when it is warm"}
)


def _intermittent(fault: Fault, manner: Manner) -> Fault:
    """A fault that is there only while the harness is wiggled and warm."""
    return replace(
        fault,
        id=f"{fault.id}_at_times",
        title=f"{fault.title}, {_WHEN[manner]}",
        prior=fault.prior * 0.5,
        is_intermittent=True,
        manner=manner,
    )


def _both(first: Fault, second: Fault) -> Fault:
    """Two faults at once: cured by both repairs only."""
    return Fault(
        id=f"{first.id}_and_{second.id}",
        title=f"{first.title.removesuffix(_ALONE)}, and {second.title[0].lower()}"
        f"{second.title[1:]}",
        side=first.side,
        repair=f"{first.repair}+{second.repair}",
        prior=first.prior * second.prior * 0.1,
        edit=lambda circuit, s: second.edit(first.edit(circuit, s), s),
        severity=_overlap(first.severity, second.severity),
        applies=lambda circuit: first.applies(circuit) and second.applies(circuit),
        is_advanced=True,
    )


def _overlap(
    first: tuple[float, float], second: tuple[float, float]
) -> tuple[float, float]:
    """Severities that suit both, where one of them has none of its own."""
    return second if first == (1.0, 1.0) else first


_SINGLE = {fault.id: fault for fault in (*_CONTROL, *_LOAD, *_MECHANICS)}
_MOVED = (
    *("control_feed_open", "control_return_open", "load_feed_open"),
    *("load_wire_open", "load_connector_open", "load_ground_open"),
)
_WARM = ("coil_open", "contacts_open", "load_open")
_AT_TIMES = (
    *(_intermittent(_SINGLE[name], "moved") for name in _MOVED),
    *(_intermittent(_SINGLE[name], "warm") for name in _WARM),
    # A crack that opens when it is warm shows in no look at a cold fuse.
    *(
        replace(
            _intermittent(_SINGLE[f"{side}_fuse_open"], "warm"),
            title=f"The element of {side} fuse {{{side}_fuse}} has a crack, open only "
            "when it is warm",
        )
        for side in ("control", "load")
    ),
)
# A fuse that is only too large is noticed by no one, until something else is wrong.
_LARGE_FUSE = Fault(
    id="load_fuse_too_large",
    title="Load fuse {load_fuse} is of twice the rating",
    side="load side",
    repair="replace_load_fuse",
    prior=1.5,
    edit=lambda circuit, _: edits.double_fuse(circuit),
)
_DOUBLES = (
    *(
        _both(_SINGLE[first], _SINGLE[second])
        for first, second in (
            ("contacts_resistance", "load_ground_resistance"),
            ("load_fuse_open", "enable_missing"),
            ("control_fuse_open", "load_ground_open"),
            ("control_return_open", "load_open"),
        )
    ),
    _both(_SINGLE["contacts_resistance"], _LARGE_FUSE),
    _both(_SINGLE["load_wire_resistance"], _LARGE_FUSE),
    _both(_SINGLE["load_ground_resistance"], _LARGE_FUSE),
)
FAULTS: Mapping[str, Fault] = MappingProxyType(
    _SINGLE | {fault.id: fault for fault in (*_AT_TIMES, *_DOUBLES)}
)
