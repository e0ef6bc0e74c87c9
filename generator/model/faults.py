"""The fault model: every fault is an edit of a sound circuit.

Severities are drawn from the range that each fault states. The priors are rough
relative frequencies from the trade (common practice, no source).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

import numpy as np

from generator.model.circuit import RelayCircuit, Setup, columns_of, settle
from generator.model.parts import LoadKind

__all__ = ["FAULTS", "REPAIRS", "Fault", "Symptom", "as_found", "symptoms"]

Side = Literal["control side", "load side", "mechanics"]
Symptom = Literal["does nothing", "works weakly", "never stops", "none"]
Edit = Callable[[RelayCircuit, float], RelayCircuit]

REPAIRS: Mapping[str, str] = MappingProxyType(
    {
        "replace_control_fuse": "Replace control fuse {control_fuse}",
        "mend_control_feed": "Repair the wire or connector between control fuse "
        "{control_fuse} and terminal 86",
        "replace_relay": "Replace relay {relay} with one of the specified part",
        "mend_control_return": "Repair the wire between terminal 85 and the "
        "control module",
        "replace_module": "Replace the control module after its supplies and grounds "
        "are proved",
        "restore_enable": "Restore the missing enable input",
        "replace_load_fuse": "Replace load fuse {load_fuse}",
        "mend_load_feed": "Repair the wire or connector between load fuse "
        "{load_fuse} and terminal 30",
        "mend_load_wire": "Repair the wire between terminal 87 and the {load}",
        "mend_load_ground": "Repair the ground connection of the {load}",
        "replace_load": "Replace the {load}",
        "free_mechanism": "Repair the {mechanism}",
    }
)
# A fuse carrying more than this share of its rating has opened when the vehicle
# comes in: 135 % opens within ten minutes (SAE J1284 / ISO 8820-3, from memory).
_OPENS_FRAC = 1.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault: its edit of the circuit, its prior and the repair that cures it.

    ``title`` names the cause in words, with the circuit's names in braces;
    ``severity`` is the range of the number that ``edit`` takes.
    """

    id: str
    title: str
    side: Side
    repair: str
    prior: float
    edit: Edit
    severity: tuple[float, float] = (1.0, 1.0)
    kinds: tuple[LoadKind, ...] = ("heater", "fan motor", "solenoid valve")


def _set(**changes: object) -> Edit:
    """Set values of a circuit, whatever the severity."""
    return lambda circuit, _: replace(circuit, **changes)  # type: ignore[arg-type]


def _add_load_resistance(name: str) -> Edit:
    """Add a share of the load's working resistance to a part of the load circuit."""

    def edit(circuit: RelayCircuit, severity: float) -> RelayCircuit:
        extra = severity * circuit.supply_v / circuit.load_rated_a
        values = {name: getattr(circuit, name) + extra}
        return replace(circuit, **values)

    return edit


def _resist_control_feed(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    extra = severity * circuit.coil_ohm
    return replace(circuit, control_feed_ohm=circuit.control_feed_ohm + extra)


def _short_coil_turns(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of the turns: resistance falls, ampere-turns per ampere too."""
    return replace(
        circuit,
        coil_ohm=circuit.coil_ohm * severity,
        pull_in_a=circuit.pull_in_a / severity,
    )


def _fit_wrong_relay(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Fit a relay made for twice the voltage: four times the coil resistance."""
    return replace(
        circuit,
        coil_ohm=circuit.coil_ohm * severity,
        pull_in_a=circuit.pull_in_a * 0.68,
    )


def _short_load_turns(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    return replace(
        circuit,
        load_ohm=circuit.load_ohm * severity,
        motor_constant_vs=circuit.motor_constant_vs * severity,
    )


def _bind(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Add friction: a share of the torque at rated current."""
    torque = circuit.motor_constant_vs * circuit.load_rated_a
    return replace(circuit, friction_nm=severity * torque, mechanism="heavy")


def _let_spin(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of the fan's drag: the work no longer loads the motor."""
    return replace(
        circuit,
        fan_nms2=circuit.fan_nms2 * severity,
        does_work=False,
        mechanism="free",
    )


_CONTROL = (
    Fault(
        id="control_fuse_open",
        title="Control fuse {control_fuse} is open",
        side="control side",
        repair="replace_control_fuse",
        prior=1.0,
        edit=_set(control_fuse_ohm=np.inf),
    ),
    Fault(
        id="control_feed_open",
        title="Control feed is open between fuse {control_fuse} and terminal 86",
        side="control side",
        repair="mend_control_feed",
        prior=1.0,
        edit=_set(control_feed_ohm=np.inf),
    ),
    Fault(
        id="control_feed_resistance",
        title="High resistance between fuse {control_fuse} and terminal 86",
        side="control side",
        repair="mend_control_feed",
        prior=0.8,
        edit=_resist_control_feed,
        severity=(1.8, 2.8),
    ),
    Fault(
        id="coil_open",
        title="The coil of relay {relay} is open",
        side="control side",
        repair="replace_relay",
        prior=1.0,
        edit=_set(coil_ohm=np.inf),
    ),
    Fault(
        id="coil_turns_shorted",
        title="Turns of the coil of relay {relay} are shorted",
        side="control side",
        repair="replace_relay",
        prior=0.5,
        edit=_short_coil_turns,
        severity=(0.035, 0.055),
    ),
    Fault(
        id="wrong_relay",
        title="A relay of the wrong part is fitted at {relay}",
        side="control side",
        repair="replace_relay",
        prior=0.5,
        edit=_fit_wrong_relay,
        severity=(4.2, 4.8),
    ),
    Fault(
        id="control_return_open",
        title="The wire from terminal 85 to the control module is open",
        side="control side",
        repair="mend_control_return",
        prior=1.0,
        edit=_set(control_return_ohm=np.inf),
    ),
    Fault(
        id="control_return_to_ground",
        title="The wire from terminal 85 to the control module is shorted to ground",
        side="control side",
        repair="mend_control_return",
        prior=1.0,
        edit=_set(return_to_ground_ohm=0.05),
    ),
    Fault(
        id="driver_stuck_off",
        title="The driver in the control module never conducts",
        side="control side",
        repair="replace_module",
        prior=0.6,
        edit=_set(is_driver_dead=True),
    ),
    Fault(
        id="driver_stuck_on",
        title="The driver in the control module always conducts",
        side="control side",
        repair="replace_module",
        prior=0.8,
        edit=_set(is_driver_on=True),
    ),
    Fault(
        id="enable_missing",
        title="An enable input is missing, so the module does not command",
        side="control side",
        repair="restore_enable",
        prior=1.2,
        edit=_set(is_enabled=False),
    ),
)
_LOAD = (
    Fault(
        id="load_fuse_open",
        title="Load fuse {load_fuse} is open and nothing else is wrong",
        side="load side",
        repair="replace_load_fuse",
        prior=1.0,
        edit=_set(load_fuse_ohm=np.inf),
    ),
    Fault(
        id="load_feed_open",
        title="Load feed is open between fuse {load_fuse} and terminal 30",
        side="load side",
        repair="mend_load_feed",
        prior=0.8,
        edit=_set(load_feed_ohm=np.inf),
    ),
    Fault(
        id="load_feed_resistance",
        title="High resistance between fuse {load_fuse} and terminal 30",
        side="load side",
        repair="mend_load_feed",
        prior=1.2,
        edit=_add_load_resistance("load_feed_ohm"),
        severity=(0.5, 1.2),
    ),
    Fault(
        id="contacts_open",
        title="The contacts of relay {relay} do not close",
        side="load side",
        repair="replace_relay",
        prior=1.5,
        edit=_set(contacts_ohm=np.inf),
    ),
    Fault(
        id="contacts_resistance",
        title="The contacts of relay {relay} have high resistance",
        side="load side",
        repair="replace_relay",
        prior=1.5,
        edit=_add_load_resistance("contacts_ohm"),
        severity=(0.5, 1.2),
    ),
    Fault(
        id="contacts_welded",
        title="The contacts of relay {relay} are welded",
        side="load side",
        repair="replace_relay",
        prior=1.2,
        edit=_set(is_welded=True),
    ),
    Fault(
        id="load_wire_open",
        title="The wire from terminal 87 to the {load} is open",
        side="load side",
        repair="mend_load_wire",
        prior=1.0,
        edit=_set(load_wire_ohm=np.inf),
    ),
    Fault(
        id="load_wire_resistance",
        title="High resistance between terminal 87 and the {load}",
        side="load side",
        repair="mend_load_wire",
        prior=1.2,
        edit=_add_load_resistance("load_wire_ohm"),
        severity=(0.5, 1.2),
    ),
    Fault(
        id="load_wire_to_ground",
        title="The wire from terminal 87 to the {load} is shorted to ground",
        side="load side",
        repair="mend_load_wire",
        prior=0.8,
        edit=_set(load_to_ground_ohm=0.02),
    ),
    Fault(
        id="load_wire_to_power",
        title="The wire from terminal 87 to the {load} is shorted to a live wire",
        side="load side",
        repair="mend_load_wire",
        prior=0.6,
        edit=_set(load_to_power_ohm=0.03),
    ),
    Fault(
        id="load_open",
        title="The {load} is open inside",
        side="load side",
        repair="replace_load",
        prior=1.2,
        edit=_set(load_ohm=np.inf),
    ),
    Fault(
        id="load_turns_shorted",
        title="The {load} has shorted turns",
        side="load side",
        repair="replace_load",
        prior=0.8,
        edit=_short_load_turns,
        severity=(0.32, 0.5),
    ),
    Fault(
        id="load_ground_open",
        title="The ground of the {load} is open",
        side="load side",
        repair="mend_load_ground",
        prior=1.0,
        edit=_set(load_ground_ohm=np.inf),
    ),
    Fault(
        id="load_ground_resistance",
        title="The ground of the {load} has high resistance",
        side="load side",
        repair="mend_load_ground",
        prior=1.5,
        edit=_add_load_resistance("load_ground_ohm"),
        severity=(0.5, 1.2),
    ),
)
_MECHANICS = (
    Fault(
        id="mechanism_seized",
        title="The {mechanism} is stuck and does not move",
        side="mechanics",
        repair="free_mechanism",
        prior=1.0,
        edit=_set(friction_nm=np.inf, does_work=False, mechanism="stuck"),
        kinds=("fan motor", "solenoid valve"),
    ),
    Fault(
        id="mechanism_binding",
        title="The {mechanism} binds and turns heavily",
        side="mechanics",
        repair="free_mechanism",
        prior=1.0,
        edit=_bind,
        severity=(0.9, 1.6),
        kinds=("fan motor",),
    ),
    Fault(
        id="mechanism_free",
        title="The {mechanism} turns free without doing its work",
        side="mechanics",
        repair="free_mechanism",
        prior=0.7,
        edit=_let_spin,
        severity=(0.02, 0.08),
        kinds=("fan motor",),
    ),
)
FAULTS: Mapping[str, Fault] = MappingProxyType(
    {fault.id: fault for fault in (*_CONTROL, *_LOAD, *_MECHANICS)}
)


def as_found(circuits: Sequence[RelayCircuit]) -> tuple[RelayCircuit, ...]:
    """Give the circuits as they come in, with load fuses open where overloaded."""
    columns = columns_of(circuits)
    settled = settle(columns, columns, [Setup(command="normal")])
    current = settled.current("load_fuse")[:, 0, 0]
    return tuple(
        replace(circuit, load_fuse_ohm=np.inf)
        if amps > _OPENS_FRAC * circuit.load_fuse_rating_a
        else circuit
        for circuit, amps in zip(circuits, current, strict=True)
    )


def symptoms(
    circuits: Sequence[RelayCircuit], sound: RelayCircuit
) -> tuple[Symptom, ...]:
    """What the driver of the vehicle notices of each circuit as it comes in.

    A fan's work is judged by its speed, that of a heater or valve by the square of
    its current.
    """
    columns, reference = columns_of((sound, *circuits)), columns_of([sound])
    normal, off = Setup(command="normal"), Setup(command="off")
    settled = settle(columns, reference, [normal, off])
    if sound.motor_constant_vs > 0:
        effort = -settled.emf("load")[..., 0] / columns["motor_constant_vs"]
    else:
        effort = settled.current("load")[..., 0] ** 2
    works = [c.does_work for c in (sound, *circuits)]
    work = effort * np.array(works)[:, None]
    return tuple(_symptom(on, idle) for on, idle in (work[1:] / work[0, 0]).tolist())


def _symptom(on_frac: float, off_frac: float) -> Symptom:
    if off_frac > 0.5:
        return "never stops"
    if on_frac < 0.25:
        return "does nothing"
    return "works weakly" if on_frac < 0.85 else "none"
