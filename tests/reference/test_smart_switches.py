"""Circuits with a smart switch: solved by ngspice, and held to what is published.

Every fault, in every electrical test of such a circuit, agrees with ngspice within
0.1 % or one microampere, one microvolt; nightly with every load that can have it.

References
----------
Data sheet BTS 6143 D: proportional load current sense, short-circuit protection that
latches, 10 mΩ (read). Application report SLVAG11: an open load and a short to the
supply look alike while the switch is off (read). Ratios of sense current good to some
10 to 25 % are those of data sheets in general terms (from memory).
"""

import math
import re
import subprocess
from itertools import product

import numpy as np
import pytest

from generator.model.catalogue import tests as catalogue
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.circuit import columns_of
from generator.model.diagnostics import outcomes, readings, scales
from generator.model.instruments import SENSE, Errors
from generator.model.sensing import Pulses
from generator.model.settling import settle
from generator.model.topology import ENDS, PROBES, network_of
from tests.circuits import LOADS, STEPS, broken_pair, smart
from tests.model.smart import CODE_OF, faults_of_smart
from tests.reference import ngspice


def electrical(circuit):
    """Tests of a circuit that a network can be solved for."""
    every = catalogue.tests_for(circuit, TESTS, is_stressed=False)
    return [test for test in every if test.measure.kind in ("current", "voltage")]


def is_turn_of(kind, fault):
    """Whether a load has its turn for a fault: the loads that can have it in turn."""
    kinds = [one for one in LOADS if fault in faults_of_smart(one)]
    return kind == kinds[list(FAULTS).index(fault) % len(kinds)]


def cases(*, is_every):
    """Faults of loads in every electrical test: value and network."""
    for kind, load in LOADS.items():
        sound = smart(load)
        tests = electrical(sound)
        for fault in faults_of_smart(kind):
            if not is_every and not is_turn_of(kind, fault):
                continue
            calm, moved = broken_pair(sound, fault)
            state = settle(
                columns_of([calm]),
                columns_of([sound]),
                [test.setup for test in tests],
                columns_of([moved]),
            )
            for number, test in enumerate(tests):
                target, is_current = test.measure.target, test.measure.kind == "current"
                read = state.current if is_current else state.meter_voltage
                kept = (ENDS if is_current else PROBES)[target][1]
                network = network_of(state, (0, number, 0), kept)
                yield test, float(read(target)[0, number, 0]), network


@pytest.mark.parametrize(
    "is_every",
    [
        pytest.param(False, id="loads in turn"),
        pytest.param(True, id="every load", marks=pytest.mark.nightly),
    ],
)
def test_every_network_agrees_with_ngspice(is_every):
    """Within 0.1 %, latched switches and open ones with the rest."""
    found = list(cases(is_every=is_every))
    answers = ngspice.solve_with_ngspice([network for *_, network in found])
    assert {test.id for test, *_ in found} >= {
        *("read_sensed_current", "load_current_past_switch", "drop_switch"),
    }
    for (test, value, _), (volts, amps) in zip(found, answers, strict=True):
        target = test.measure.target
        if test.measure.kind == "current":
            other = amps.get(target, 0.0)
        else:
            plus, minus = PROBES[target]
            other = volts.get(plus, 0.0) - volts.get(minus, 0.0)
        other = 0.0 if math.isnan(other) else other
        assert value == pytest.approx(other, rel=1e-3, abs=1e-6), test.id


@pytest.mark.parametrize("kind", LOADS)
def test_sense_is_as_coarse_as_data_sheets_say(kind):
    """What the scan tool shows is within 10 to 25 % of the clamp (from memory)."""
    sound = smart(LOADS[kind])
    columns = columns_of([sound])
    true_a = settle(columns, columns, [TESTS["load_current"].setup])
    amps = float(true_a.current("load_fuse")[0, 0, 0])
    shown = [
        float(SENSE.display(amps, Errors(gain=gain)).removesuffix(" A"))
        for gain in (-1.0, 1.0)
    ]
    low, high = (each / amps - 1 for each in shown)
    assert -0.26 < low < -0.10
    assert 0.10 < high < 0.26


def test_open_load_and_short_to_supply_have_one_code():
    """SLVAG11: while the switch is off, nothing pulls its output down in either."""
    assert CODE_OF["load_open"] == CODE_OF["load_wire_to_power"] == "open load"


@pytest.mark.parametrize(
    ("kind", "fault"),
    [
        (kind, fault)
        for kind, fault in product(LOADS, CODE_OF)
        if CODE_OF[fault] == "overcurrent" and fault in faults_of_smart(kind)
    ],
)
def test_overload_latches_and_leaves_the_fuse_whole(kind, fault):
    """BTS 6143 D: it shuts off and stays off, and no fuse opens.

    What flows then is the small current by which it finds an open load (SLVAG11).
    """
    sound = smart(LOADS[kind])
    calm, _ = broken_pair(sound, fault)
    columns = columns_of([calm])
    state = settle(columns, columns_of([sound]), [TESTS["load_current"].setup])
    assert state.current("load_fuse")[0, 0, 0] == pytest.approx(0.0, abs=5e-4)
    assert np.isfinite(calm.load_fuse_ohm)
    assert FAULTS[fault].repair.count("+") == 0


# What the rules below say is common practice, no source.
SHUT_OFF = {"load_wire_to_ground", "load_turns_shorted", "sense_too_high"}
OPEN_BEHIND = {
    *("load_wire_open", "load_connector_open", "load_open", "load_ground_open"),
}
FED_FROM_ELSEWHERE = {"load_wire_to_power", "switch_bridged"}
STUCK_ON = {"switch_shorted"}


def showing(kind, test, *words):
    """Faults, there all the time, under which a test shows one of some words."""
    sound = smart(LOADS[kind])
    names = [n for n in faults_of_smart(kind) if not FAULTS[n].is_intermittent]
    tests = catalogue.tests_for(sound, [test], is_stressed=False)
    pairs = [broken_pair(sound, name) for name in names]
    value = readings(pairs, sound, tests).value[..., 0]
    rows = outcomes(value, scales(sound, tests, STEPS), [c for c, _ in pairs], tests)
    read = {
        name: row[0].partition(",")[0] for name, row in zip(names, rows, strict=True)
    }
    return {name for name, word in read.items() if word in words}


@pytest.mark.parametrize("kind", ["heater", "fan motor", "solenoid valve"])
def test_overcurrent_is_a_short_a_stuck_motor_or_a_wrong_measurement(kind):
    """Common practice, no source: in that order a technician looks for it."""
    stuck = {"mechanism_seized"} if kind == "fan motor" else set()
    assert showing(kind, "read_codes", "overcurrent") == SHUT_OFF | stuck


@pytest.mark.parametrize("kind", ["heater", "fan motor", "solenoid valve"])
def test_open_load_is_open_behind_the_switch_or_fed_from_elsewhere(kind):
    """Common practice, no source; a switch stuck on is taken for fed, too."""
    named = showing(kind, "read_codes", "open load")
    assert named == OPEN_BEHIND | FED_FROM_ELSEWHERE | STUCK_ON


@pytest.mark.parametrize("kind", ["heater", "fan motor", "solenoid valve"])
def test_jumper_past_the_switch_restores_what_lies_in_the_switch(kind):
    """Common practice, no source: what it cures is the switch, or its measurement."""
    wrong = showing(kind, "load_current", "none", "low", "high", "over limit")
    restored = wrong & showing(kind, "load_current_past_switch", "expected")
    assert restored == {"switch_open", "sense_too_high"}


@pytest.mark.parametrize("kind", ["heater", "fan motor", "solenoid valve"])
def test_what_runs_on_unplugged_is_fed_past_the_switch(kind):
    """Common practice, no source: first the command, then the plug."""
    assert showing(kind, "read_command", "yes") == {"command_stuck"}
    assert showing(kind, "unplug_switch", "runs on") == FED_FROM_ELSEWHERE


@pytest.mark.parametrize("kind", ["heater", "fan motor", "solenoid valve"])
def test_code_that_comes_back_without_the_load_is_the_wire(kind):
    """Common practice, no source: unplug the load, clear the code, drive it again."""
    assert showing(kind, "codes_unplugged", "overcurrent") == {"load_wire_to_ground"}


@pytest.mark.parametrize("kind", ["heater", "fan motor", "solenoid valve"])
def test_clamp_finds_what_the_switch_cannot_tell(kind):
    """Common practice, no source: low currents look right to the coarse sense."""
    low = showing(kind, "load_current", "low", "high")
    assert low
    beside = low - {"load_wire_to_power"}
    assert beside <= showing(kind, "read_sensed_current", "present")
    assert beside <= showing(kind, "read_codes", "none")


@pytest.mark.parametrize("share_frac", [0.05, 0.3, 0.57, 0.9])
def test_means_and_heat_of_pulses_agree_with_ngspice(share_frac, tmp_path):
    """A source that pulses a resistor a hundred times a second: within 0.1 %."""
    pulses = Pulses(share_frac=share_frac, on_a=8.0, supply_v=14.0)
    deck = tmp_path / "pulses.cir"
    deck.write_text(
        f"""pulses
v1 out 0 pulse(0 {pulses.supply_v} 0 1u 1u {share_frac * 0.01 - 1e-6!r} 10m)
r1 out 0 {pulses.supply_v / pulses.on_a!r}
.control
tran 10u 50m 0 10u
meas tran mean_v AVG v(out) from=10m to=50m
meas tran mean_a AVG i(v1) from=10m to=50m
meas tran heating_a RMS i(v1) from=10m to=50m
quit 0
.endc
.end
"""
    )
    done = subprocess.run(
        [ngspice.ngspice_or_skip(), "-n", "-b", str(deck)],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    found = dict(re.findall(r"^(\w+)\s+=\s+(\S+)", done.stdout, re.MULTILINE))
    assert float(found["mean_v"]) == pytest.approx(pulses.mean_v, rel=1e-3)
    assert -float(found["mean_a"]) == pytest.approx(pulses.mean_a, rel=1e-3)
    assert float(found["heating_a"]) == pytest.approx(pulses.heating_a, rel=1e-3)
