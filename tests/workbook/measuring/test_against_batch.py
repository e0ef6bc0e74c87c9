"""The solver of the page and the batch solver of the instructor's machine agree."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.model.solving import solve
from generator.model.topology import AT
from tests.reference import ngspice
from tests.workbook.measuring.set_ups import (
    SHARED_GROUND,
    SMART,
    any_set_up,
    bench_and_exercise,
    chance_of,
    network_of,
    renamed_in,
    settled_in,
    with_meter,
)
from workbook.measuring.settling import circuits_of
from workbook.measuring.truth import truth_of
from workbook.record.set_up import SetUp

SAME = 1e-9
VOLTS_APART, FRACTION_APART = 1e-6, 1e-3
SOME_AND_MANY = (
    pytest.param(300, id="some"),
    pytest.param(10_000, marks=pytest.mark.nightly, id="many"),
)


def drawn_set_ups(count, instruments=("volts", "clamp"), each=100):
    """Set-ups of many circuits under any of their causes, as the batch solves them."""
    chance = chance_of("set-ups")
    for number in range(math.ceil(count / each)):
        bench, exercise = bench_and_exercise(number * 7)
        harness = chance.choice(("at rest", "moved"))
        cause = chance.randrange(len(exercise.candidates))
        set_ups = [
            any_set_up(bench, chance, instruments=instruments, harness=harness)
            for _ in range(min(each, count))
        ]
        pair = exercise.pairs[cause]
        settled = settled_in(pair, exercise.specification.nominal, set_ups)
        for place, set_up in enumerate(set_ups):
            yield (bench, exercise, cause), set_up, (settled, place)


@pytest.mark.parametrize("count", SOME_AND_MANY)
def test_currents_are_those_of_the_batch_solver(count):
    """In every branch, to a billionth; where a lead's fuse opens the page goes on."""
    compared = 0
    for (bench, _exercise, cause), set_up, (settled, place) in drawn_set_ups(count):
        found = circuits_of(bench.known).settled(bench.known.causes[cause], set_up)
        if not found.blown:
            assert farthest_apart(bench, found, settled.current_a[0, place, 0]) < SAME
            compared += 1
    assert compared > 0.9 * count


def farthest_apart(bench, found, currents):
    """How far the current of a branch is from that of the batch, over the larger."""
    theirs = currents.tolist()
    return max(
        abs(found.current_a[number] - theirs[AT[name]]) / max(1, abs(theirs[AT[name]]))
        for name, number in circuits_of(bench.known).at.items()
        if name in AT
    )


@pytest.mark.parametrize("number", SMART)
def test_smart_switch_settles_as_in_the_batch(number):
    """Under each cause: commanded, shut off, unplugged, and with a jumper past it."""
    bench, exercise = bench_and_exercise(number)
    circuits, chance = circuits_of(bench.known), chance_of("smart")
    plain = [
        SetUp(command=command, module=module, instrument="clamp")
        for command in ("normal", "output test", "off")
        for module in ("in", "out", "jumper")
    ]
    set_ups = [*plain, *(any_set_up(bench, chance) for _ in range(12))]
    for cause, pair in zip(bench.known.causes, exercise.pairs, strict=True):
        settled = settled_in(pair, exercise.specification.nominal, set_ups)
        for place, set_up in enumerate(set_ups):
            found = circuits.settled(cause, set_up)
            if not found.blown:
                theirs = settled.current_a[0, place, 0]
                assert farthest_apart(bench, found, theirs) < SAME, set_up


def test_way_back_through_a_neighbour_is_that_of_the_batch_solver():
    """Whatever else is pulled: with its plug on the load's current, and off none."""
    bench, exercise = bench_and_exercise(SHARED_GROUND)
    cause, chance = exercise.candidates.index(exercise.fault), chance_of("neighbour")
    some = [any_set_up(bench, chance, instruments=("clamp",)) for _ in range(40)]
    some += [SetUp(command="output test", instrument="clamp")]
    set_ups = [replace(one, neighbour=own) for one in some for own in ("in", "out")]
    nominal = exercise.specification.nominal
    settled = settled_in(exercise.pairs[cause], nominal, set_ups)
    circuits = circuits_of(bench.known)
    for place, set_up in enumerate(set_ups):
        found = circuits.settled(bench.known.causes[cause], set_up)
        if not found.blown:
            assert farthest_apart(bench, found, settled.current_a[0, place, 0]) < SAME
    plugged, unplugged = (
        circuits.settled(bench.known.causes[cause], each).current_a
        for each in set_ups[-2:]
    )
    load, back = circuits.at["load"], circuits.at["neighbour"]
    assert plugged[back] == pytest.approx(plugged[load])
    assert plugged[load] > 1.0
    assert unplugged[load] == pytest.approx(0.0, abs=1e-9)


def readings_of_both(count):
    """True volts on the page and in the instructor's network, a meter in both."""
    cases = drawn_set_ups(count, instruments=("volts",), each=min(count, 50))
    for (bench, exercise, cause), set_up, (settled, place) in cases:
        circuits = circuits_of(bench.known)
        truth = truth_of(circuits, bench.known.causes[cause], set_up)
        calm, moved = exercise.pairs[cause]
        circuit = moved if set_up.harness == "moved" else calm
        network = network_of(settled, place, circuit, set_up)
        measured = with_meter(network, set_up, renamed_in(exercise))
        if measured is not None and not truth.blown and not truth.is_floating:
            yield truth.value, measured


@pytest.mark.parametrize(
    "count",
    [pytest.param(60, id="some"), pytest.param(1_000, marks=pytest.mark.nightly)],
)
def test_voltages_are_those_of_the_instructors_network(count):
    """Between any two points, read with a meter's own resistance."""
    found = list(readings_of_both(count))
    assert len(found) > 0.4 * count
    for ours, network in found:
        theirs = solve(network).current_a["meter"] * network.branches[-1].resistance_ohm
        assert ours == pytest.approx(theirs, rel=SAME, abs=SAME)


@pytest.mark.parametrize(
    "count", [pytest.param(20, id="some"), pytest.param(500, marks=pytest.mark.nightly)]
)
def test_voltages_are_those_of_another_program(count):
    """Within 0.1 % or one microvolt of what ngspice finds."""
    found = list(readings_of_both(2 * count))[:count]
    theirs = ngspice.solve_with_ngspice([network for _, network in found])
    for (ours, network), (_, amps) in zip(found, theirs, strict=True):
        volts = amps["meter"] * network.branches[-1].resistance_ohm
        assert ours == pytest.approx(volts, rel=FRACTION_APART, abs=VOLTS_APART)


@settings(max_examples=12)
@given(st.integers(0, 40), st.integers(0, 10**6))
def test_as_much_flows_into_every_node_as_out_of_it(number, seed):
    """Kirchhoff's first law, and the second around every branch (textbook)."""
    bench, _ = bench_and_exercise(number % 6)
    circuits, set_up = circuits_of(bench.known), any_set_up(bench, chance_of(seed))
    for pair in (bench.known.actual, *bench.known.causes[:3]):
        settled = circuits.settled(pair, set_up)
        solved = circuits.topology.solve(settled.ohm, settled.emf_v)
        into = dict.fromkeys(circuits.topology.nodes.values(), 0.0)
        for (start, end), amps in zip(
            circuits.topology.ends, solved.current_a, strict=True
        ):
            into[start] -= amps
            into[end] += amps
        assert max(map(abs, into.values())) < SAME
        for ohm, emf, amps, (start, end) in zip(
            settled.ohm,
            settled.emf_v,
            solved.current_a,
            circuits.topology.ends,
            strict=True,
        ):
            one, two = solved.voltage_v[start], solved.voltage_v[end]
            if ohm is not None and one is not None and two is not None:
                assert one - two + emf == pytest.approx(amps * ohm, abs=SAME)
