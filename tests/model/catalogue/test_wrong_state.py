"""Tests done in a wrong state mislead as real ones do, by rules from outside."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings

from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import (
    WRONG_STATES,
    misread,
    wrong_states_for,
)
from generator.model.diagnostics import PROVES_NOTHING, outcomes, readings, scales
from generator.model.instruments import CLAMP_1, CLAMP_10, CLAMP_100, Errors
from generator.model.topology import network_of
from tests.circuits import (
    FAN,
    HEATER,
    LOADS,
    SHARED,
    STEPS,
    VALVE,
    broken_pair,
    current,
)
from tests.strategies import broken_circuits

BY_ID = {wrong.test.id: wrong for wrong in WRONG_STATES}
UNIT_SI = {"mV": 1e-3, "V": 1.0, "Ω": 1.0, "kΩ": 1e3}


def read(name, sound, fault=None, errors=None):
    """True value of a test done in a wrong state, and what the student sees."""
    [found] = read_all([name], sound, fault, errors)
    return found


def read_all(names, sound, fault=None, errors=None):
    """As ``read`` for some tests at once."""
    pair = broken_pair(sound, fault) if fault else (sound, sound)
    tests = [BY_ID[name].test for name in names]
    done = readings([pair], sound, tests)
    for number, test in enumerate(tests):
        value = float(done.value[0, number, 0])
        network = network_of(done.at(number), (0, 0, 0))
        yield value, misread(test, value, network, errors or Errors())


def amount(display):
    """The quantity that a display shows, in the base unit."""
    number, unit = display.split()
    return float(number) * UNIT_SI[unit]


@pytest.mark.parametrize("wrong", WRONG_STATES, ids=BY_ID)
def test_wrong_state_passes_for_a_proper_test(wrong):
    """It has an id, a title and minutes of its own; its reading takes no longer."""
    proper = TESTS[wrong.like]
    assert wrong.test.id not in TESTS
    assert wrong.test.title != proper.title
    assert wrong.test.sorting == proper.sorting
    assert 0 < wrong.test.minutes <= proper.minutes
    assert wrong.test.needs
    assert not proper.mistake


@pytest.mark.parametrize("wrong", WRONG_STATES, ids=BY_ID)
def test_output_that_is_driven_needs_the_scan_tool(wrong):
    """As a proper test does; with nothing asked for it stays in its drawer."""
    is_driven = wrong.test.setup.command == "output test"
    assert ("scan_tool" in wrong.test.needs) is is_driven
    assert ("output test runs" in wrong.test.before) is is_driven


@pytest.mark.parametrize("wrong", WRONG_STATES, ids=BY_ID)
def test_texts_before_the_choice_do_not_tell(wrong):
    """What is done is said in plain words; only the mistake says what they mean."""
    test = wrong.test
    shown = f"{test.title} {test.how} {test.before}".lower()
    assert not [
        word for word in ("wrong", "not ", "nothing is proved") if word in shown
    ]
    assert test.how.endswith(".")
    assert test.before.endswith(".")
    assert len(test.mistake) > 60


def test_hazards_are_those_of_the_proper_test_or_more():
    """Whoever does it in a wrong state is warned no less."""
    for wrong in WRONG_STATES:
        needed = {h for h in TESTS[wrong.like].hazards if "fused lead" not in h}
        assert needed <= set(wrong.test.hazards)


@pytest.mark.parametrize(
    ("name", "part_ohm"),
    [("coil_resistance_in_socket", 75.6), ("load_resistance_plugged_in", 0.86)],
)
def test_ohmmeter_on_a_live_part_reads_open(name, part_ohm):
    """Volts over microamperes lie beyond every range: a sound part looks open.

    Any voltage present makes the reading wrong (section 6.3 of a meter's manual at
    manualslib.mx/manual/61933).
    """
    volts, shown = read(name, HEATER)
    assert volts > 10
    assert volts / 1e-5 + part_ohm > 60e3
    assert shown == "OL"


def test_ohmmeter_on_a_circuit_that_happens_to_be_dead_reads_what_is_joined():
    """With the load fuse gone the shorted wire stands beside the load, and hides it.

    Parallel paths, as any textbook has them: less than the smaller of both.
    """
    _, shown = read("load_resistance_plugged_in", HEATER, "load_wire_to_ground")
    assert amount(shown) < 0.1
    _, alone = read("load_resistance_plugged_in", HEATER, "load_fuse_open")
    assert amount(alone) == pytest.approx(0.86, abs=0.001)


@settings(max_examples=25)
@given(broken_circuits())
def test_clamp_around_both_wires_reads_nothing(case):
    """What goes in comes back, whatever is broken (Kirchhoff's current law)."""
    sound, circuit = case
    test = BY_ID["load_current_at_plug"].test
    done = readings([(circuit, circuit)], sound, [test])
    network = network_of(done.settled, (0, 0, 0))
    shown = misread(test, float(done.value[0, 0, 0]), network, Errors())
    assert amount(shown) == pytest.approx(0.0, abs=1.1e-5)


@pytest.mark.parametrize("sound", [HEATER, FAN, VALVE])
def test_true_current_of_a_clamp_is_that_of_the_wire(sound):
    """The key states what flows, not what the clamp makes of it."""
    for name, branch in (
        ("load_current_at_plug", "load"),
        ("load_current_held_against", "load_wire"),
        ("load_current_from_case", "load_wire"),
    ):
        assert read(name, sound)[0] == pytest.approx(current(sound, branch))


def test_open_jaw_reads_far_too_little():
    """A gap in the core keeps most of the flux out (common practice, no source)."""
    amps, shown = read("load_current_held_against", HEATER)
    seen = amount(shown) / CLAMP_10.scale_v_per_a
    assert 0.1 * amps < seen < 0.6 * amps


@pytest.mark.parametrize(
    ("name", "clamp"),
    [
        ("load_current_from_case", CLAMP_10),
        ("control_current_from_case", CLAMP_100),
    ],
)
def test_clamp_from_its_case_adds_what_it_showed_without_current(name, clamp):
    """The text names the reading without current, and every reading holds it."""
    test = BY_ID[name].test
    before = test.measure.clamp.display(0.0, Errors())
    assert before in test.how
    amps, shown = read(name, HEATER)
    off_v = amount(shown) - amps * clamp.scale_v_per_a
    assert off_v == pytest.approx(amount(before), abs=1e-4)


def test_coarse_scale_cannot_tell_control_currents_apart():
    """None and the driver's limit may both show as the sound current does.

    A digit is 10 mA there, and zero offset with noise are more than the current.
    """
    off_a = CLAMP_1.zero_a + CLAMP_1.noise_a
    sound_a = current(HEATER, "control_feed")
    assert off_a > sound_a
    assert sound_a + off_a > HEATER.driver_limit_a - off_a
    _, shown = read("control_current_1_mv", HEATER)
    assert amount(shown) == pytest.approx(sound_a * 1e-3, abs=5e-6)


@pytest.mark.parametrize("name", ["drop_87_load_off", "drop_load_ground_off"])
@pytest.mark.parametrize(
    "fault", [None, "load_wire_resistance", "load_ground_resistance"]
)
def test_drop_with_the_load_off_is_nothing(name, fault):
    """No current, no drop: sound and corroded paths read alike (Ohm's law)."""
    volts, shown = read(name, HEATER, fault)
    assert volts == pytest.approx(0.0, abs=1e-5)
    assert amount(shown) == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize("fault", [None, "contacts_open", "contacts_resistance"])
def test_open_contacts_have_the_supply_across_them(fault):
    """Sound or not, a relay at rest shows the whole supply from 30 to 87."""
    volts, _ = read("drop_30_87_off", HEATER, fault)
    assert volts == pytest.approx(HEATER.supply_v, rel=0.001)


def test_outcome_is_the_same_word_on_every_circuit():
    """So that no plan ever takes such a test: its column tells nothing."""
    tests = [wrong.test for wrong in wrong_states_for(FAN, TESTS, "does nothing")]
    on = scales(FAN, [TESTS[w.like] for w in WRONG_STATES], STEPS)
    faults = [f for f in FAULTS.values() if f.applies(FAN) and "fan motor" in f.kinds]
    pairs = [(FAN, FAN), *(broken_pair(FAN, fault.id) for fault in faults)]
    value = readings(pairs, FAN, tests).value[..., 0]
    rows = outcomes(value, on, [calm for calm, _ in pairs], tests)
    assert {word for row in rows for word in row} == {PROVES_NOTHING}
    assert not any(math.isnan(number) for number in value.ravel())


def test_wrong_states_follow_the_circuit_and_its_complaint():
    """A shared fuse has another place, stress another title, welded contacts no off."""
    names = {w.test.id for w in wrong_states_for(HEATER, TESTS, "does nothing")}
    assert names == set(BY_ID)
    never = {w.test.id for w in wrong_states_for(HEATER, TESTS, "never stops")}
    assert names - never == {n for n in BY_ID if n.startswith("drop_")}
    shared = {
        w.test.id: w.test for w in wrong_states_for(SHARED, TESTS, "does nothing")
    }
    assert shared["control_current_1_mv"].measure.target == "control_tap"
    moved = wrong_states_for(HEATER, TESTS, "comes and goes")
    assert sum("wiggled" in wrong.test.title for wrong in moved) == len(BY_ID) - 2


def test_wrong_state_is_offered_only_beside_its_proper_test():
    """A lesson without the test has no wrong way to do it."""
    found = wrong_states_for(HEATER, ["coil_resistance"], "does nothing")
    assert [wrong.test.id for wrong in found] == ["coil_resistance_in_socket"]


@pytest.mark.parametrize("sound", LOADS.values(), ids=LOADS)
def test_every_display_is_one_of_a_meter(sound):
    """A number with its unit, or OL, also where the circuit is open."""
    for fault in (None, "load_open", "load_wire_open", "coil_open"):
        done = read_all(BY_ID, sound, fault)
        for name, (_, shown) in zip(BY_ID, done, strict=True):
            assert shown == "OL" or math.isfinite(amount(shown)), (name, fault)


def test_live_reading_between_two_ranges_is_a_number_without_meaning():
    """A tenth of a volt left on a dead coil adds a hundred ohms."""
    leak = replace(HEATER, load_to_power_ohm=math.inf)
    test = BY_ID["coil_resistance_in_socket"].test
    done = readings([(leak, leak)], leak, [replace(test, setup=idle(test))])
    network = network_of(done.settled, (0, 0, 0))
    assert misread(test, 0.1, network, Errors()) == "175.6 Ω"


def idle(test):
    """The setup of a test with nothing asked for."""
    return replace(test.setup, command="off")
