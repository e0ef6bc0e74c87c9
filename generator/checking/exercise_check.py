"""Derives an exercise again from its key, and says what does not hold.

Each check stands on its own: what the grading will use is compared with what the class
secret gives, with the networks solved again, with a search for the plan that knows no
short cut, and with the limits of the instruments.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

import numpy as np
from msgspec import json

from answer_keys.keys.whole_record import WholeRecord, WholeTest
from generator.checking.agreement import first_difference
from generator.drawing.exercise import Exercise
from generator.drawing.proof import unsure_tests
from generator.exports.transients_of import NothingMovesError, coil_circuit_of
from generator.model.instruments import CLAMP_10, CLAMP_100
from generator.model.reasoning import Reasoning
from generator.model.solving import resistance_between, solve
from generator.model.transients import coil_turn_off
from generator.workbooks.key_records import key_record
from workbook.judging.least_minutes import Search, Test, mask_of, shown_as

_RELATIVE, _ABSOLUTE = 1e-6, 1e-9
# The supply rises a little when the load goes off with the coil.
_TRACE_FRAC = 0.02
# Which test's band each number that is asked for comes from, and the clamp's scale.
_BANDS = {
    "coil_current": ("control_current", 1.0),
    "load_current": ("load_current", 1.0),
    "load_display": ("load_current", CLAMP_10.scale_v_per_a),
    "control_display": ("control_current", CLAMP_100.scale_v_per_a),
}


def problems_of_exercise(record: WholeRecord, exercise: Exercise) -> list[str]:
    """Say what is wrong with an exercise.

    Parameters
    ----------
    record : WholeRecord
        Its record in the answer key.
    exercise : Exercise
        The exercise as the class secret gives it again.
    """
    return [
        *_differences(record, exercise),
        *_unsolved(record),
        *_unplanned(record),
        *_wrongly_given(record),
        *_wrong_bands(record),
        *_near_edges(exercise),
        *_wrong_readings(record),
        *_wrong_outcomes(record, exercise),
        *_wrong_statements(record),
    ]


def _differences(record: WholeRecord, exercise: Exercise) -> Iterator[str]:
    """Where the key is not what the class secret gives, the first place of all."""
    identity = {
        "set_id": record.set_id,
        "student": record.student,
        "lesson": record.lesson,
    }
    # Through JSON, as the key was: a tuple comes back as a list.
    again = key_record(
        exercise, record.exercise, identity, has_bench=record.bench is not None
    )
    both = (json.decode(json.encode(each)) for each in (record, again))
    place = first_difference(*both)
    if place is not None:
        yield f"its key differs at {place or 'the top'} from what the secret gives"


def _unsolved(record: WholeRecord) -> Iterator[str]:
    """Follow the plan through the actual outcomes to one repair, the right one."""
    # Searched anew: the plan of the key recalls its way from when it was drawn.
    plan, shown = record.reasoning.plan, [test.outcome for test in record.tests]
    state = plan.start
    for _test, rest in plan.way(state, shown):
        state = rest
    faults = [record.reasoning.faults[number] for number in state.candidates]
    if record.fault.id not in [fault.id for fault in faults]:
        yield "its own readings rule its fault out"
    elif {fault.repair for fault in faults} != {record.fault.repair}:
        names = ", ".join(fault.id for fault in faults)
        yield f"more than one repair is left after all tests: {names}"


def _unplanned(record: WholeRecord) -> Iterator[str]:
    """Search for a plan that is better than the one that choices are marked by."""
    if tuple(test.minutes for test in record.tests) != record.reasoning.reading_minutes:
        yield "its plan counts other minutes than its tests have"
    # By the page's own search, another one in plain Python: what both find is no slip
    # of one.
    planned, least = record.plan.expected_cost, least_minutes(record.reasoning)
    if not math.isclose(planned, least, rel_tol=_RELATIVE):
        yield f"its plan takes {planned:.2f} minutes, the best {least:.2f}"


def _wrongly_given(record: WholeRecord) -> Iterator[str]:
    """Follow what is done for the student: all of it right, and none of it the end."""
    if record.given is None:
        return
    for asked in record.predictions:
        given = record.given.predictions.get(asked.id)
        if given is not None and not asked.band[0] < given.value < asked.band[1]:
            yield f"the number given for {asked.id} lies outside of its band"
    plan = record.reasoning.plan
    state = plan.start
    for done in record.given.tests:
        place = record.test_number(done.item)
        test = record.tests[place]
        if place != plan.best_test(state):
            yield f"{done.item} is given, and is not the planned test"
        said = done.expected, done.outcome, done.statement
        if said != (test.sound_outcome, test.outcome, test.statement):
            yield f"what is given for {done.item} is not what is right"
        state = plan.after(state, place, test.outcome)
    if plan.best_test(state) is None:
        yield "what is given proves the cause already"


def least_minutes(table: Reasoning) -> float:
    """Find the least expected minutes to a proved cause by a search of its own."""
    number = {place.id: n for n, place in enumerate(table.places)}
    repairs = list(dict.fromkeys(fault.repair for fault in table.faults))
    nothing = (n for n, f in enumerate(table.faults) if f.id.startswith("nothing"))
    search = Search(
        priors=[fault.prior for fault in table.faults],
        repairs=[repairs.index(fault.repair) for fault in table.faults],
        trial_min={n: table.repair_minutes[each] for n, each in enumerate(repairs)},
        harmless=mask_of(nothing),
        tests=[
            Test(
                reading_min=minutes,
                needs=mask_of(number[id_] for id_ in needs),
                shows=shown_as(column, sound),
            )
            for minutes, needs, column, sound in zip(
                table.reading_minutes,
                table.needs,
                table.columns,
                table.sound,
                strict=True,
            )
        ],
        reach_min=[place.minutes for place in table.places],
    )
    opened = mask_of(number[id_] for id_ in table.open)
    return search.expected(((1 << len(table.faults)) - 1, opened, False))


def _wrong_bands(record: WholeRecord) -> Iterator[str]:
    """Compare the bands of numbers and tests, and both with the sound circuit."""
    tests = {test.id: test for test in record.tests}
    for answer in (*record.predictions, record.verification):
        source, scale = _BANDS.get(answer.id) or _again(tests[answer.test])
        band = [edge * scale for edge in tests[source].expected_band or ()]
        # Of a scope the key gives the limit in words.
        if band and not np.allclose(answer.band, band, rtol=_RELATIVE, atol=0):
            yield f"the band of {answer.id} is not that of {source}"
        if not answer.band[0] <= answer.value <= answer.band[1]:
            yield f"the value of {answer.id} lies outside of its band"
        wrong = [rule.band for rule in answer.misconceptions]
        # Sorted by their lower ends, bands that meet are neighbours.
        if any(a[1] >= b[0] for a, b in pairwise(sorted([answer.band, *wrong]))):
            yield f"a wrong rule of {answer.id} meets the band of another number"
    yield from _unsound(record, tests)


def _again(test: WholeTest) -> tuple[str, float]:
    """A test that is done again after the repair, and the scale of its display."""
    if test.unit != "A":
        return test.id, 1.0
    clamp = CLAMP_10 if test.measures.branch == "load_fuse" else CLAMP_100
    return test.id, clamp.scale_v_per_a


def _unsound(record: WholeRecord, tests: Mapping[str, WholeTest]) -> Iterator[str]:
    """Solve the sound circuit, whose currents must lie in the bands."""
    current = solve(record.circuit.network).current_a
    for name in {"control_current", "load_current"} & tests.keys():
        low, high = tests[name].expected_band or (math.nan, math.nan)
        value = current[str(tests[name].measures.branch)]
        if not low < value < high:
            yield f"the sound circuit reads {value:.4g} A, outside of {name}'s band"


def _near_edges(exercise: Exercise) -> Iterator[str]:
    """Readings that the instrument's own error may turn into another outcome."""
    value = np.array([[[reading.value] for reading in exercise.readings]])
    for name in unsure_tests(value, exercise.tests, exercise.scales):
        yield f"the reading of {name} lies near a band edge"


def _wrong_readings(record: WholeRecord) -> Iterator[str]:
    """Solve the network of each test again and compare."""
    for test in record.tests:
        yield from _wrong_turn_off(test)
        value = test.true_value
        if not isinstance(value, float):
            continue
        again = _measured(test)
        if not math.isclose(again, value, rel_tol=_RELATIVE, abs_tol=_ABSOLUTE):
            yield f"{test.id} reads {value!r}, its network gives {again!r}"


def _wrong_statements(record: WholeRecord) -> Iterator[str]:
    """Work out again what each reading clears by itself, and compare."""
    table = record.reasoning
    for test, column in zip(record.tests, table.columns, strict=True):
        open_ = {
            section
            for fault, shown in zip(table.faults, column, strict=True)
            if shown == test.outcome
            for section in fault.sections
        }
        # Cleared is where no cause lies that shows this outcome.
        clears = {section.id for section in record.sections} - open_
        if set(test.stated(test.statement).cleared) != clears:
            yield f"{test.id} proves something else than its statement says"


def _wrong_turn_off(test: WholeTest) -> Iterator[str]:
    """Follow the coil of a scope's test through time, and compare."""
    value = test.peak_to_peak_v
    if not (test.coil and value):
        # No scope; or a driver that never opens, which interrupts nothing, whatever
        # its network says.
        return
    try:
        circuit = coil_circuit_of(test.setup, test.coil)
    except NothingMovesError:
        # What the supply does at one end of an idle coil is no matter of the coil.
        return
    trace = coil_turn_off(circuit)
    again = trace.peak_v - float(trace.voltage_v[0])
    if not math.isclose(again, value, rel_tol=_TRACE_FRAC):
        yield f"{test.id} reads {value!r}, its coil gives {again!r}"


def _wrong_outcomes(record: WholeRecord, exercise: Exercise) -> Iterator[str]:
    """Sort each reading again into its word."""
    scales = dict(
        zip([test.id for test in exercise.tests], exercise.scales, strict=True)
    )
    for test in record.tests:
        # An open resistance has no number in the key.
        value = math.inf if test.true_value is None else test.true_value
        if isinstance(value, str) or test.mistake or test.id not in scales:
            continue
        said, _comma, _fuse = test.outcome.partition(",")
        word = scales[test.id].word(value)
        if word != said:
            yield f"{test.id} reads {word}, its key says {said}"


def _measured(test: WholeTest) -> float:
    network, measures = test.setup, test.measures
    if measures.kind == "current":
        return solve(network).current_a[str(measures.branch)]
    plus, minus = measures.nodes
    if measures.kind == "resistance":
        return resistance_between(network, plus, minus)
    volts = solve(network).voltage_v
    return volts[plus] - volts[minus]
