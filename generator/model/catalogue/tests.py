"""The tests that a student can choose from, in the order of a fault search.

Minutes are those of the reading, by a practised technician at its places with the tools
at hand (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from types import MappingProxyType

from generator.model.catalogue.cautions import LEAD, LEAD_AT_SWITCH
from generator.model.catalogue.circuit_tests import CIRCUIT_TESTS
from generator.model.catalogue.conditions import (
    PLUGGED,
    PLUGGED_AT_SWITCH,
    STILL,
    STILL_AT_SWITCH,
)
from generator.model.catalogue.first_tests import FIRST_TESTS
from generator.model.catalogue.fuse_tests import AT_CONTROL, FUSE_TESTS
from generator.model.catalogue.load_tests import LOAD_TESTS
from generator.model.catalogue.socket_tests import SOCKET_TESTS
from generator.model.circuit import RelayCircuit
from generator.model.measure import DiagnosticTest
from generator.model.places import PlaceId

_STRESS_MINUTES = 3

_IN_ORDER = (*FIRST_TESTS, *FUSE_TESTS, *SOCKET_TESTS, *CIRCUIT_TESTS, *LOAD_TESTS)
TESTS: Mapping[str, DiagnosticTest] = MappingProxyType(
    {test.id: test for test in _IN_ORDER}
)


def tests_for(
    circuit: RelayCircuit, names: Collection[str], *, is_stressed: bool
) -> tuple[DiagnosticTest, ...]:
    """Tests of the catalogue as they are done on one circuit.

    Parameters
    ----------
    circuit : RelayCircuit
        Tells its variant.
    names : collection of str
        Ids of the tests that may be offered.
    is_stressed : bool
        Whether the harness is wiggled and warm during electrical tests, because the
        complaint comes and goes.
    """
    return tuple(
        as_done_on(circuit, test, is_stressed=is_stressed)
        for test in TESTS.values()
        if test.id in names and test.applies(circuit)
    )


def as_done_on(
    circuit: RelayCircuit, test: DiagnosticTest, *, is_stressed: bool
) -> DiagnosticTest:
    """One test as it is done on one circuit, calm or under stress."""
    # The wiring first: what is wiggled is the test as it is done on this circuit.
    if circuit.is_fuse_shared:
        test = _at_shared_fuse(test)
    if circuit.is_high_side:
        test = _at_high_side(test)
    if circuit.is_smart:
        test = _at_smart_switch(test)
    return _stressed(test) if is_stressed else test


def _at_shared_fuse(test: DiagnosticTest) -> DiagnosticTest:
    """Take the control current in its wire, for the fuse carries both."""
    wire = "the wire to terminal {coil_supply}"
    if test.measure.target == "control_fuse":
        return replace(
            test,
            title=test.title.replace("at its fuse", f"in {wire}"),
            how=test.how.replace(AT_CONTROL, f"The clamp goes around {wire}"),
            # Behind the shared fuse only this wire has the coil's current alone;
            # nothing is plugged in place of a fuse, so that cautions of the lead do not
            # belong.
            measure=replace(test.measure, target="control_tap"),
            setup=replace(test.setup, control_lead=False),
            needs=(
                "relay_pins",
                *(place for place in test.needs if place != "fuse_box"),
            ),
            hazards=tuple(hazard for hazard in test.hazards if hazard != LEAD),
        )
    title = test.title.replace("Load current at its fuse", "Both currents at the fuse")
    return replace(test, title=title)


# What is said of a relay's circuit, and what of one with a smart switch.
_OF_SWITCH = {
    LEAD: LEAD_AT_SWITCH,
    STILL: STILL_AT_SWITCH,
    PLUGGED: PLUGGED_AT_SWITCH,
}


def _of_switch(text: str) -> str:
    for of_relay, own in _OF_SWITCH.items():
        text = text.replace(of_relay, own)
    return text


def _at_smart_switch(test: DiagnosticTest) -> DiagnosticTest:
    """Reach at the plug of the module what is at the socket of a relay."""
    at_relay: tuple[PlaceId, ...] = ("relay", "relay_pins")
    needs = ("module" if place in at_relay else place for place in test.needs)
    alone = (name for name in test.setup.alone if name != "control_feed_ohm")
    return replace(
        test,
        before=_of_switch(test.before),
        needs=tuple(dict.fromkeys(needs)),
        setup=replace(test.setup, alone=tuple(alone)),
        hazards=tuple(map(_of_switch, test.hazards)),
    )


_FROM_MODULE = {"control_return_ohm": "control_feed_ohm"}


def _at_high_side(test: DiagnosticTest) -> DiagnosticTest:
    """Find wires and coil where the driver is: before the coil, which it feeds."""
    if test.setup.alone:
        # The wire to the coil comes from the module, and not from the fuses; that back
        # from it leads to ground.
        own = (name for name in test.setup.alone if name != "control_feed_ohm")
        alone = (_FROM_MODULE.get(name, name) for name in own)
        return replace(test, setup=replace(test.setup, alone=tuple(alone)))
    if test.measure.kind != "spike":
        return test
    return replace(
        test,
        title=test.title.replace("{coil_return}", "{coil_supply}"),
        how=test.how.replace("{coil_return}", "{coil_supply}"),
        measure=replace(test.measure, target="86"),
        setup=replace(test.setup, probe="86"),
    )


def _stressed(test: DiagnosticTest) -> DiagnosticTest:
    # A part out of its circuit, or one that is looked at, has no harness to be wiggled;
    # and where one section is moved, the others are not.
    if test.measure.kind not in ("current", "voltage", "work") or test.setup.alone:
        return test
    return replace(
        test,
        title=f"{test.title}, harness wiggled and warm",
        how=f"{test.how} Meanwhile the harness is wiggled, and all of it is warm.",
        minutes=test.minutes + _STRESS_MINUTES,
        setup=replace(test.setup, is_stressed=True),
    )
