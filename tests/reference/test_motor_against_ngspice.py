"""The fan motor as a nonlinear part: ngspice finds the operating point of our formula.

A behavioural source gives the back-EMF k·ω, and another one finds the speed at which
torque k·i equals fan c·ω² and friction T. Where the rotor turns, both programs must
agree within 0.1 %.
"""

import os
import subprocess

import numpy as np
import pytest

from generator.model.circuit import TOPOLOGY, Setup
from generator.model.parts import running_emf
from tests.circuits import FAN, broken, settled
from tests.reference.ngspice import ngspice_or_skip, values_from_raw_file

MOTORS = {
    "sound": FAN,
    **{
        fault: broken(FAN, fault)
        for fault in (
            "mechanism_binding",
            "mechanism_free",
            "load_turns_shorted",
            "contacts_resistance",
            "load_ground_resistance",
        )
    },
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


def deck_of(motor):
    """A fan's whole circuit as a deck, its contacts closed, the load nonlinear."""
    state = settled(motor)
    lines = [*motor_lines("m", "load+", "load-", motor)]
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
def test_fan_in_its_circuit_settles_as_in_ngspice(motor, tmp_path):
    """Current, back-EMF and speed of the fan in the whole relay circuit."""
    values = run(deck_of(motor), tmp_path)
    state = settled(motor, Setup())
    back_v = -state.emf("load")[0, 0, 0]
    assert values["i(vim)"] == pytest.approx(state.current("load")[0, 0, 0], rel=1e-3)
    assert values["v(wm)"] == pytest.approx(back_v / motor.motor_constant_vs, rel=1e-3)
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
