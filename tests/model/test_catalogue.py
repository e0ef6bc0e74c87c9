"""The tests on offer fit the circuit, and each is complete."""

import pytest

from generator.model import catalogue
from generator.model.catalogue import TESTS
from generator.model.measure import Setup
from tests.circuits import FIVE, HEATER, HIGH, SHARED, SWITCHED, VALVE

CATALOGUE = tuple(TESTS.values())


@pytest.mark.parametrize("test", CATALOGUE, ids=TESTS)
def test_catalogue_entry_is_complete(test):
    """Minutes, a known probe, an instrument, and hazards wherever something moves."""
    assert TESTS[test.id] is test
    assert "_" in test.id
    assert test.minutes > 0
    assert test.title
    assert test.how.endswith(".")
    if test.measure.kind == "voltage":
        assert test.setup.probe == test.measure.target
    if test.setup.jumper or test.setup.load_lead or test.setup.control_lead:
        assert test.hazards
    if test.measure.kind == "state":
        assert len(test.words) > 1


def test_test_is_offered_only_where_its_place_is():
    """Nobody is sent to a terminal or fuse that the circuit does not have."""
    own = {
        "voltage_high_driver": HIGH,
        "voltage_fuse_box": SWITCHED,
        "voltage_87a_off": FIVE,
        "move_by_hand": VALVE,
    }
    plain = {t.id for t in catalogue.tests_for(HEATER, TESTS, is_stressed=False)}
    for name, circuit in own.items():
        there = catalogue.tests_for(circuit, TESTS, is_stressed=False)
        assert name not in plain
        assert name in {test.id for test in there}
    shared = {t.id for t in catalogue.tests_for(SHARED, TESTS, is_stressed=False)}
    assert plain - shared == {"look_control_fuse"}


def test_only_the_names_given_are_offered():
    """A lesson decides what can be chosen; the order is that of the catalogue."""
    names = {"load_current", "look_load_fuse"}
    chosen = catalogue.tests_for(HEATER, names, is_stressed=False)
    assert [test.id for test in chosen] == ["look_load_fuse", "load_current"]


@pytest.mark.parametrize("test", CATALOGUE, ids=TESTS)
def test_stress_is_put_on_electrical_tests_alone(test):
    """Harness wiggled and warm takes time, and tells nothing to the eye."""
    sound = next(c for c in (HEATER, HIGH, SWITCHED, FIVE, VALVE) if test.applies(c))
    [moved] = catalogue.tests_for(sound, [test.id], is_stressed=True)
    is_electrical = test.measure.kind in ("current", "voltage", "work")
    assert moved.setup.is_stressed is is_electrical
    assert (moved.minutes > test.minutes) is is_electrical
    assert moved.title.endswith("wiggled and warm") is is_electrical


def test_shared_fuse_is_measured_where_the_coil_has_its_own_wire():
    """The clamp goes around the wire to the coil, for the fuse carries both."""
    [test] = catalogue.tests_for(SHARED, ["control_current"], is_stressed=False)
    assert test.measure.target == "control_tap"
    assert test.setup == Setup(command="normal")
    assert "fused lead" not in test.how + "".join(test.hazards)
    [load] = catalogue.tests_for(SHARED, ["load_current"], is_stressed=False)
    assert load.title.startswith("Both currents")
