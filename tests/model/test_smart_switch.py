"""A switch without contacts: its codes, its own current, and what the operator says."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.repairs import sections_along, sections_of
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import columns_of
from generator.model.diagnostics import outcomes, readings, scales
from generator.model.instruments import SENSE, Errors
from generator.model.measure import Setup
from generator.model.scales import CODES
from generator.model.settling import settle
from generator.model.symptoms import symptoms
from tests.circuits import FAN, HEATER, LOADS, SMART, STEPS, VALVE, broken_pair, smart
from tests.model.smart import CODE_OF, faults_of_smart

OF_RELAY = {"control_current", "voltage_86", "coil_resistance", "pull_relay"}
# A lead in its place has no crack, and only the clamp at that lead sees so.
CRACKED = "load_fuse_open_at_times"


def for_each_fault(test):
    """Let a test hold for every fault of a load, one run a load: the runs are short."""

    @pytest.mark.parametrize("kind", LOADS)
    def run(kind):
        for fault in faults_of_smart(kind):
            test(kind, fault)

    run.__name__, run.__doc__ = test.__name__, test.__doc__
    return run


@cache
def shown(kind, fault):
    """What the operator says of a fault, and what every test shows, by test."""
    sound = smart(LOADS[kind])
    pair = broken_pair(sound, fault)
    (felt,) = symptoms([pair], sound)
    is_stressed = felt == "comes and goes"
    tests = catalogue.tests_for(sound, TESTS, is_stressed=is_stressed)
    value = readings([pair], sound, tests).value[..., 0]
    words = outcomes(value, scales(sound, tests, STEPS), [pair[0]], tests)[0]
    return felt, dict(zip([test.id for test in tests], words, strict=True))


@for_each_fault
def test_code_is_the_one_of_the_table(kind, fault):
    """Each fault sets the code that a technician finds, or none."""
    _, words = shown(kind, fault)
    if fault == "mechanism_seized":
        # A motor that stands is a short; a valve that stands draws what it should.
        code = "none" if kind == "solenoid valve" else "overcurrent"
    elif fault.endswith("_at_times"):
        # What was stored while it was there stays stored.
        code = CODE_OF[fault.removesuffix("_at_times")]
    else:
        code = CODE_OF[fault]
    assert words["read_codes"] == code, fault


@for_each_fault
def test_complaint_code_and_currents_agree(kind, fault):
    """What the operator says, the scan tool and the clamp never contradict each other.

    Who has no current has no work; who has shut off does nothing; what never stops is
    up without a command; and the switch measures what the clamp finds at its fuse.
    """
    felt, words = shown(kind, fault)
    current = words["load_current"].partition(",")[0]
    is_flowing = current not in ("none", "over limit")
    if fault == "load_wire_to_power":
        # Past fuse and switch, whose clamps see little of it.
        assert felt == "never stops"
        assert words["load_current_off"] == "none"
    elif "fuse open" not in words["load_current"] and fault != CRACKED:
        assert words["read_sensed_current"] == ("present" if is_flowing else "none")
    if words["read_codes"] == "overcurrent":
        assert felt == "does nothing"
        assert not is_flowing
        assert words["look_load_fuse"] == "intact"
    if words["read_codes"] in ("open load", "no supply"):
        assert felt in ("does nothing", "never stops", "comes and goes")
    if felt in ("works weakly", "runs hot"):
        assert is_flowing
        assert words["read_codes"] == "none"
    if felt == "never stops":
        is_told = words["read_command"] == "yes"
        assert is_told == (fault == "command_stuck")
        assert words["read_codes"] == ("none" if is_told else "open load")
        past = fault in ("switch_bridged", "load_wire_to_power")
        assert words["unplug_switch"] == ("runs on" if past else "stops")


def test_nothing_of_a_control_circuit_is_offered_or_broken():
    """No coil, no control fuse, no socket: neither to test nor to fail."""
    for load in LOADS.values():
        sound = smart(load)
        tests = catalogue.tests_for(sound, TESTS, is_stressed=False)
        assert not OF_RELAY & {test.id for test in tests}
        for test in tests:
            said = " ".join((test.title, test.how, test.before, *test.hazards))
            # By that name goes the module with the switch.
            assert "relay" not in said.replace("{relay}", "").lower()
            assert not {"relay", "relay_pins"} & {*test.needs}
    assert SMART.has_relay is False
    ids = {section.id for section in sections_along(SMART)}
    assert "switch" in ids
    assert not ids & {"coil", "contacts", "socket", "control_fuse", "module"}


@for_each_fault
def test_fault_lies_in_a_section_of_its_circuit(kind, fault):
    """Nobody looks for it where nothing is."""
    sound = smart(LOADS[kind])
    along = {section.id for section in sections_along(sound)}
    assert sections_of(FAULTS[fault], sound) <= along


@settings(max_examples=30)
@given(st.floats(0.5, 3.0), st.floats(0.5, 4.0))
def test_switch_shuts_off_above_its_limit_and_not_below(sense_frac, limit_frac):
    """What it measures decides, whatever truly flows."""
    circuit = replace(
        SMART, sense_frac=sense_frac, shut_off_a=limit_frac * SMART.load_rated_a
    )
    columns = columns_of([circuit, replace(circuit, shut_off_a=np.inf)])
    state = settle(columns, columns, [Setup()])
    through, free = state.current("contacts")[:, 0, 0].tolist()
    is_over = free * sense_frac > circuit.shut_off_a
    assert through == pytest.approx(0.0 if is_over else free, abs=1e-9)
    assert (state.coil_frac[0, 0, 0] > 1) == is_over


def test_shorted_switch_cannot_shut_off():
    """Whatever it measures, the path stays closed, with a command and without."""
    shorted = replace(SMART, is_welded=True, sense_frac=5.0)
    columns = columns_of([shorted])
    state = settle(columns, columns, [Setup(), Setup(command="off")])
    assert (state.current("load")[0, :, 0] > 10.0).all()


def test_motor_behind_a_switch_that_shut_off_stands():
    """No back-EMF is left in it, and next to no voltage at its pins."""
    latched = replace(smart(FAN), sense_frac=3.0)
    columns = columns_of([latched])
    state = settle(columns, columns, [Setup(probe="87-load"), Setup(probe="load")])
    assert state.emf("load")[0, 0, 0] == 0.0
    assert state.meter_voltage("load")[0, 1, 0] == pytest.approx(0.0, abs=1e-3)


def test_output_of_a_switch_that_is_off_stays_up_where_the_load_is_open():
    """SLVAG11: a pull-up finds it, which the load otherwise holds down (read)."""
    opened = broken_pair(SMART, "load_open")[0]
    columns = columns_of([SMART, opened])
    state = settle(
        columns, columns_of([SMART]), [Setup(command="off", probe="socket 87")]
    )
    sound_v, open_v = state.meter_voltage("socket 87")[:, 0, 0]
    assert sound_v == pytest.approx(0.0, abs=1e-3)
    # A meter of ten megohms takes a hundredth of it.
    assert open_v == pytest.approx(0.99 * SMART.supply_v, rel=2e-3)


def test_switch_goes_with_the_plug_of_its_module():
    """Even one that is shorted: nothing flows once it is unplugged."""
    shorted = replace(SMART, is_welded=True)
    columns = columns_of([shorted])
    state = settle(columns, columns, [Setup(command="off", module_unplugged=True)])
    assert state.current("load")[0, 0, 0] == pytest.approx(0.0, abs=1e-9)


def test_jumper_past_the_switch_feeds_the_load_without_it():
    """Neither an open switch nor one that measures wrongly is in its way."""
    for fault in ("switch_open", "sense_too_high", "enable_missing"):
        _, words = shown("solenoid valve", fault)
        assert words["load_current_past_switch"] == "expected"


def test_unplugged_load_tells_its_own_short_from_one_of_the_wire():
    """The code comes back for the wire alone."""
    again = {
        fault: shown("fan motor", fault)[1]["codes_unplugged"]
        for fault in ("load_wire_to_ground", "load_turns_shorted", "sense_too_high")
    }
    assert again == {
        "load_wire_to_ground": "overcurrent",
        "load_turns_shorted": "open load",
        "sense_too_high": "open load",
    }


@pytest.mark.parametrize(
    ("current_a", "gain", "display"),
    [
        (0.0, 1.0, "0.0 A"),
        (0.29, 0.0, "0.0 A"),
        (0.31, 0.0, "0.3 A"),
        (10, 1, "12.0 A"),
    ],
)
def test_scan_tool_shows_nothing_below_what_it_can_tell(current_a, gain, display):
    """Small currents are shown as none, large ones with the error of the ratio."""
    assert SENSE.display(current_a, Errors(gain=gain)) == display


def test_codes_have_words_of_their_own():
    """Each is read by both tests of codes."""
    for test in ("read_codes", "codes_unplugged"):
        assert TESTS[test].words == CODES


def test_neighbour_and_smart_switch_go_together():
    """An open ground point sends the current back through the neighbour, as ever."""
    sound = replace(smart(VALVE), neighbour_ohm=1.5)
    pair = broken_pair(sound, "shared_ground_open")
    assert symptoms([pair], sound) == ("works weakly",)


def test_batch_with_relays_gives_each_what_it_has_alone():
    """To the last digit, whatever has relays or has shut off beside it."""
    latched = replace(SMART, sense_frac=3.0)
    circuits = [FAN, SMART, HEATER, latched, smart(FAN), smart(VALVE), VALVE]
    columns, setups = columns_of(circuits), [Setup(), Setup(command="off")]
    whole = settle(columns, columns, setups)
    for number, circuit in enumerate(circuits):
        one = columns_of([circuit])
        alone = settle(one, one, setups)
        for branch in ("contacts", "load", "load_fuse", "coil"):
            assert (whole.current(branch)[number] == alone.current(branch)[0]).all()
        assert (whole.coil_frac[number] == alone.coil_frac[0]).all()
