"""Nonlinear loads: ngspice finds the operating points of our formulas by itself.

A motor is a behavioural source of the back-EMF k·ω, and another one that finds the
speed at which torque k·i equals fan c·ω² and friction T. A filament is a behavioural
resistance by the law of its voltage, a winding one by the law of its power. Both
programs must agree within 0.1 %.
"""

import os
import subprocess

import numpy as np
import pytest

from generator.model.measure import Setup
from generator.model.parts import running_emf, working_resistance
from generator.model.topology import TOPOLOGY
from tests.circuits import FAN, LOADS, PUMP, broken, settled
from tests.reference.ngspice import ngspice_or_skip, values_from_raw_file

MOTOR_FAULTS = (
    "mechanism_binding",
    "mechanism_free",
    "load_turns_shorted",
    "contacts_resistance",
    "load_ground_resistance",
)
MOTORS = {"fan": FAN, "pump": PUMP} | {
    f"{name} {fault}": broken(motor, fault)
    for name, motor in (("fan", FAN), ("pump", PUMP))
    for fault in MOTOR_FAULTS
}
WARM_KINDS = (
    *("heater", "pulsed heater", "lamp bank"),
    *("solenoid valve", "magnetic clutch"),
)
WARM = {kind: LOADS[kind] for kind in WARM_KINDS} | {
    f"{kind} {fault}": broken(LOADS[kind], fault)
    for kind in WARM_KINDS
    for fault in ("contacts_resistance", "load_wire_to_power")
}


def motor_lines(name, plus, minus, motor):
    """A motor between two nodes: armature, back-EMF, and its speed as a voltage.

    The mechanics are a circuit of their own: a current of k·i into the node of the
    speed, and one of c·ω² + T out of it. The gigaohm only gives that node a path.
    """
    armature = motor.load_ohm * motor.hot_frac
    k, fan, friction = motor.motor_constant_vs, motor.fan_nms2, motor.friction_nm
    return [
        f"vi{name} {plus} a{name} dc 0",
        f"ra{name} a{name} e{name} {armature!r}",
        f"be{name} e{name} {minus} v={k!r}*v(w{name})",
        f"bt{name} 0 w{name} i={k!r}*i(vi{name})-{fan!r}*v(w{name})*abs(v(w{name}))"
        f"-{friction!r}",
        f"rw{name} w{name} 0 1e9",
        f".nodeset v(w{name})=200",
    ]


def run(lines, folder):
    """Operating point of a deck, by vector name."""
    deck, raw = folder / "deck.cir", folder / "deck.raw"
    deck.write_text("\n".join(["motor", *lines, ".op", ".end", ""]))
    subprocess.run(
        [ngspice_or_skip(), "-n", "-b", "-r", str(raw), str(deck)],
        env={**os.environ, "SPICE_ASCIIRAWFILE": "1"},
        check=True,
        capture_output=True,
        timeout=60,
    )
    return values_from_raw_file(raw.read_text(errors="replace"))


def warm_lines(load):
    """A winding or filament, its resistance in ohms the voltage of a node of its own.

    The current is what flows in the mean, and the power that which warms.
    """
    cold, rise = load.load_ohm / load.duty_frac, load.hot_frac - 1
    rated_w = load.rated_v * load.load_rated_a
    if load.lamp_exponent:
        glow = f"pwr(abs(v(load+,load-))/{load.rated_v!r},{load.lamp_exponent!r})"
        law = f"max({cold!r},{cold * load.hot_frac!r}*{glow})"
    else:
        power = f"v(load+,load-)*i(vim)/{rated_w!r}"
        law = f"{cold!r}*(1+{rise!r}*min({power},4))"
    return [
        "vim load+ am dc 0",
        "bl am load- i=v(load+,load-)/v(rm)",
        f"br rm 0 v={law}",
        f".nodeset v(rm)={cold * load.hot_frac!r} v(load+)=12",
    ]


def deck_of(circuit, load_lines):
    """A whole circuit as a deck, its contacts closed, the load nonlinear."""
    state = settled(circuit)
    lines = [*load_lines]
    for name, ohms, volts, row in zip(
        TOPOLOGY.branches,
        state.resistance_ohm[0, 0, 0],
        state.emf_v[0, 0, 0],
        TOPOLOGY.incidence,
        strict=True,
    ):
        if name == "load" or not np.isfinite(ohms):
            continue
        start, end = TOPOLOGY.nodes[row.argmax()], TOPOLOGY.nodes[row.argmin()]
        lines += [
            f"v_{name} {start} x_{name} dc {-float(volts)!r}",
            f"r_{name} x_{name} {end} {float(ohms)!r}",
        ]
    return lines


@pytest.mark.parametrize("motor", MOTORS.values(), ids=MOTORS)
def test_motor_in_its_circuit_settles_as_in_ngspice(motor, tmp_path):
    """Current, back-EMF and speed of fan and pump in the whole relay circuit."""
    values = run(deck_of(motor, motor_lines("m", "load+", "load-", motor)), tmp_path)
    state = settled(motor, Setup())
    back_v = -state.emf("load")[0, 0, 0]
    assert values["i(vim)"] == pytest.approx(state.current("load")[0, 0, 0], rel=1e-3)
    assert values["v(wm)"] == pytest.approx(back_v / motor.motor_constant_vs, rel=1e-3)
    assert values["i(v_control_fuse)"] == pytest.approx(
        state.current("control_fuse")[0, 0, 0], rel=1e-3
    )


@pytest.mark.parametrize("load", WARM.values(), ids=WARM)
def test_warm_load_in_its_circuit_settles_as_in_ngspice(load, tmp_path):
    """Current and working resistance of mat, winding and filament."""
    values = run(deck_of(load, warm_lines(load)), tmp_path)
    state = settled(load, Setup())
    ohms = state.resistance_ohm[0, 0, 0, TOPOLOGY.branches.index("load")]
    assert values["i(vim)"] == pytest.approx(state.current("load")[0, 0, 0], rel=1e-3)
    assert values["v(rm)"] == pytest.approx(ohms, rel=1e-3)
    assert values["i(v_control_fuse)"] == pytest.approx(
        state.current("control_fuse")[0, 0, 0], rel=1e-3
    )


def test_random_motors_agree_with_ngspice(tmp_path):
    """Sixty motors that turn, each on a source with a resistance of its own."""
    rng = np.random.default_rng(20261125)
    volts = rng.uniform(6, 15, 60)
    ohms = rng.uniform(0.1, 3.0, 60)
    k = rng.uniform(0.01, 0.1, 60)
    friction = rng.uniform(0.0, 0.5, 60) * k * volts / ohms
    fan = rng.uniform(0.05, 1.0, 60) * k * volts / ohms / (volts / k) ** 2
    lines = []
    for n in range(60):
        lines += [
            f"v{n} p{n} 0 dc {float(volts[n])!r}",
            f"vi{n} p{n} a{n} dc 0",
            f"r{n} a{n} e{n} {float(ohms[n])!r}",
            f"be{n} e{n} 0 v={float(k[n])!r}*v(w{n})",
            f"bt{n} 0 w{n} i={float(k[n])!r}*i(vi{n})"
            f"-{float(fan[n])!r}*v(w{n})*abs(v(w{n}))-{float(friction[n])!r}",
            f"rw{n} w{n} 0 1e9",
            f".nodeset v(w{n})={float(volts[n] / k[n] / 2)!r}",
        ]
    values = run(lines, tmp_path)
    theirs = [float(k[n]) * values[f"v(w{n})"] for n in range(60)]
    assert running_emf(volts, ohms, k, (fan, friction)) == pytest.approx(
        theirs, rel=1e-3
    )


def random_warm_loads(count):
    """Values of filaments and of windings in turn, and their sources."""
    rng = np.random.default_rng(20261125)
    is_lamp = np.arange(count) % 2 == 0
    value = {
        "rated_v": np.full(count, 13.5),
        "load_rated_a": rng.uniform(1, 20, count),
        "hot_frac": np.where(
            is_lamp, rng.uniform(8, 14, count), rng.uniform(1.02, 1.3, count)
        ),
        "lamp_exponent": np.where(is_lamp, 0.45, 0.0),
        "duty_frac": np.where(is_lamp, 1.0, rng.uniform(0.3, 1.0, count)),
    }
    hot = value["rated_v"] / value["load_rated_a"] * value["duty_frac"]
    value["load_ohm"] = hot / value["hot_frac"]
    return rng.uniform(6, 15, count), rng.uniform(0.02, 1.5, count), value


def warm_law(number, value):
    """The law of one load's resistance, in ngspice's words."""
    one = {name: float(column[number]) for name, column in value.items()}
    cold = one["load_ohm"] / one["duty_frac"]
    if one["lamp_exponent"]:
        glow = f"pwr(abs(v(a{number}))/{one['rated_v']!r},{one['lamp_exponent']!r})"
        return f"max({cold!r},{cold * one['hot_frac']!r}*{glow})"
    rated_w = one["rated_v"] * one["load_rated_a"]
    power = f"v(a{number})*i(vi{number})/{rated_w!r}"
    return f"{cold!r}*(1+{one['hot_frac'] - 1!r}*min({power},4))"


def test_random_warm_loads_agree_with_ngspice(tmp_path):
    """Sixty filaments, mats and windings, each behind a resistance of its own."""
    volts, ohms, value = random_warm_loads(60)
    lines = []
    for n in range(60):
        lines += [
            f"v{n} p{n} 0 dc {float(volts[n])!r}",
            f"r{n} p{n} b{n} {float(ohms[n])!r}",
            f"vi{n} b{n} a{n} dc 0",
            f"bl{n} a{n} 0 i=v(a{n})/v(rm{n})",
            f"br{n} rm{n} 0 v={warm_law(n, value)}",
            f".nodeset v(rm{n})={13.5 / float(value['load_rated_a'][n])!r} v(a{n})=10",
        ]
    values = run(lines, tmp_path)
    theirs = [values[f"v(rm{n})"] for n in range(60)]
    assert working_resistance(volts, ohms, value) == pytest.approx(theirs, rel=1e-3)
