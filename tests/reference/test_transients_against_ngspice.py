"""A hundred random transients, computed by us and by ngspice: peak and time constant.

ngspice integrates in steps, with an exponential diode and a switch that takes time.
Where we have a broken line for the diode and an instant, the two may differ by 2 %.
"""

import math
import re
import subprocess
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import pytest

from answer_keys.keys.whole_record import CoilRecord
from generator.exports.spice_transients import (
    motor_start_netlist_text,
    turn_off_netlist_text,
)
from generator.exports.transients_of import coil_circuit_of
from generator.model.catalogue.tests import tests_for as offered_for
from generator.model.diagnostics import readings
from generator.model.inrush import Motor, Source, motor_start, winding_rise
from generator.model.topology import network_of
from generator.model.trace import Trace
from generator.model.transients import CoilCircuit, Suppression, Winding, coil_turn_off
from generator.model.turn_off import coil_of
from tests.circuits import HEATER, HIGH, SHARED, WITH_DIODE, broken
from tests.reference.ngspice import ngspice_or_skip

OF_EACH_KIND = 15
FRACTION_APART = 0.02


@dataclass(frozen=True)
class Case:
    """One transient: our trace, which peak counts, and the netlist."""

    trace: Trace
    peak: str
    netlist: str


def new_coil_case(rng, suppression, **clamp):
    """A relay coil with values of its own."""
    winding = Winding(
        resistance_ohm=rng.uniform(50, 120),
        inductance_h=rng.uniform(0.1, 0.8),
        loss_ohm=rng.uniform(1e3, 4e3),
        stray_f=rng.uniform(100e-12, 1e-9),
    )
    circuit = CoilCircuit(
        supply_v=rng.uniform(11, 15),
        winding=winding,
        suppression=suppression,
        feed_ohm=rng.uniform(0.02, 5),
        return_ohm=rng.uniform(0.3, 3),
        **clamp,
    )
    return Case(coil_turn_off(circuit), "peak_v", turn_off_netlist_text(circuit))


def new_resistor_case(rng):
    """Suppressed by a resistor."""
    return new_coil_case(rng, Suppression(resistor_ohm=rng.uniform(150, 1000)))


def new_diode_case(rng):
    """Suppressed by a diode, some with a resistor in series."""
    series = float(rng.choice([0.2, 1.0, 47.0, 150.0]))
    return new_coil_case(rng, Suppression(diode_ohm=series, diode_v=0.7))


def new_bare_case(rng):
    """Not suppressed, and the switch does not clamp."""
    return new_coil_case(rng, Suppression())


def new_clamped_case(rng):
    """Not suppressed, but the driver clamps."""
    clamp = {"clamp_v": rng.uniform(35, 65), "clamp_ohm": rng.uniform(0.5, 10)}
    return new_coil_case(rng, Suppression(), **clamp)


def new_ringing_case(rng):
    """Without core loss: the coil rings with its capacitance."""
    winding = Winding(resistance_ohm=90.0, inductance_h=0.3, loss_ohm=math.inf)
    circuit = CoilCircuit(supply_v=rng.uniform(11, 15), winding=winding)
    return Case(coil_turn_off(circuit), "peak_v", turn_off_netlist_text(circuit))


def new_rise_case(rng):
    """A solenoid on a source; its netlist is written here."""
    volts, ohms, more_ohms, henry = (
        float(rng.uniform(*span))
        for span in ((11, 15), (2, 20), (0.02, 1), (5e-3, 0.2))
    )
    source = Source(emf_v=volts, resistance_ohm=more_ohms)
    end_s = 10 * henry / (ohms + more_ohms)
    lines = [
        "* rise",
        f"V_supply s 0 DC {volts!r}",
        f"R_source s a {more_ohms!r}",
        f"R_coil a b {ohms!r}",
        f"L_coil b 0 {henry!r} IC=0",
        ".control",
        f"tran {end_s / 1000!r} {end_s!r} 0 {end_s / 1000!r} uic",
        "meas tran peak_a MAX i(L_coil)",
        f"let level = peak_a*{-math.expm1(-1)!r}",
        "meas tran time_constant_s WHEN i(L_coil)=level RISE=1",
        "quit 0",
        ".endc",
        ".end",
        "",
    ]
    return Case(winding_rise(source, ohms, henry, end_s), "peak_a", "\n".join(lines))


def new_motor_case(rng):
    """A fan, or a motor under nearly constant torque, from standstill."""
    volts, ohms, constant = rng.uniform(11, 15), rng.uniform(0.1, 0.8), 0.045
    stall_nm = constant * volts / (ohms + 0.05)
    fan_frac, friction_frac = rng.choice(
        [(0.15, 0.01), (0.08, 0.05), (1e-4, 0.2), (0.1, 0.0)]
    )
    motor = Motor(
        armature_ohm=ohms,
        inductance_h=rng.uniform(5e-5, 4e-4),
        constant_vs=constant,
        inertia_kgm2=rng.uniform(0.5e-3, 4e-3),
        fan_nms2=fan_frac * stall_nm / (volts / constant) ** 2,
        friction_nm=friction_frac * stall_nm,
    )
    source = Source(emf_v=volts, resistance_ohm=0.05)
    text = motor_start_netlist_text(source, motor)
    return Case(motor_start(source, motor), "peak_a", text)


KINDS = {
    "resistor": new_resistor_case,
    "diode": new_diode_case,
    "bare": new_bare_case,
    "clamped": new_clamped_case,
    "ringing": new_ringing_case,
    "rise": new_rise_case,
    "motor": new_motor_case,
}


def run(deck):
    """Numbers that ngspice prints for a netlist, by name."""
    done = subprocess.run(
        [ngspice_or_skip(), "-n", "-b", str(deck)],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    found = re.findall(r"^(\w+)\s+=\s+(\S+)", done.stdout, re.MULTILINE)
    return {name: float(number) for name, number in found}


@pytest.mark.parametrize("kind", KINDS)
def test_peak_and_time_constant_agree_with_ngspice(kind, tmp_path):
    """Both within 2 %, for fifteen circuits of each kind."""
    rng = np.random.default_rng([20261125, list(KINDS).index(kind)])
    cases = [KINDS[kind](rng) for _ in range(OF_EACH_KIND)]
    decks = [tmp_path / f"{number}.cir" for number in range(OF_EACH_KIND)]
    for deck, case in zip(decks, cases, strict=True):
        deck.write_text(case.netlist)
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(run, decks))
    ours = [(getattr(c.trace, c.peak), c.trace.time_constant_s) for c in cases]
    theirs = [
        (answer[case.peak], answer["time_constant_s"])
        for answer, case in zip(answers, cases, strict=True)
    ]
    assert np.array(ours) == pytest.approx(np.array(theirs), rel=FRACTION_APART)


VARIANTS = {
    "resistor": HEATER,
    "diode": WITH_DIODE,
    "diode open": broken(WITH_DIODE, "suppression_open"),
    "diode reversed": broken(HEATER, "diode_reversed"),
    "no suppression": broken(HEATER, "suppression_missing"),
    "stronger relay": broken(HEATER, "stronger_relay"),
    "module ground lifted": broken(HEATER, "module_ground_resistance"),
    "feed resists": broken(HEATER, "control_feed_resistance"),
    "high side": HIGH,
    "high side, no suppression": broken(HIGH, "suppression_missing"),
    "shared fuse": SHARED,
}


@pytest.mark.parametrize("circuit", VARIANTS.values(), ids=VARIANTS)
def test_scope_reading_agrees_with_ngspice(circuit, tmp_path):
    """What the scope's test reads of a whole circuit: within 2 %."""
    [test] = offered_for(circuit, ["scope_turn_off"], is_stressed=False)
    read = readings([(circuit, circuit)], circuit, [test])
    network = network_of(read.settled, (0, 0, 0), test.measure.target)
    coil = coil_of(circuit)
    shown = CoilRecord(
        inductance_h=coil.winding.inductance_h,
        stray_f=coil.winding.stray_f,
        loss_ohm=coil.winding.loss_ohm,
        diode_v=0.7,
        diode_ohm=coil.suppression.diode_ohm if circuit.has_diode else None,
        is_diode_reversed=circuit.is_diode_reversed,
    )
    deck = tmp_path / "deck.cir"
    deck.write_text(turn_off_netlist_text(coil_circuit_of(network, shown)))
    assert read.value[0, 0, 0] == pytest.approx(run(deck)["reading"], rel=0.02)


def test_there_are_a_hundred_cases():
    """Seven kinds, fifteen of each."""
    assert len(KINDS) * OF_EACH_KIND >= 100
