"""Worked examples from textbooks and a service manual, each with its own constants.

A source prints rounded figures, so each example has the tolerance that its printing
allows. "Derived" marks an input or a figure that follows from the printed ones by Ohm's
law and is not printed itself.
"""

from dataclasses import dataclass, field

import pytest

from generator.model.network import Branch, Network
from generator.model.solving import solve

PHYSICS_2 = "Ling, Sanny, Moebs: University Physics Volume 2, OpenStax 2016"
COLLEGE = "Urone, Hinrichs: College Physics 2e, OpenStax 2022"
LESSONS = "Kuphaldt: Lessons In Electric Circuits, Volume I - DC, 5th edition"
ARMY = "US Army: TM 9-8000 Principles of Automotive Vehicles, 1985"


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """One worked example: branches (name, from, to, ohms[, emf]) and its answers."""

    source: str
    branches: tuple
    amps: dict[str, float] = field(default_factory=dict)
    volts: dict[str, float] = field(default_factory=dict)
    watts: dict[str, float] = field(default_factory=dict)
    rel: float = 1e-3

    def network(self) -> Network:
        return Network(branches=tuple(Branch(*branch) for branch in self.branches))


def loop(emf_v: float, *resistances_ohm: float) -> tuple:
    """One source and resistances in a ring; nodes n0, n1, ... down to ground."""
    last = len(resistances_ohm) - 1
    return (
        ("source", "0", "n0", 0.0, emf_v),
        *(
            (f"r{i}", f"n{i}", "0" if i == last else f"n{i + 1}", ohms)
            for i, ohms in enumerate(resistances_ohm)
        ),
    )


def side_by_side(emf_v: float, *resistances_ohm: float) -> tuple:
    """One source and resistances in parallel."""
    return (
        ("source", "0", "n0", 0.0, emf_v),
        *((f"r{i}", "n0", "0", ohms) for i, ohms in enumerate(resistances_ohm)),
    )


def two_sources(left_v: float, right_v: float, middle: tuple) -> tuple:
    """Kuphaldt's network of chapter 10: 4 Ω, a middle part at node 2, and 1 Ω."""
    return (
        ("left", "0", "1", 0.0, left_v),
        ("right", "0", "3", 0.0, right_v),
        ("r1", "1", "2", 4.0),
        ("r3", "2", "3", 1.0),
        *middle,
    )


EXAMPLES = {
    "battery with internal resistance, 10 Ω load": Example(
        source=f"{PHYSICS_2}, example 10.1 (a); {COLLEGE}, example 21.4",
        branches=loop(12.0, 0.1, 10.0),
        amps={"r1": 1.188},
        volts={"n1": 11.90},
        rel=2e-3,  # the terminal voltage is printed as 11.9; derived 11.881
    ),
    "battery with internal resistance, 0.5 Ω load": Example(
        source=f"{PHYSICS_2}, example 10.1 (b), (c)",
        branches=loop(12.0, 0.1, 0.5),
        amps={"r1": 20.00},
        volts={"n1": 10.00},
        watts={"r1": 200.0},
    ),
    "real source, 1 Ω load": Example(
        source=f"{LESSONS}, chapter 11, internal resistance of a battery",
        branches=loop(10.0, 0.2, 1.0),
        amps={"r1": 8.333},
    ),
    "real source, short circuit": Example(
        source=f"{LESSONS}, chapter 11, internal resistance of a battery",
        branches=loop(10.0, 0.2, 0.0),
        amps={"r1": 50.0},
        volts={"n1": 0.0},
    ),
    "five resistors in series": Example(
        source=f"{PHYSICS_2}, example 10.2",
        branches=loop(9.0, 20.0, 20.0, 20.0, 20.0, 10.0),
        amps={"r4": 0.1},
        volts={"n1": 7.0, "n2": 5.0, "n3": 3.0, "n4": 1.0},
        watts={"source": -0.9},
    ),
    "three resistors in series": Example(
        source=f"{LESSONS}, chapter 5, simple series circuits",
        branches=loop(9.0, 3e3, 10e3, 5e3),
        amps={"r0": 0.5e-3},
        volts={"n1": 9.0 - 1.5, "n2": 2.5},
    ),
    "three resistors in parallel": Example(
        source=f"{PHYSICS_2}, example 10.3",
        branches=side_by_side(3.0, 1.0, 2.0, 2.0),
        amps={"source": 6.0, "r0": 3.0, "r1": 1.5, "r2": 1.5},
        watts={"r0": 9.0, "r1": 4.5, "r2": 4.5},
    ),
    "three resistors of kilohms in parallel": Example(
        source=f"{LESSONS}, chapter 5, simple parallel circuits",
        branches=side_by_side(9.0, 10e3, 2e3, 1e3),
        amps={"r0": 0.9e-3, "r1": 4.5e-3, "r2": 9e-3},
    ),
    "lead resistance before two loads": Example(
        source=f"{PHYSICS_2}, example 10.4; {COLLEGE}, example 21.3",
        branches=(*loop(12.0, 1.0, 6.0), ("second", "n1", "0", 13.0)),
        amps={"r0": 2.35, "r1": 1.61},
        volts={"n1": 9.65},
        watts={"r1": 15.5},
        rel=5e-3,
    ),
    # The emfs are one choice (derived) that gives the printed loop equations
    # 3 I1 - 8 I2 = -1.8 and 8 I2 + I3 = 2.9.
    "three branches by Kirchhoff's rules": Example(
        source=f"{PHYSICS_2}, example 10.6",
        branches=(
            ("i1", "0", "a", 3.0, 0.0),
            ("i2", "0", "a", 8.0, 1.8),
            ("i3", "a", "0", 1.0, 1.1),
        ),
        amps={"i1": 0.20, "i2": 0.30, "i3": 0.50},
    ),
    # The third resistance is derived from its printed 0.80 W at 0.20 A.
    "two opposed batteries": Example(
        source=f"{PHYSICS_2}, example 10.7",
        branches=(
            ("strong", "0", "a", 0.0, 24.0),
            ("r1", "a", "b", 10.0),
            ("r2", "b", "c", 30.0),
            ("r3", "c", "d", 20.0),
            ("weak", "d", "0", 0.0, -12.0),
        ),
        amps={"strong": 0.20},
        watts={"r1": 0.40, "r2": 1.20, "r3": 0.80, "weak": 2.40, "strong": -4.80},
    ),
    # The emfs are placed (derived) so that the printed loop equations
    # 18 - 3 I2 - 6 I1 = 0 and 6 I1 + 2 I3 - 45 = 0 hold.
    "two batteries in two loops": Example(
        source=f"{COLLEGE}, example 21.5",
        branches=(
            ("i1", "0", "a", 6.0),
            ("i2", "a", "0", 3.0, 18.0),
            ("i3", "a", "0", 2.0, 45.0),
        ),
        amps={"i1": 4.75, "i2": -3.50, "i3": 8.25},
    ),
    "two sources, branch currents": Example(
        source=f"{LESSONS}, chapter 10, branch current method",
        branches=two_sources(28.0, 7.0, (("r2", "2", "0", 2.0),)),
        amps={"r1": 5.0, "r2": 4.0, "r3": 1.0},
        volts={"1": 28.0, "2": 8.0, "3": 7.0},
    ),
    "superposition, left source alone": Example(
        source=f"{LESSONS}, chapter 10, superposition theorem; parts derived",
        branches=two_sources(28.0, 0.0, (("r2", "2", "0", 2.0),)),
        amps={"r1": 24.0 / 4.0, "r2": 4.0 / 2.0, "r3": 4.0 / 1.0},
        volts={"2": 4.0},
    ),
    "superposition, right source alone": Example(
        source=f"{LESSONS}, chapter 10, superposition theorem; parts derived",
        branches=two_sources(0.0, 7.0, (("r2", "2", "0", 2.0),)),
        amps={"r1": -4.0 / 4.0, "r2": 4.0 / 2.0, "r3": -3.0 / 1.0},
        volts={"2": 4.0},
    ),
    "Thévenin voltage": Example(
        source=f"{LESSONS}, chapter 10, Thevenin's theorem",
        branches=two_sources(28.0, 7.0, (("r2", "2", "0", float("inf")),)),
        amps={"r2": 0.0},
        volts={"2": 11.2},
    ),
    "Norton current": Example(
        source=f"{LESSONS}, chapter 10, Norton's theorem",
        branches=two_sources(28.0, 7.0, (("short", "2", "0", 0.0),)),
        amps={"short": 14.0},
    ),
    "maximum power": Example(
        source=f"{LESSONS}, chapter 10, maximum power transfer theorem",
        branches=two_sources(28.0, 7.0, (("r2", "2", "0", 0.8),)),
        watts={"r2": 39.2},
    ),
    # Sources inside their branches, as the theorem has them.
    "Millman's theorem": Example(
        source=f"{LESSONS}, chapter 10, Millman's theorem",
        branches=(
            ("b1", "0", "a", 4.0, 28.0),
            ("b2", "0", "a", 2.0, 0.0),
            ("b3", "0", "a", 1.0, 7.0),
        ),
        volts={"a": 8.0},
        amps={"b1": 5.0, "b2": -4.0, "b3": -1.0},
    ),
    "headlight, hot": Example(
        source=f"{COLLEGE}, examples 20.4 and 20.7",
        branches=loop(12.0, 4.80),
        amps={"r0": 2.50},
        watts={"r0": 30.0},
    ),
    "headlight, cold": Example(
        source=f"{COLLEGE}, example 20.7",
        branches=loop(12.0, 0.350),
        amps={"r0": 34.3},
        watts={"r0": 411.0},
        rel=2e-3,
    ),
    "carbon resistor, warmed by 40 K": Example(
        source=f"{PHYSICS_2}, example 9.8",
        branches=loop(9.0, 3.00e3 * (1 - 0.0005 * 40)),
        amps={"r0": 3.06e-3},
        rel=2e-3,
    ),
    "series motor at speed": Example(
        source=f"{PHYSICS_2}, example 13.10",
        branches=(*loop(120.0, 2.0, 0.0)[:2], ("back", "n1", "0", 0.0, -100.0)),
        amps={"r0": 10.0},
        watts={"r0": 200.0, "back": 1000.0, "source": -1200.0},
    ),
    "series motor under load": Example(
        source=f"{PHYSICS_2}, example 13.10 (e)",
        branches=(*loop(120.0, 2.0, 0.0)[:2], ("back", "n1", "0", 0.0, -80.0)),
        amps={"r0": 20.0},
        watts={"r0": 800.0, "back": 1600.0, "source": -2400.0},
    ),
    # The back-emf is derived: 1633.33 W at 20.00 A.
    "motor that lifts": Example(
        source=f"{PHYSICS_2}, example 9.9",
        branches=(
            *loop(115.0, 1.67, 0.0)[:2],
            ("back", "n1", "0", 0.0, -1633.33 / 20.0),
        ),
        amps={"r0": 20.00},
        watts={"back": 1633.33, "source": -2300.0},
        rel=3e-3,
    ),
    "coil's steady current": Example(
        source=f"{PHYSICS_2}, example 14.4",
        branches=loop(2.0, 4.0),
        amps={"r0": 0.50},
    ),
    "Thévenin voltage of a ladder": Example(
        source=f"{LESSONS}, chapter 16, complex circuits",
        branches=loop(20.0, 2e3, 500.0, 3e3),
        amps={"r1": 1.8182 / 500.0},
        rel=1e-4,
    ),
    # One volt into the ladder's ends gives its resistance; the source is shorted.
    "Thévenin resistance of a ladder": Example(
        source=f"{LESSONS}, chapter 16, complex circuits",
        branches=(
            ("probe", "0", "a", 0.0, 1.0),
            ("r1", "a", "0", 500.0),
            ("r2", "a", "b", 2e3),
            ("r3", "b", "0", 3e3),
        ),
        amps={"probe": 1.0 / 454.545},
        rel=1e-5,
    ),
    "12 V circuit, sound": Example(
        source=f"{ARMY}, chapter 11, figure 11-12",
        branches=loop(12.0, 6.0),
        amps={"r0": 2.0},
    ),
    "12 V circuit, bad connections": Example(
        source=f"{ARMY}, chapter 11, figure 11-12",
        branches=loop(12.0, 6.0, 2.0),
        amps={"r0": 1.5},
    ),
    # The shunt is derived: 0.5 V at the 4.999 A that the movement does not take.
    "meter shunt for 5 A": Example(
        source=f"{LESSONS}, chapter 8, ammeter impact and shunts",
        branches=side_by_side(0.5, 500.0, 0.5 / 4.999),
        amps={"r0": 1e-3, "source": 5.0},
        rel=1e-6,
    ),
    "current shunt in the circuit": Example(
        source=f"{LESSONS}, chapter 8, ammeter impact",
        branches=loop(12.0, 15e3, 1.0),
        amps={"r1": 0.7999e-3},
        rel=1e-4,
    ),
    # Source and load are derived from 12.5 V at 50 mA and 0.75 V on each lead.
    "two leads of 15 Ω at 20 °C": Example(
        source=f"{LESSONS}, chapter 12, temperature coefficient of resistance",
        branches=loop(14.0, 15.0, 250.0, 15.0),
        amps={"r1": 0.05},
        volts={"n2": 0.75},
    ),
    "two leads of 15 Ω at 35 °C": Example(
        source=f"{LESSONS}, chapter 12, temperature coefficient of resistance",
        branches=loop(14.0, 15.909, 250.0, 15.909),
        amps={"r1": 12.42 / 250.0},
        volts={"n2": 0.79},
        rel=5e-3,
    ),
}


@pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
def test_solver_gives_printed_answers(example):
    """Currents, voltages and powers agree with the printed ones."""
    network = example.network()
    solution = solve(network)
    volts = {node: solution.voltage_v[node] for node in example.volts}
    amps = {name: solution.current_a[name] for name in example.amps}
    watts = {
        branch.name: solution.current_a[branch.name]
        * (solution.voltage_v[branch.node_from] - solution.voltage_v[branch.node_to])
        for branch in network.branches
        if branch.name in example.watts
    }
    assert volts == pytest.approx(example.volts, rel=example.rel, abs=1e-12)
    assert amps == pytest.approx(example.amps, rel=example.rel, abs=1e-12)
    assert watts == pytest.approx(example.watts, rel=example.rel, abs=1e-12)


def test_each_example_has_a_source_and_an_answer():
    """No example is there without something to check."""
    assert len(EXAMPLES) >= 18
    for example in EXAMPLES.values():
        assert ":" in example.source
        assert example.volts or example.amps or example.watts


def test_superposition_adds_up():
    """The two partial solutions sum to the whole (Kuphaldt, chapter 10)."""
    left, right, both = (
        solve(EXAMPLES[name].network()).voltage_v["2"]
        for name in (
            "superposition, left source alone",
            "superposition, right source alone",
            "two sources, branch currents",
        )
    )
    assert left + right == pytest.approx(both, rel=1e-12)
