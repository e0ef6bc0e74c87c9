"""Derives an exercise again from its key, and says what does not hold.

Each check stands on its own: what the grading will use is compared with what the class
secret gives, with the networks solved again, with a search for the plan that knows no
short cut, and with the limits of the instruments.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np

from answer_keys.errors import KeyContentError
from answer_keys.keys.key_record import plan_of, records_from_json
from generator.checking.agreement import first_difference
from generator.drawing.exercise import Exercise
from generator.drawing.proof import unsure_tests
from generator.exports.transients_of import NothingMovesError, coil_circuit_of
from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.model.network import Branch, Network, resistance_between, solve
from generator.model.plan import Plan
from generator.model.transients import coil_turn_off
from generator.workbooks.records import key_record

Record = Mapping[str, Any]
_RELATIVE, _ABSOLUTE = 1e-6, 1e-9
# The supply rises a little when the load goes off with the coil.
_TRACE_FRAC = 0.02
# Which test's band each number that is asked for comes from, and the clamp's scale.
_BANDS = {
    "coil_current": ("control_current", 1.0),
    "load_current": ("load_current", 1.0),
    "control_display": ("control_current", CLAMP_100.scale_v_per_a),
    "load_display_after_repair": ("load_current", CLAMP_10.scale_v_per_a),
}


def problems_of_exercise(record: Record, exercise: Exercise) -> list[str]:
    """Say what is wrong with an exercise.

    Parameters
    ----------
    record : mapping
        Its record in the answer key.
    exercise : Exercise
        The exercise as the class secret gives it again.
    """
    try:
        records_from_json(json.dumps([record]).encode())
    except KeyContentError as error:
        return [str(error).rstrip(".")]
    plan = plan_of(record["reasoning"])
    return [
        *_differences(record, exercise),
        *_unsolved(record, plan),
        *_unplanned(record, plan),
        *_wrongly_given(record, plan),
        *_wrong_bands(record),
        *_near_edges(exercise),
        *_wrong_readings(record),
        *_wrong_outcomes(record, exercise),
        *_wrong_statements(record),
    ]


def _differences(record: Record, exercise: Exercise) -> Iterator[str]:
    """Where the key is not what the class secret gives, the first place of all."""
    identity = {name: record[name] for name in ("set_id", "student", "lesson")}
    again = json.loads(json.dumps(key_record(exercise, record["exercise"], identity)))
    place = first_difference(record, again)
    if place is not None:
        yield f"its key differs at {place or 'the top'} from what the secret gives"


def _unsolved(record: Record, plan: Plan) -> Iterator[str]:
    """Follow the plan through the actual outcomes to one repair, the right one."""
    table = record["reasoning"]
    faults = [fault["id"] for fault in table["faults"]]
    left: tuple[int, ...] = tuple(range(len(faults)))
    for _test, rest in plan.way(left, [test["outcome"] for test in record["tests"]]):
        left = rest
    if faults.index(record["fault"]["id"]) not in left:
        yield "its own readings rule its fault out"
    elif {table["faults"][n]["repair"] for n in left} != {record["fault"]["repair"]}:
        names = ", ".join(faults[number] for number in left)
        yield f"more than one repair is left after all tests: {names}"


def _unplanned(record: Record, plan: Plan) -> Iterator[str]:
    """Search for a plan that is better than the one that choices are marked by."""
    minutes = [test["minutes"] for test in record["tests"]]
    if minutes != record["reasoning"]["minutes"]:
        yield "its plan counts other minutes than its tests have"
    planned, least = plan.expected_cost, least_minutes(record["reasoning"])
    if not math.isclose(planned, least, rel_tol=_RELATIVE):
        yield f"its plan takes {planned:.2f} minutes, the best {least:.2f}"


def _wrongly_given(record: Record, plan: Plan) -> Iterator[str]:
    """Follow what is done for the student: all of it right, and none of it the end."""
    tests = {test["id"]: number for number, test in enumerate(record["tests"])}
    asked = {each["id"]: each["band"] for each in record["predictions"]}
    left: tuple[int, ...] = tuple(range(len(plan.outcome)))
    for step in record["given"]:
        item, kind = step["item"], step["kind"]
        if kind == "prediction":
            low, high = asked[item]
            if not low < step["value"] < high:
                yield f"the number given for {item} lies outside of its band"
            continue
        test = record["tests"][tests[item]]
        if kind == "finding":
            left = plan.after(left, tests[item], test["outcome"])
        elif tests[item] != plan.best_test(left):
            yield f"{item} is given, and is not the planned test"
        right = {
            "expected": test["sound_outcome"],
            "outcome": test["outcome"],
            "statement": test["statement"],
        }
        if any(step[name] != right[name] for name in right.keys() & step.keys()):
            yield f"the {kind} given for {item} is not what is right"
    if record["given"] and plan.best_test(left) is None:
        yield "what is given proves the cause already"


def least_minutes(table: Record) -> float:
    """Find the least expected minutes to a proved cause by trying every test.

    Parameters
    ----------
    table : mapping
        ``reasoning`` of a key record. Causes that no test tells apart cost nothing.
    """
    faults, minutes, outcomes = table["faults"], table["minutes"], table["outcomes"]

    @cache
    def weighted(left: tuple[int, ...]) -> float:
        if len({faults[number]["repair"] for number in left}) == 1:
            return 0.0
        share = math.fsum(faults[number]["prior"] for number in left)
        parts = [_split(left, outcomes, test) for test in range(len(minutes))]
        costs = (
            cost * share + math.fsum(map(weighted, some))
            for cost, some in zip(minutes, parts, strict=True)
            if len(some) > 1
        )
        return min(costs, default=0.0)

    everything = tuple(range(len(faults)))
    return weighted(everything) / math.fsum(fault["prior"] for fault in faults)


def _split(
    left: Sequence[int], outcomes: Sequence[Sequence[str]], test: int
) -> tuple[tuple[int, ...], ...]:
    """Sets of candidates that a test may leave."""
    parts: dict[str, list[int]] = {}
    for number in left:
        parts.setdefault(outcomes[number][test], []).append(number)
    return tuple(map(tuple, parts.values()))


def _wrong_bands(record: Record) -> Iterator[str]:
    """Compare the bands of numbers and tests, and both with the sound circuit."""
    tests = {test["id"]: test for test in record["tests"]}
    for answer in (*record["predictions"], record["verification"]):
        source, scale = _BANDS[answer["id"]]
        band = [edge * scale for edge in tests[source]["expected_band"]]
        if not np.allclose(answer["band"], band, rtol=_RELATIVE, atol=0):
            yield f"the band of {answer['id']} is not that of {source}"
        if not answer["band"][0] < answer["value"] < answer["band"][1]:
            yield f"the value of {answer['id']} lies outside of its band"
        wrong = [rule["band"] for rule in answer["misconceptions"]]
        if any(a[1] >= b[0] for a, b in pairwise(sorted([answer["band"], *wrong]))):
            yield f"a wrong rule of {answer['id']} meets the band of another number"
    yield from _unsound(record, tests)


def _unsound(record: Record, tests: Record) -> Iterator[str]:
    """Solve the sound circuit, whose currents must lie in the bands."""
    branches, ground = record["circuit"]["branches"], record["circuit"]["ground"]
    network = Network(branches=tuple(Branch(**b) for b in branches), ground=ground)
    current = solve(network).current_a
    for name in ("control_current", "load_current"):
        low, high = tests[name]["expected_band"]
        value = current[tests[name]["measures"]["branch"]]
        if not low < value < high:
            yield f"the sound circuit reads {value:.4g} A, outside of {name}'s band"


def _near_edges(exercise: Exercise) -> Iterator[str]:
    """Readings that the instrument's own error may turn into another outcome."""
    value = np.array([[[reading.value] for reading in exercise.readings]])
    for name in unsure_tests(value, exercise.tests, exercise.scales):
        yield f"the reading of {name} lies near a band edge"


def _wrong_readings(record: Record) -> Iterator[str]:
    """Solve the network of each test again and compare."""
    for test in record["tests"]:
        value = test["true_value"]
        if "coil" in test:
            yield from _wrong_turn_off(test)
        if test["measures"]["kind"] == "state" or value is None:
            continue
        again = _measured(test)
        if not math.isclose(again, value, rel_tol=_RELATIVE, abs_tol=_ABSOLUTE):
            yield f"{test['id']} reads {value!r}, its network gives {again!r}"


def _wrong_statements(record: Record) -> Iterator[str]:
    """Work out again what each reading clears by itself, and compare."""
    table = record["reasoning"]
    columns = zip(*table["outcomes"], strict=True)
    for test, column in zip(record["tests"], columns, strict=True):
        open_ = {
            section
            for fault, shown in zip(table["faults"], column, strict=True)
            if shown == test["outcome"]
            for section in fault["sections"]
        }
        clears = {section["id"] for section in record["sections"]} - open_
        said = {one["id"]: set(one["cleared"]) for one in test["statements"]}
        if said[test["statement"]] != clears:
            yield f"{test['id']} proves something else than its statement says"


def _wrong_turn_off(test: Mapping[str, Any]) -> Iterator[str]:
    """Follow the coil of a scope's test through time, and compare."""
    value = test["peak_to_peak_v"]
    if value == 0.0:
        # A driver that never opens interrupts nothing, whatever its network says.
        return
    try:
        circuit = coil_circuit_of(test["setup"], test["coil"])
    except NothingMovesError:
        # What the supply does at one end of an idle coil is no matter of the coil.
        return
    trace = coil_turn_off(circuit)
    again = trace.peak_v - float(trace.voltage_v[0])
    if not math.isclose(again, value, rel_tol=_TRACE_FRAC):
        yield f"{test['id']} reads {value!r}, its coil gives {again!r}"


def _wrong_outcomes(record: Record, exercise: Exercise) -> Iterator[str]:
    """Sort each reading again into its word."""
    scales = dict(
        zip([test.id for test in exercise.tests], exercise.scales, strict=True)
    )
    for test in record["tests"]:
        is_sorted = test["measures"]["kind"] != "state" and not test["mistake"]
        if not is_sorted or test["id"] not in scales:
            continue
        value = math.inf if test["true_value"] is None else test["true_value"]
        word = scales[test["id"]].word(value)
        if word != test["outcome"]:
            yield f"{test['id']} reads {word}, its key says {test['outcome']}"


def _measured(test: Mapping[str, Any]) -> float:
    setup, measures = test["setup"], test["measures"]
    branches = tuple(Branch(**branch) for branch in setup["branches"])
    network = Network(branches=branches, ground=setup["ground"])
    if measures["kind"] == "current":
        return solve(network).current_a[measures["branch"]]
    plus, minus = measures["node_plus"], measures["node_minus"]
    if measures["kind"] == "resistance":
        return resistance_between(network, plus, minus)
    volts = solve(network).voltage_v
    return volts[plus] - volts[minus]
