"""Tests done in a wrong state, and the misleading reading that each really gives.

A student can choose them like any other test. What they show comes from the same
settled network as everything else: nothing here is a number made up to mislead.

References
----------
Both wires in the jaw, a jaw that is not closed and a probe that is not zeroed: makers'
instructions for clamp meters say of each that its reading is wrong (read at ehow.co.uk,
"How to use a digital clamp meter", and kaiweets.com, "How to measure DC amps"). An
ohmmeter on a live circuit: section 6.3 of a meter's manual, manualslib.mx/manual/61933.
How much an open jaw catches and an offset leaves is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from generator.model.catalogue.conditions import COMMANDED, IDLE
from generator.model.catalogue.tests import TESTS, as_done_on
from generator.model.circuit import RelayCircuit
from generator.model.complaints import Symptom
from generator.model.instruments import (
    CLAMP_1,
    CLAMP_10,
    CLAMP_100,
    VOLTMETER,
    Errors,
    ohmmeter_for,
)
from generator.model.measure import DiagnosticTest, Measure, Setup
from generator.model.network import Network
from generator.model.solving import resistance_between, solve
from generator.model.topology import PROBES

FROM_CASE_10 = replace(CLAMP_10, left_over_a=2.6)
FROM_CASE_100 = replace(CLAMP_100, left_over_a=0.085)
"""Clamps that nobody has zeroed, on two of their scales."""
_JAW_OPEN = replace(CLAMP_10, jaw_frac=0.35)

_NO_DROP = (
    "The load was off. Without current there is no drop, so that a bad connection "
    "reads like a good one. Command the load on first."
)
_LIVE = (
    "Nobody made sure that the part was dead. An ohmmeter divides every voltage "
    "between its leads by its own small current: on a live part it shows OL or a "
    "number without meaning, and meter and control module can be damaged. A number "
    "that looks right may be one of those. "
)
# Of what is driven and has the clamp around its own wire: no lead is fitted.
_NO_LEAD = TESTS["drop_30_87"].hazards
_CREEPS = (
    "The clamp was not zeroed: what it showed without current is in the reading, and "
    "it creeps, so that nobody can take it off afterwards. Zero it with the jaw empty "
    "and closed."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongState:
    """A test done in a wrong state, and the id of the proper one that it passes for."""

    like: str
    test: DiagnosticTest


def _wrong(like: str, *, minutes: float = 1, **changes: Any) -> WrongState:  # noqa: ANN401 - any field
    """Take a proper test and change what is done differently."""
    return WrongState(like=like, test=replace(TESTS[like], minutes=minutes, **changes))


def _without_lead(**changes: Any) -> WrongState:  # noqa: ANN401 - any field
    """Read the load current with the clamp around a wire of the load itself."""
    proper = {"needs": ("relay_pins", "scan_tool"), "hazards": _NO_LEAD}
    return _wrong("load_current", **{**proper, **changes}, setup=Setup())


def _off(like: str, **changes: Any) -> WrongState:  # noqa: ANN401 - any field
    """Read a voltage drop with the load off."""
    setup = Setup(command="off", probe=TESTS[like].setup.probe)
    return _wrong(like, id=f"{like}_off", before=IDLE, setup=setup, **changes)


WRONG_STATES = (
    _wrong(
        "control_current_output_test",
        id="control_current_from_case",
        title="Control current at its fuse, clamp straight from its case",
        how=TESTS["control_current_output_test"].how
        + f" Before that the meter shows {FROM_CASE_100.display(0.0, Errors())} and "
        "creeps.",
        before=COMMANDED,
        measure=Measure(kind="current", target="control_fuse", clamp=FROM_CASE_100),
        mistake=_CREEPS,
    ),
    _wrong(
        "control_current_output_test",
        id="control_current_1_mv",
        title="Control current at its fuse, on the 1 mV/A scale",
        minutes=2,
        measure=Measure(kind="current", target="control_fuse", clamp=CLAMP_1),
        mistake="The scale was too coarse: on 1 mV/A the control current is a digit or "
        "two, and less than zero offset and noise of the probe. Use 100 mV/A.",
    ),
    _without_lead(
        id="load_current_from_case",
        title="Load current in the wire from {pin_out}, clamp straight from its case",
        how="The clamp closes around the wire from terminal {pin_out}, and the scan "
        "tool drives the output. Before that the meter shows "
        f"{FROM_CASE_10.display(0.0, Errors())} and creeps.",
        before=COMMANDED,
        measure=Measure(kind="current", target="load_wire", clamp=FROM_CASE_10),
        mistake=_CREEPS,
    ),
    _without_lead(
        id="load_current_held_against",
        title="Load current in the wire from {pin_out}, where the loom is tight",
        how="The wire from terminal {pin_out} lies in the mouth of the clamp, which "
        "finds no room to close, and the scan tool drives the output.",
        before=f"The clamp is zeroed on its scale. {COMMANDED}",
        measure=Measure(kind="current", target="load_wire", clamp=_JAW_OPEN),
        mistake="The jaw was not closed: it caught a share of the current that nobody "
        "knows, and fields of other wires besides. Find a place where it closes.",
    ),
    _without_lead(
        id="load_current_at_plug",
        title="Load current at the plug of the {load}",
        how="The clamp closes around the two wires at the plug of the {load}, and the "
        "scan tool drives the output.",
        before=f"The clamp is zeroed on its scale and closed. {COMMANDED}",
        needs=("load", "scan_tool"),
        measure=Measure(
            kind="current", target="load", clamp=CLAMP_10, back="load_ground"
        ),
        mistake="Both wires were in the jaw: the current that goes and the one that "
        "comes back cancel, whatever flows. Close the clamp around one wire.",
    ),
    _off(
        "drop_30_87",
        title="Voltage drop across the contacts, 30 to 87, with no demand",
        how="Meter on volts: plus on terminal 30, minus on terminal 87.",
        needs=("relay_pins",),
        mistake="The load was off, and open contacts have the whole supply across them "
        "in a sound relay too: of the contacts this proves nothing. Command the load "
        "on first.",
    ),
    _off(
        "drop_87_load",
        title="Voltage drop from terminal {pin_out} to the load, with no demand",
        how="Meter on volts: plus on terminal {pin_out}, minus on the supply pin of "
        "the {load}.",
        needs=("relay_pins", "load"),
        mistake=_NO_DROP,
    ),
    _off(
        "drop_load_ground",
        title="Voltage drop from the load to ground, with no demand",
        how="Meter on volts: plus on the ground pin of the {load}, minus on the "
        "battery.",
        needs=("load",),
        mistake=_NO_DROP,
    ),
    _wrong(
        "coil_resistance",
        id="coil_resistance_in_socket",
        title="Resistance between 85 and 86, relay in its socket",
        how="The relay stays in; meter on ohms between its terminals 85 and 86.",
        before=COMMANDED,
        needs=("relay_pins", "scan_tool"),
        measure=Measure(kind="resistance", target="coil", is_live=True),
        setup=Setup(probe="coil"),
        hazards=(*TESTS["coil_resistance"].hazards, *_NO_LEAD),
        mistake=f"{_LIVE}Switch off and take the relay out first.",
    ),
    _wrong(
        "load_resistance",
        id="load_resistance_plugged_in",
        title="Resistance of the load, plugged in",
        how="The {load} stays plugged in; milliohm meter with its four leads on its "
        "two pins.",
        before=COMMANDED,
        minutes=2,
        needs=("load", "scan_tool"),
        measure=Measure(kind="resistance", target="load", is_live=True),
        setup=Setup(probe="load"),
        hazards=(*TESTS["load_resistance"].hazards, *_NO_LEAD),
        mistake=f"{_LIVE}Switch off and unplug the load first.",
    ),
)
"""In the order of the tests that they pass for."""

LIKE: Mapping[str, str] = MappingProxyType({w.test.id: w.like for w in WRONG_STATES})
"""The proper test that each of them passes for, by ids."""


def wrong_states_for(
    circuit: RelayCircuit, offered: Collection[str], symptom: Symptom
) -> tuple[WrongState, ...]:
    """Wrong states that can be offered on one circuit, as they are done on it.

    Parameters
    ----------
    circuit : RelayCircuit
        Tells its variant.
    offered : collection of str
        Ids of the proper tests on offer.
    symptom : Symptom
        A load that never stops is not off when nothing is asked for.
    """
    is_stressed = symptom == "comes and goes"
    return tuple(
        replace(wrong, test=as_done_on(circuit, wrong.test, is_stressed=is_stressed))
        for wrong in WRONG_STATES
        if wrong.like in offered
        and not (symptom == "never stops" and wrong.test.setup.command == "off")
    )


def misread(
    test: DiagnosticTest, value: float, network: Network, errors: Errors
) -> str:
    """What the instrument shows when a test is done in its wrong state.

    Parameters
    ----------
    test : DiagnosticTest
        One of ``WRONG_STATES``, as done on a circuit.
    value : float
        What there truly is: the current of the branch [A], or the voltage between the
        probes [V].
    network : Network
        What the test measures on.
    """
    measure = test.measure
    if measure.is_live:
        ohm = resistance_between(network, *PROBES[measure.target])
        # The part is measured with all that hangs parallel to it, sources as their
        # ohms.
        return ohmmeter_for(measure.target).display_live(ohm, value, errors)
    if measure.clamp is None:
        return VOLTMETER.display(value, errors)
    currents = solve(network).current_a if measure.back else {}
    # An open branch is not in the network, and carries nothing.
    return measure.clamp.display(value - currents.get(measure.back or "", 0.0), errors)
