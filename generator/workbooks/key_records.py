"""An exercise as the answer key has it: all that grading and the instructor need."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from answer_keys.keys.key_record import CauseOption, CorrectionOption, PlantedFault
from answer_keys.keys.set_ups import statement_key
from answer_keys.keys.whole_record import (
    CoilRecord,
    Measured,
    SoundCircuit,
    WholeRecord,
    WholeTest,
)
from generator.drawing.after_repair import verification_of
from generator.drawing.difficulty import difficulty_of, features_of, observed_percent
from generator.drawing.exercise import Exercise
from generator.drawing.reading import Reading
from generator.model.catalogue.repairs import repair_text
from generator.model.measure import UNITS, DiagnosticTest
from generator.model.network import Network
from generator.model.topology import PROBES
from generator.model.turn_off import Coil, coil_of
from generator.questions.asked import questions_of, title_of
from generator.questions.question_records import number_key, question_key
from generator.workbooks.bench_records import bench_of
from generator.workbooks.given import given_of
from generator.workbooks.offered import codes_of, repairs_offered
from generator.workbooks.statements import (
    Statement,
    right_statement,
    sections_in,
    statements_in,
)

# What a network that carries steady currents cannot check is given by its word.
_WORDED = ("work", "complaint", "turn-off", "warmth", "state")


def key_record(
    exercise: Exercise,
    number: int,
    identity: Mapping[str, str],
    *,
    has_bench: bool = False,
) -> WholeRecord:
    """Everything there is to know of one exercise: grading and the instructor's view.

    Parameters
    ----------
    number : int
        Its place in the workbook, from 1.
    identity : mapping
        ``set_id``, ``student`` and ``lesson``.
    has_bench : bool
        Whether more than the tests of the list can be set up.
    """
    specification, codes = exercise.specification, codes_of(exercise)
    fill, statements = specification.names.fill, statements_in(exercise)
    return WholeRecord(
        **identity,
        exercise=number,
        family=exercise.radical.family,
        vehicle=specification.names.vehicle,
        title=title_of(exercise),
        kind=exercise.radical.kind,
        questions=tuple(question_key(each) for each in questions_of(exercise)),
        complaint=exercise.complaint,
        given=given_of(exercise, statements),
        circuit=_sound_circuit(exercise),
        fault=PlantedFault(id=exercise.fault.id, repair=exercise.fault.repair),
        difficulty=_difficulty(exercise),
        specification=specification.sheet,
        sections=sections_in(exercise),
        tests=tuple(
            _test(exercise, place, own) for place, own in enumerate(statements)
        ),
        predictions=tuple(number_key(each) for each in exercise.predictions),
        verification=number_key(verification_of(exercise)),
        causes=tuple(
            CauseOption(id=codes[fault.id], label=fill(fault.title), fault=fault.id)
            for fault in exercise.candidates
        ),
        corrections=tuple(
            CorrectionOption(
                id=codes[repair], label=fill(repair_text(repair)), repair=repair
            )
            for repair in repairs_offered(exercise)
        ),
        reasoning=exercise.reasoning,
        # So that a report of a class searches no plan again.
        planned=tuple(exercise.tests[test].id for test, _left in exercise.way),
        bench=bench_of(exercise, is_key=True) if has_bench else None,
    )


def _difficulty(exercise: Exercise) -> dict[str, float]:
    features = features_of(exercise)
    found = {"percent": difficulty_of(exercise, features), **asdict(features)}
    if exercise.observed.after:
        found["observed"] = observed_percent(exercise)
    return found


def _sound_circuit(exercise: Exercise) -> SoundCircuit:
    specification = exercise.specification
    network = _named(exercise.sound_network, specification.names.coil_supply)
    return SoundCircuit(
        variant=specification.variant.text,
        branches=network.branches,
        ground=network.ground,
        coil=_coil(exercise.sound_coil),
    )


# Inside, 85 is the end towards ground, whatever is printed beside it (`RelayCircuit`).
_FED_AT_85 = {"86": "85", "85": "86"}


def _terminal(node: str, coil_supply: str) -> str:
    """Name of a node, the coil's terminals as this circuit has them."""
    return _FED_AT_85.get(node, node) if coil_supply == "85" else node


def _named(network: Network, coil_supply: str) -> Network:
    """The network with the coil's terminals as this circuit has them."""
    if coil_supply != "85":
        return network
    branches = (
        replace(
            branch,
            node_from=_terminal(branch.node_from, coil_supply),
            node_to=_terminal(branch.node_to, coil_supply),
        )
        for branch in network.branches
    )
    ground = _terminal(network.ground, coil_supply)
    return Network(branches=tuple(branches), ground=ground)


def _test(
    exercise: Exercise, place: int, statements: tuple[Statement, ...]
) -> WholeTest:
    test, scale = exercise.tests[place], exercise.scales[place]
    reading, outcome = exercise.readings[place], exercise.actual_outcome[place]
    names = exercise.specification.names
    kind = "state" if test.sorting in _WORDED else test.measure.true_kind
    # A test in a wrong state has the scale of the proper one, and no band of its own.
    has_band = kind != "state" and not test.mistake and scale.band is not None
    return WholeTest(
        id=test.id,
        title=names.fill(test.title),
        before=names.fill(test.before),
        minutes=test.minutes,
        hazards=names.fill_each(test.hazards),
        sorting=test.sorting,
        setup=_named(reading.network, names.coil_supply),
        measures=_measured(test, kind, names.coil_supply),
        true_value=outcome if kind == "state" else _finite(reading.value),
        unit=UNITS[kind],
        display=reading.said,
        outcome=outcome,
        outcomes=exercise.choices[place],
        sound_outcome=exercise.sound_outcome[place],
        expected_band=scale.band if has_band else None,
        mistake=names.fill(test.mistake),
        statement=right_statement(statements, outcome),
        statements=tuple(
            statement_key(each, each.misconception_at(outcome)) for each in statements
        ),
        **_scoped(reading),
    )


def _finite(value: float) -> float | None:
    # JSON has no endless number.
    return value if math.isfinite(value) else None


def _scoped(reading: Reading) -> dict[str, Any]:
    """What a scope reads, and what of the coil only a transient shows."""
    if reading.turn_off is None:
        return {}
    coil = coil_of(reading.turn_off.circuit)
    return {"peak_to_peak_v": reading.value, "coil": _coil(coil)}


def _coil(coil: Coil) -> CoilRecord:
    diode_ohm, winding = coil.suppression.diode_ohm, coil.winding
    has_diode = math.isfinite(diode_ohm)
    return CoilRecord(
        inductance_h=winding.inductance_h,
        loss_ohm=winding.loss_ohm,
        stray_f=winding.stray_f,
        diode_v=coil.suppression.diode_v if has_diode else None,
        diode_ohm=diode_ohm if has_diode else None,
        is_diode_reversed=coil.is_diode_reversed,
    )


def _measured(test: DiagnosticTest, kind: str, coil_supply: str) -> Measured:
    target = test.measure.target
    if kind == "current":
        return Measured(kind=kind, branch=target)
    if kind == "voltage":
        plus, minus = PROBES[target]
    elif kind == "resistance":
        plus, minus = ("load+", "load-") if target == "load" else ("86", "85")
    else:
        of = "turn-off" if test.sorting == "turn-off" else target
        return Measured(kind=kind, of=of)
    return Measured(
        kind=kind,
        node_plus=_terminal(plus, coil_supply),
        node_minus=_terminal(minus, coil_supply),
    )
