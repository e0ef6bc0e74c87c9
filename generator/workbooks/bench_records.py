"""What a student can set up and measure, as page and key have it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace

from answer_keys.decoding import copied_as
from answer_keys.misconceptions import MISCONCEPTIONS
from generator.drawing.exercise import Exercise
from generator.model import free_setups, instruments, parts, turn_off
from generator.model.catalogue.cautions import (
    BACK,
    BRIDGE_AT_SWITCH,
    LEAD_AT_SWITCH,
    OVERRIDES,
    SECURE,
)
from generator.model.catalogue.wrong_state import FROM_CASE_10, FROM_CASE_100
from generator.model.free_setups import BRANCHES
from generator.model.instruments import Clamp
from generator.model.measure import DiagnosticTest
from generator.model.scales import SPIKE_LIMIT_V
from generator.model.topology import METER_OHM, PROBES
from generator.pictures.circuit_text import diagram_of
from generator.workbooks.bench_cases import cases_of
from generator.workbooks.statement_rules import rules_at
from generator.workbooks.statements import cleared_by, sections_in
from workbook.measuring.set_up import code_of
from workbook.record.bench import (
    Bench,
    ClampData,
    Contact,
    Instruments,
    MeterData,
    Model,
    Rule,
    ScopeData,
)
from workbook.record.set_up import SetUp
from workbook.texts import _, later

# Where each node of the circuit is reached, and the spot of the diagram.
_POINTS = {
    "supply": ("supply", "battery"),
    "0": ("0", ""),
    "fed": ("fed", "fuse_box"),
    "control_fuse_out": ("control_fuse", "fuse_box"),
    "load_fuse_out": ("load_fuse", "fuse_box"),
    "86": ("86", "relay_pins"),
    "85": ("85", "relay_pins"),
    "30": ("30", "relay_pins"),
    "blade_30": ("30", "relay_pins"),
    "87": ("87", "relay_pins"),
    "87a": ("87a", "relay_pins"),
    "pin_86": ("86", "relay"),
    "pin_85": ("85", "relay"),
    "pin_30": ("30", "relay"),
    "pin_87": ("87", "relay"),
    "driver": ("driver", "module"),
    "driver_out": ("driver_out", "module"),
    "module_ground": ("module_ground_pin", "module"),
    "plug": ("load_connector", "load"),
    "load+": ("load+", "load"),
    "load-": ("load-", "load"),
    "cavity": ("load-", "load"),
}
_WIRES = {
    "control_fuse": ("control_fuse", "fuse_box"),
    "load_fuse": ("load_fuse", "fuse_box"),
    "control_feed": ("control_feed", "relay_pins"),
    "control_return": ("control_return", "relay_pins"),
    "module_ground": ("module_ground", "module"),
    "load_feed": ("load_feed", "relay_pins"),
    "jumper": ("30", "relay"),
    "load_wire": ("load_wire", "relay_pins"),
    "load_ground": ("load_ground", "load"),
}
_PARTS = {
    "control_fuse": ("control_fuse", "fuse_box"),
    "load_fuse": ("load_fuse", "fuse_box"),
    "relay": ("coil", "relay"),
    "load_connector": ("load_connector", "load"),
    "module": ("module", "module"),
    "neighbour": ("neighbour", "load"),
}
_LABELS = {
    "control_fuse_out": later("far side of control fuse {control_fuse}"),
    "load_fuse_out": later("far side of load fuse {load_fuse}"),
    "blade_30": later("terminal 30 where the relay's blade sits"),
    "pin_86": later("pin {coil_supply} of the relay itself"),
    "pin_85": later("pin {coil_return} of the relay itself"),
    "pin_30": later("pin 30 of the relay itself"),
    "pin_87": later("pin 87 of the relay itself"),
    "plug": later("wire side of connector {load_connector}"),
    "cavity": later("ground wire in the plug of {load_connector}"),
    "jumper": later("fused jumper between 30 and 87"),
    "lead control_fuse": later("fused lead at {control_fuse}"),
    "lead load_fuse": later("fused lead at {load_fuse}"),
    "part control_fuse": later("control fuse {control_fuse}"),
    "part load_fuse": later("load fuse {load_fuse}"),
    "relay": later("relay {relay}"),
    "load_connector": later("connector {load_connector}"),
    "module": later("connector of {module}"),
    "neighbour": later("plug of the {neighbour}"),
}
# Of a smart switch: its terminals are in the plug of its module, where a relay has
# socket and pins.
_AT_SWITCH = {"relay": "module", "relay_pins": "module"}
_OF_RELAY = ("blade_30", "pin_86", "pin_85", "pin_30", "pin_87")
_CAUTIONS = {"back": BACK, "jumper": BRIDGE_AT_SWITCH, "lead": LEAD_AT_SWITCH}
_PAST_SWITCH = later("fused jumper from {pin_in} to {pin_out}")
_SHARED = later("shared fuse {load_fuse}")


def bench_of(
    exercise: Exercise, *, has_model: bool = True, is_key: bool = False
) -> Bench:
    """Tell what can be set up on an exercise's circuit.

    Parameters
    ----------
    has_model : bool
        Whether the circuits go along, and the instruments: an examination keeps them.
    is_key : bool
        Whether misconceptions go by their ids, which no page holds.
    """
    renamed, names = _renamed(exercise), exercise.specification.names
    is_smart = exercise.specification.nominal.is_smart
    listed = {
        _code(each, renamed): test.id
        for test in exercise.tests
        if (found := set_up_of_test(test)) is not None
        for each in _alike(found)
    }
    whole = Bench(
        points=tuple(_contacts(exercise, renamed, _POINTS, "")),
        wires=tuple(_contacts(exercise, renamed, _WIRES, "lead ")),
        parts=tuple(_contacts(exercise, renamed, _PARTS, "part ")),
        commanded_at="scan_tool",
        ranges={
            "volts": tuple(each.id for each in instruments.VOLTMETER.ranges),
            "ohms": tuple(each.id for each in instruments.OHMMETER.ranges),
        },
        scales=tuple(each.id for each in _clamps()),
        listed=listed,
        driven=names.fill_each((OVERRIDES,)),
        secured=names.fill_each((SECURE,)),
        cautions=(
            {id_: names.fill(text) for id_, text in _CAUTIONS.items()}
            if is_smart
            else {}
        ),
    )
    if not has_model:
        return whole
    return replace(whole, model=_model(exercise, renamed, is_key=is_key))


def _renamed(exercise: Exercise) -> Mapping[str, str]:
    """Give nodes their names on this circuit: the coil may have its supply at 85."""
    if not exercise.specification.nominal.is_fed_at_85:
        # The plain names are those of a coil with its supply at 86.
        return {}
    swapped = {"86": "85", "pin_86": "pin_85"}
    return swapped | {new: old for old, new in swapped.items()}


def _code(set_up: SetUp, renamed: Mapping[str, str]) -> str:
    plus, minus = (renamed.get(end, end) for end in (set_up.plus, set_up.minus))
    return code_of(replace(set_up, plus=plus, minus=minus))


def _alike(set_up: SetUp) -> Iterator[SetUp]:
    """Set-ups that come to the same: the leads of an ohmmeter either way round."""
    yield set_up
    if set_up.instrument == "ohms":
        yield replace(set_up, plus=set_up.minus, minus=set_up.plus)


def _contacts(
    exercise: Exercise,
    renamed: Mapping[str, str],
    where: Mapping[str, tuple[str, str]],
    kind: str,
) -> Iterator[Contact]:
    """Give what of some contacts the diagram of this circuit has."""
    names = exercise.specification.names
    named = {spot.id: spot.label for spot in diagram_of(exercise.specification).spots}
    is_shared = "shared_fuse" in named
    is_smart = exercise.specification.nominal.is_smart
    for id_, (spot, place) in where.items():
        if is_smart and id_ in _OF_RELAY:
            continue
        place = _AT_SWITCH.get(place, place) if is_smart else place
        at = renamed.get(spot, spot)
        if is_shared and spot == "load_fuse":
            at = "shared_fuse"
        # This circuit has none of it: no control fuse of its own, or its driver on the
        # other side.
        if at not in named:
            continue
        # By its kind first: a fuse, the lead in its place and its wire have one id.
        text = _LABELS.get(f"{kind}{id_}") or _LABELS.get(id_)
        if is_smart and id_ == "jumper":
            text = _PAST_SWITCH
        if is_shared and kind == "part " and spot == "load_fuse":
            text = _SHARED
        label = names.put(_(text)) if text else named[at]
        yield Contact(id=renamed.get(id_, id_), label=label, at=at, place=place)


def set_up_of_test(test: DiagnosticTest) -> SetUp | None:
    """Give the set-up that a test of the list is, with the circuit's plain names.

    None where it is none: what is looked at, a test lamp, a new part, a jaw that is
    held against a wire.
    """
    setup, measure = test.setup, test.measure
    clamp = measure.clamp
    # What a menu has no option for is not set up, but chosen from the list.
    is_menu = not (test.is_by_eye or measure.sense or measure.kind == "warmth")
    if not is_menu or setup.lamp or setup.new_relay or setup.alone:
        return None
    if clamp is not None and clamp.jaw_frac < 1:
        return None
    # Past a smart switch the jumper lies in the plug of its module.
    is_past = setup.jumper and "module" in test.needs
    state = SetUp(
        command=setup.command,
        control_fuse="lead" if setup.control_lead else "in",
        load_fuse="lead" if setup.load_lead else "in",
        relay=_plug(setup.jumper and not is_past, setup.relay_out),
        module=_plug(is_past, setup.module_unplugged),
        neighbour="out" if setup.neighbour_unplugged else "in",
        harness="moved" if setup.is_stressed else "at rest",
    )
    if clamp is not None:
        return _clamped(state, test, clamp)
    if measure.kind == "spike":
        return replace(state, instrument="scope", plus=measure.target, minus="0")
    if measure.kind == "voltage" or measure.is_live:
        plus, minus = PROBES[measure.target]
        meter = "volts" if measure.kind == "voltage" else "ohms"
        return replace(state, instrument=meter, plus=plus, minus=minus)
    if measure.target == "coil":
        return replace(
            state, relay="out", instrument="ohms", plus="pin_85", minus="pin_86"
        )
    return replace(
        state, load_connector="out", instrument="ohms", plus="load+", minus="load-"
    )


def _plug(is_bridged: bool, is_out: bool) -> str:
    return "jumper" if is_bridged else "out" if is_out else "in"


def _clamped(state: SetUp, test: DiagnosticTest, clamp: Clamp) -> SetUp:
    target = test.measure.target
    # A clamp closes around wires: a part is told by the wire that leads to it.
    wire = {"load": "load_wire", "control_tap": "control_feed"}.get(target, target)
    return replace(
        state,
        instrument="clamp",
        wire=wire,
        back=test.measure.back or "",
        scale=clamp.id,
        zero="not zeroed" if clamp.left_over_a else "zeroed",
    )


def _instruments(exercise: Exercise) -> Instruments:
    errors = exercise.errors
    # A key of its own for noise: from it nobody gets to what else the questions' key
    # draws.
    noise = hashlib.sha256(b"noise" + exercise.question_key).hexdigest()[:16]
    return Instruments(
        volts=copied_as(MeterData, instruments.VOLTMETER),
        ohms=copied_as(MeterData, instruments.OHMMETER),
        milliohms=copied_as(MeterData, instruments.MILLIOHMMETER),
        milliohm_points=("load+", "load-"),
        clamps=tuple(_clamps()),
        scope=copied_as(ScopeData, instruments.SCOPE),
        meter_ohm=METER_OHM,
        errors={"gain": errors.gain, "counts": errors.counts, "zero": errors.zero},
        noise_key=noise,
    )


def _clamps() -> Iterator[ClampData]:
    # Straight from its case a clamp is off by as much here as in the list, which knows
    # it so on two scales.
    left = {
        "1": 20.0,
        "10": FROM_CASE_10.left_over_a,
        "100": FROM_CASE_100.left_over_a,
    }
    for clamp in (instruments.CLAMP_1, instruments.CLAMP_10, instruments.CLAMP_100):
        yield copied_as(ClampData, replace(clamp, left_over_a=left[clamp.id]))


def _model(exercise: Exercise, renamed: Mapping[str, str], *, is_key: bool) -> Model:
    nominal = exercise.specification.nominal
    sound, (*causes, actual) = cases_of(nominal, (*exercise.pairs, exercise.vehicle))
    return Model(
        branches=tuple(
            (name, *(renamed.get(end, end) for end in ends))
            for name, ends in BRANCHES.items()
        ),
        sound=sound,
        causes=tuple(causes),
        actual=actual,
        cause=exercise.candidates.index(exercise.fault),
        tolerances=_tolerances(exercise),
        leads_a=free_setups.lead_limits_a(nominal),
        constants={
            **turn_off.CONSTANTS,
            "spike_limit_v": SPIKE_LIMIT_V,
            "limiter_ohm": parts.LIMITER_OHM,
            "warming_steps": parts.WARMING_STEPS,
            "most_heat_frac": parts.MOST_HEAT_FRAC,
        },
        instruments=_instruments(exercise),
        rules=tuple(_rules(exercise, is_key=is_key)),
    )


def _rules(exercise: Exercise, *, is_key: bool) -> Iterator[Rule]:
    """What misconceptions say to any reading."""
    sections = sections_in(exercise)
    for rule in rules_at("", sections[0].id):
        cleared = cleared_by(rule, sections)
        # A rule that clears all or nothing says nothing here of its own.
        if 0 < len(cleared) < len(sections):
            text = _(MISCONCEPTIONS[rule.id].explanation)
            told = {"id": rule.id} if is_key else {"text": text}
            yield Rule(cleared=cleared, **told)


def _tolerances(exercise: Exercise) -> dict[str, float]:
    """Standard uncertainties by branch or, of a load and a supply, by value."""
    is_high = exercise.specification.nominal.is_high_side
    named = {"driver": "high_driver" if is_high else "low_driver"}
    found = {}
    for name, frac in exercise.specification.steps.items():
        # A value that is a branch goes by the branch; ohms of a load hang on how it
        # works.
        branch = name.removesuffix("_ohm")
        own = named.get(branch, branch)
        found[own if own in BRANCHES and own != "load" else name] = frac
    return found
