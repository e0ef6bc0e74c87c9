"""The fault model: every fault is an edit of a sound circuit.

Severities are drawn from the range that each fault states. The priors are rough
relative frequencies from the trade (common practice, no source).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter
from types import MappingProxyType
from typing import Literal, get_args

import numpy as np

from generator.model.circuit import RelayCircuit, Setup, columns_of
from generator.model.parts import LoadKind, fuse_gate
from generator.model.settling import settle

__all__ = [
    "COMPLAINTS",
    "FAULTS",
    "Fault",
    "Symptom",
    "as_found",
    "symptoms",
]

Side = Literal["control side", "load side", "mechanics"]
Symptom = Literal[
    "does nothing",
    "works weakly",
    "never stops",
    "comes and goes",
    "upsets the module",
    "none",
]
# What an operator complains of; the rest is noticed by no one, or later.
COMPLAINTS: tuple[Symptom, ...] = (
    "does nothing",
    "works weakly",
    "never stops",
    "comes and goes",
)
Edit = Callable[[RelayCircuit, float], RelayCircuit]

# A fuse that opens within this time at the latest has opened when the vehicle comes in.
_TIME_TO_OPEN_S = 600.0
# Share of the sound work below which a load stands, works weakly, and runs on.
_STANDS_FRAC, _WEAK_FRAC, _RUNS_FRAC = 0.25, 0.85, 0.5
_WITH_TURNS: tuple[LoadKind, ...] = tuple(
    kind for kind in get_args(LoadKind) if kind != "lamp bank"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault: its edit of the circuit, its prior and the repair that cures it.

    ``title`` names the cause in words, with the circuit's names in braces;
    ``severity`` is the range of the number that ``edit`` takes, ``applies`` says to
    which circuits it can happen. An intermittent fault is there only while the harness
    is wiggled and warm; an advanced one is drawn only where a lesson names it.
    """

    id: str
    title: str
    side: Side
    repair: str
    prior: float
    edit: Edit
    severity: tuple[float, float] = (1.0, 1.0)
    kinds: tuple[LoadKind, ...] = get_args(LoadKind)
    applies: Callable[[RelayCircuit], bool] = lambda _: True
    is_intermittent: bool = False
    is_advanced: bool = False

    def as_calm(self, circuit: RelayCircuit, severity: float) -> RelayCircuit:
        """Break a circuit as it is while nothing moves the harness."""
        return circuit if self.is_intermittent else self.edit(circuit, severity)


def _set(**changes: object) -> Edit:
    """Set values of a circuit, whatever the severity."""
    return lambda circuit, _: replace(circuit, **changes)  # type: ignore[arg-type]


# A pump's current does not fall with its voltage: half the resistance slows it as much.
_PUMP_SHARE = 0.45


def _add_load_resistance(name: str) -> Edit:
    """Add a share of the load's working resistance to a part of the load circuit."""

    def edit(circuit: RelayCircuit, severity: float) -> RelayCircuit:
        is_pump = circuit.motor_constant_vs > 0 and circuit.fan_nms2 == 0
        share = severity * (_PUMP_SHARE if is_pump else 1.0)
        extra = share * circuit.supply_v / circuit.load_rated_a
        values = {name: getattr(circuit, name) + extra}
        return replace(circuit, **values)

    return edit


def _resist_control_feed(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    extra = severity * circuit.coil_ohm
    return replace(circuit, control_feed_ohm=circuit.control_feed_ohm + extra)


def _short_coil_turns(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave so few turns that the driver's limit drops a share of the supply.

    Resistance falls with the turns, ampere-turns per ampere too.
    """
    left_ohm = severity * circuit.supply_v / circuit.driver_limit_a
    share = left_ohm / circuit.coil_ohm
    return replace(circuit, coil_ohm=left_ohm, pull_in_a=circuit.pull_in_a / share)


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
    friction = circuit.friction_nm + severity * torque
    return replace(circuit, friction_nm=friction, mechanism="heavy")


def _let_spin(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Leave a share of the drag: the work no longer loads the motor."""
    return replace(
        circuit,
        fan_nms2=circuit.fan_nms2 * severity,
        friction_nm=circuit.friction_nm * severity,
        does_work=False,
        mechanism="free",
    )


def _widen_gap(circuit: RelayCircuit, _: float) -> RelayCircuit:
    """Let a clutch's plates stand apart: same current, too little force."""
    return replace(circuit, does_work=False, mechanism="wide gap")


def _fit_larger_fuse(circuit: RelayCircuit, severity: float) -> RelayCircuit:
    """Short turns behind a fuse of twice the rating, which holds."""
    shorted = _short_load_turns(circuit, severity)
    return replace(shorted, load_fuse_rating_a=2 * circuit.load_fuse_rating_a)


_CONTROL = (
    Fault(
        id="control_fuse_open",
        title="Control fuse {control_fuse} is open",
        side="control side",
        repair="replace_control_fuse",
        prior=1.0,
        edit=_set(control_fuse_ohm=np.inf),
        applies=attrgetter("has_control_fuse"),
    ),
    Fault(
        id="control_feed_open",
        title="Control feed is open between fuse {control_fuse} and {coil_supply}",
        side="control side",
        repair="mend_control_feed",
        prior=1.0,
        edit=_set(control_feed_ohm=np.inf),
    ),
    Fault(
        id="control_feed_resistance",
        title="High resistance between fuse {control_fuse} and terminal {coil_supply}",
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
        severity=(0.22, 0.34),
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
        title="The wire from terminal {coil_return} to the control module is open",
        side="control side",
        repair="mend_control_return",
        prior=1.0,
        edit=_set(control_return_ohm=np.inf),
    ),
    Fault(
        id="control_return_to_ground",
        title="The wire from {coil_return} to the control module is shorted to ground",
        side="control side",
        repair="mend_control_return",
        prior=1.0,
        edit=_set(return_to_ground_ohm=0.05),
        applies=attrgetter("is_low_side"),
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
    Fault(
        id="control_feed_to_power",
        title="The wire from the control module to the coil is shorted to a live wire",
        side="control side",
        repair="mend_control_feed",
        prior=0.9,
        edit=_set(feed_to_power_ohm=1.0),
        applies=attrgetter("is_high_side"),
    ),
    Fault(
        id="module_ground_open",
        title="The ground of the control module's driver is open",
        side="control side",
        repair="mend_module_ground",
        prior=0.7,
        edit=_set(module_ground_ohm=np.inf),
        applies=attrgetter("is_low_side"),
    ),
    Fault(
        id="suppression_missing",
        title="A relay without suppression is fitted at {relay}",
        side="control side",
        repair="replace_relay",
        prior=0.6,
        edit=_set(suppression_ohm=np.inf, is_suppressed=False),
    ),
    Fault(
        id="upstream_open",
        title="The {upstream} passes nothing",
        side="control side",
        repair="mend_upstream",
        prior=0.9,
        edit=_set(upstream_ohm=np.inf),
        applies=attrgetter("has_switch_upstream"),
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
        edit=_set(load_to_power_ohm=0.1),
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
        severity=(0.32, 0.40),
        kinds=_WITH_TURNS,
    ),
    Fault(
        id="load_turns_shorted_fuse_too_large",
        title="The {load} has shorted turns, behind a fuse of twice the rating",
        side="load side",
        repair="replace_load+replace_load_fuse",
        prior=0.5,
        edit=_fit_larger_fuse,
        severity=(0.45, 0.55),
        kinds=_WITH_TURNS,
        is_advanced=True,
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
        kinds=("fan motor", "pump motor", "solenoid valve"),
    ),
    Fault(
        id="mechanism_binding",
        title="The {mechanism} binds and turns heavily",
        side="mechanics",
        repair="free_mechanism",
        prior=1.0,
        edit=_bind,
        severity=(1.2, 1.6),
        kinds=("fan motor", "pump motor"),
    ),
    Fault(
        id="mechanism_free",
        title="The {mechanism} turns free without doing its work",
        side="mechanics",
        repair="free_mechanism",
        prior=0.7,
        edit=_let_spin,
        severity=(0.15, 0.22),
        kinds=("fan motor", "pump motor"),
    ),
    Fault(
        id="air_gap_excessive",
        title="The air gap of the {mechanism} is too wide",
        side="mechanics",
        repair="set_air_gap",
        prior=1.2,
        edit=_widen_gap,
        kinds=("magnetic clutch",),
    ),
    Fault(
        id="nothing_wrong",
        title="Nothing is wrong: an enable input was rightly absent",
        side="mechanics",
        repair="explain_use",
        prior=0.6,
        edit=_set(),
        is_intermittent=True,
    ),
)


def _intermittent(fault: Fault, words: str) -> Fault:
    """A fault that is there only while the harness is wiggled and warm."""
    return replace(
        fault,
        id=f"{fault.id}_at_times",
        title=f"{fault.title}, {words}",
        prior=fault.prior * 0.5,
        is_intermittent=True,
    )


def _both(first: Fault, second: Fault) -> Fault:
    """Two faults at once: cured by both repairs only."""
    return Fault(
        id=f"{first.id}_and_{second.id}",
        title=f"{first.title}, and {second.title[0].lower()}{second.title[1:]}",
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
_AT_TIMES = tuple(
    _intermittent(_SINGLE[name], words)
    for name, words in (
        ("control_feed_open", "only when the harness moves"),
        ("control_return_open", "only when the harness moves"),
        ("coil_open", "only when it is warm"),
        ("contacts_open", "only when it is warm"),
        ("load_feed_open", "only when the harness moves"),
        ("load_wire_open", "only when the harness moves"),
        ("load_ground_open", "only when the harness moves"),
        ("load_open", "only when it is warm"),
    )
)
_DOUBLES = tuple(
    _both(_SINGLE[first], _SINGLE[second])
    for first, second in (
        ("contacts_resistance", "load_ground_resistance"),
        ("load_fuse_open", "enable_missing"),
        ("control_fuse_open", "load_ground_open"),
        ("control_return_open", "load_open"),
    )
)
FAULTS: Mapping[str, Fault] = MappingProxyType(
    _SINGLE | {fault.id: fault for fault in (*_AT_TIMES, *_DOUBLES)}
)


def as_found(circuits: Sequence[RelayCircuit]) -> tuple[RelayCircuit, ...]:
    """Give the circuits as they come in, with load fuses open where overloaded."""
    columns = columns_of(circuits)
    settled = settle(columns, columns, [Setup(command="normal")])
    current = settled.current("load_fuse")[:, 0, 0]
    return tuple(
        replace(circuit, load_fuse_ohm=np.inf)
        if fuse_gate(amps / circuit.load_fuse_rating_a)[1] <= _TIME_TO_OPEN_S
        else circuit
        for circuit, amps in zip(circuits, current, strict=True)
    )


def symptoms(
    pairs: Sequence[tuple[RelayCircuit, RelayCircuit]], sound: RelayCircuit
) -> tuple[Symptom, ...]:
    """What the operator of the vehicle notices of each circuit as it comes in.

    A motor's work is judged by its speed, that of all else by the square of its
    current.

    Parameters
    ----------
    pairs : sequence of pairs of RelayCircuit
        Each circuit calm, and while its harness is wiggled and warm.
    sound : RelayCircuit
    """
    work = _work([calm for calm, _ in pairs], sound)
    return tuple(_symptom(pair, share) for pair, share in zip(pairs, work, strict=True))


def _work(
    circuits: Sequence[RelayCircuit], sound: RelayCircuit
) -> list[tuple[float, float]]:
    """Share of the sound work that each circuit does on command, and off command."""
    columns, reference = columns_of((sound, *circuits)), columns_of([sound])
    setups = [Setup(command="normal"), Setup(command="off")]
    settled = settle(columns, reference, setups)
    if sound.motor_constant_vs > 0:
        effort = -settled.emf("load")[..., 0] / columns["motor_constant_vs"]
    else:
        effort = settled.current("load")[..., 0] ** 2
    effort *= np.array([c.does_work for c in (sound, *circuits)])[:, None]
    share = (effort[1:] / effort[0, 0]).tolist()
    return [(on_frac, off_frac) for on_frac, off_frac in share]


def _symptom(
    pair: tuple[RelayCircuit, RelayCircuit], share: tuple[float, float]
) -> Symptom:
    on_frac, off_frac = share
    if off_frac > _RUNS_FRAC:
        return "never stops"
    if on_frac < _STANDS_FRAC:
        return "does nothing"
    if on_frac < _WEAK_FRAC:
        return "works weakly"
    if pair[0] is not pair[1]:
        return "comes and goes"
    return "none" if pair[0].is_suppressed else "upsets the module"
