"""What breaks off in a recording while one section is moved, or the relay warmed."""

from dataclasses import replace

import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import RelayCircuit
from generator.model.diagnostics import outcomes, readings, scales
from generator.workbooks.bench_records import set_up_of_test
from generator.workbooks.signs import signs_of
from tests.circuits import FAN, HEATER, HIGH, LOADS, SHARED, STEPS, VALVE, broken_pair

RECORDED = tuple(name for name in TESTS if name.startswith("recorded_"))
AT_TIMES = [name for name in FAULTS if name.endswith("_at_times")]
# By where each wire and part lies; what lies in no such section breaks off in none.
CALLED_UP_BY = {
    "control_feed_open_at_times": "recorded_fuses_to_relay",
    "load_feed_open_at_times": "recorded_fuses_to_relay",
    "control_return_open_at_times": "recorded_module_to_relay",
    "load_wire_open_at_times": "recorded_relay_to_load",
    "load_connector_open_at_times": "recorded_relay_to_load",
    "load_ground_open_at_times": "recorded_ground",
    "coil_open_at_times": "recorded_relay_warmed",
    "contacts_open_at_times": "recorded_relay_warmed",
}
BUILDS = {
    "two fuses": HEATER,
    "shared fuse": SHARED,
    # The coil's current alone is then hardly less than the load's.
    "shared fuse, small load": replace(VALVE, is_fuse_shared=True),
    "fan": FAN,
}


def read(sound: RelayCircuit, fault: str, names=RECORDED) -> dict[str, tuple]:
    """Value and word of some tests under a fault, as done on a circuit."""
    pair = broken_pair(sound, fault)
    tests = catalogue.tests_for(sound, names, is_stressed=FAULTS[fault].is_intermittent)
    value = readings([pair], sound, tests).value[..., 0]
    words = outcomes(value, scales(sound, tests, STEPS), [pair[0]], tests)[0]
    told = zip(tests, value[0].tolist(), words, strict=True)
    return {test.id: (amps, word) for test, amps, word in told}


@pytest.mark.parametrize("fault", AT_TIMES)
@pytest.mark.parametrize("sound", BUILDS.values(), ids=BUILDS)
def test_current_breaks_off_where_its_own_section_is_moved_or_warmed(sound, fault):
    """In that recording alone: in all the others it holds as in a sound circuit."""
    if not FAULTS[fault].applies(sound):
        return
    shown = {name: word for name, (_, word) in read(sound, fault).items()}
    broken_off = {CALLED_UP_BY.get(fault)} & {*shown}
    assert shown == dict.fromkeys(RECORDED, "expected") | dict.fromkeys(
        broken_off, "none"
    )


@pytest.mark.parametrize("fault", AT_TIMES)
def test_high_side_feed_of_the_coil_is_not_moved_with_the_fuses(fault):
    """It comes from the module; what leads back from the coil is moved with neither."""
    shown = {name for name, (_, word) in read(HIGH, fault).items() if word == "none"}
    at_high_side = {
        "control_feed_open_at_times": "recorded_module_to_relay",
        "control_return_open_at_times": None,
    }
    moved = {**CALLED_UP_BY, **at_high_side}.get(fault)
    assert shown == {moved} - {None}


@pytest.mark.parametrize("fault", AT_TIMES)
def test_warm_and_moved_are_apart(fault):
    """What heat opens holds while it is moved, what moving opens while it is warm."""
    is_warm = FAULTS[fault].manner == "warm"
    for name, (_, word) in read(HEATER, fault).items():
        if (name == "recorded_relay_warmed") is not is_warm:
            assert word == "expected", name


@pytest.mark.parametrize("sound", LOADS.values(), ids=LOADS)
def test_fault_that_is_always_there_reads_steadily(sound):
    """Whatever is moved, the lowest current is the one that flows at rest."""
    kind = next(name for name, circuit in LOADS.items() if circuit is sound)
    for fault in FAULTS.values():
        if kind in fault.kinds and fault.applies(sound) and not fault.is_intermittent:
            shown = read(sound, fault.id, ("load_current", *RECORDED))
            at_rest = shown.pop("load_current")
            assert shown == dict.fromkeys(RECORDED, at_rest), fault.id


def test_recording_tells_a_section_where_the_whole_harness_tells_none():
    """With all of it moved and warm at once, two breaks in series read alike."""
    two = ("load_ground_open_at_times", "contacts_open_at_times")
    whole = [read(HEATER, fault, ["load_current"]) for fault in two]
    assert whole[0] == whole[1]
    one, other = [read(HEATER, fault) for fault in two]
    assert one["recorded_ground"] != other["recorded_ground"]
    assert one["recorded_relay_warmed"] != other["recorded_relay_warmed"]


@pytest.mark.parametrize("name", RECORDED)
def test_recording_is_chosen_from_the_list_alone(name):
    """A set-up moves the whole harness: none of its codes stands for a recording."""
    for sound in (HEATER, HIGH, SHARED):
        [test] = catalogue.tests_for(sound, [name], is_stressed=True)
        assert set_up_of_test(test) is None
        [whole] = catalogue.tests_for(sound, ["load_current"], is_stressed=True)
        assert set_up_of_test(whole).harness == "moved"


def test_diagram_shows_what_alone_is_moved_or_warmed():
    """Each wire with a hand at it, the relay with its warmth."""
    shown = {
        name: {
            (sign.kind, sign.at)
            for sign in signs_of(TESTS[name], is_shared=False)
            if sign.kind in ("hand", "warmed")
        }
        for name in RECORDED
    }
    assert shown == {
        "recorded_fuses_to_relay": {("hand", "control_feed"), ("hand", "load_feed")},
        "recorded_module_to_relay": {("hand", "control_return")},
        "recorded_relay_to_load": {("hand", "load_wire"), ("hand", "load_connector")},
        "recorded_ground": {("hand", "load_ground")},
        "recorded_relay_warmed": {("warmed", "coil"), ("warmed", "contacts")},
    }
