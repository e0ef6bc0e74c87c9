"""An exercise as data: what the student's page gets, and what the key holds."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from generator.drawing.difficulty import features_of, predicted_loss_percent
from generator.drawing.exercise import Exercise
from generator.drawing.predictions import Prediction
from generator.drawing.vehicle import Reading
from generator.model.diagnostics import choices_of
from generator.model.faults import FAULTS
from generator.model.measure import DiagnosticTest
from generator.model.network import Network
from generator.model.reasoning import Reasoning
from generator.model.repairs import repair_text
from generator.model.topology import PROBES
from generator.model.turn_off import Coil, coil_of
from generator.pictures.scope import turn_off_picture
from generator.questions.asked import KIND_TITLES, questions_of
from generator.questions.question import Question
from generator.questions.question_records import (
    answer_record,
    asked_record,
    number_record,
    told_record,
)
from generator.workbooks.feedback import feedback_of, plan_feedback
from generator.workbooks.given import given_steps
from generator.workbooks.statements import (
    proof_record,
    said_record,
    sections_in,
    statements_in,
)
from workbook.texts import _

_UNITS = {"current": "A", "voltage": "V", "resistance": "Ω", "state": ""}
# What a network that carries steady currents cannot check is given by its word.
_WORDED = ("work", "turn-off")


def codes_of(exercise: Exercise) -> dict[str, str]:
    """Codes of causes and corrections on the page, by fault and by repair.

    They number what is offered in the order of the catalogue, so that they say
    nothing of the answer.
    """
    repairs = _repairs(exercise)
    causes = {f.id: f"c{n:02}" for n, f in enumerate(exercise.candidates, start=1)}
    return causes | {r: f"r{n:02}" for n, r in enumerate(repairs, start=1)}


def _repairs(exercise: Exercise) -> tuple[str, ...]:
    """Repairs on offer, in the order of the catalogue."""
    offered = {fault.repair for fault in exercise.candidates}
    return tuple(
        dict.fromkeys(f.repair for f in FAULTS.values() if f.repair in offered)
    )


def title_of(exercise: Exercise) -> str:
    """Heading of an exercise: the vehicle and what it does."""
    names = exercise.specification.names
    kind = exercise.radical.kind
    if kind == "diagnosis":
        return f"{names.vehicle}: {names.load} {_(exercise.symptom)}"
    return f"{names.vehicle}, {names.load}: {_(KIND_TITLES[kind])}"


def tells_complaint(exercise: Exercise) -> bool:
    """Whether the student is told the complaint: where a cause is asked for."""
    return exercise.radical.kind in ("diagnosis", "write-up")


def page_record(exercise: Exercise, number: int, mode: str) -> dict[str, Any]:
    """What the student's page needs of one exercise; readings, no answers.

    Only a practice set carries feedback, and with it the answers.
    """
    names, codes = exercise.specification.names, codes_of(exercise)
    if questions := questions_of(exercise):
        return _questions_page(exercise, number, mode, questions)
    return {
        "number": number,
        "title": title_of(exercise),
        "kind": "diagnosis",
        "questions": [],
        "given": given_steps(exercise),
        "predictions": [_question(p) for p in exercise.predictions],
        "sections": [asdict(section) for section in sections_in(exercise)],
        "tests": [
            {
                "id": test.id,
                "title": names.fill(test.title),
                "how": names.fill(test.how),
                "before": names.fill(test.before),
                "minutes": test.minutes,
                "hazards": [_(hazard) for hazard in test.hazards],
                "outcomes": list(choices_of(test, scale)),
                "display": reading.said,
                "instrument": _instrument(test),
                "statements": [said_record(statement) for statement in statements],
                **_picture(reading),
            }
            for test, scale, reading, statements in zip(
                exercise.tests,
                exercise.scales,
                exercise.readings,
                statements_in(exercise),
                strict=True,
            )
        ],
        "causes": [
            {"id": codes[f.id], "label": names.fill(f.title)}
            for f in exercise.candidates
        ],
        "corrections": [
            {"id": codes[repair], "label": names.fill(repair_text(repair))}
            for repair in _repairs(exercise)
        ],
        "verification": _question(exercise.verification),
        "feedback": _feedback(exercise, codes) if mode == "practice" else None,
    }


def _questions_page(
    exercise: Exercise, number: int, mode: str, questions: Sequence[Question]
) -> dict[str, Any]:
    """Ask questions, with nothing of a diagnosis on the page."""
    told = {each.id: told_record(each) for each in questions}
    nothing = ("given", "predictions", "sections", "tests", "causes", "corrections")
    return {
        "number": number,
        "title": title_of(exercise),
        "kind": exercise.radical.kind,
        "questions": [asked_record(each) for each in questions],
        **{name: [] for name in nothing},
        "verification": None,
        "feedback": {"questions": told} if mode == "practice" else None,
    }


def _feedback(exercise: Exercise, codes: Mapping[str, str]) -> dict[str, object]:
    # The very plan that grading follows, so that page and marks judge alike.
    return {
        **feedback_of(exercise, codes),
        "plan": plan_feedback(exercise, codes, exercise.plan),
    }


def _question(prediction: Prediction) -> dict[str, str]:
    return {
        "id": prediction.id,
        "label": prediction.label,
        "unit": prediction.unit,
        "help": prediction.help,
    }


def _picture(reading: Reading) -> dict[str, Any]:
    """The screen of a scope, where that is what is read."""
    if reading.turn_off is None:
        return {}
    picture = turn_off_picture(reading.turn_off)
    return {"picture": {"svg": picture.svg, "alt": picture.alt}}


def _instrument(test: DiagnosticTest) -> str:
    measure = test.measure
    if test.is_by_eye:
        return _("what there is to see or feel")
    if measure.kind == "spike":
        return _("scope behind a 100:1 probe")
    if measure.clamp:
        text = (
            _("clamp probe on its {scale} scale")
            if measure.clamp.left_over_a
            else _("clamp probe on its {scale} scale, zeroed")
        )
        return text.format(scale=measure.clamp.scale_text)
    is_ohms = measure.kind == "resistance"
    return _("meter on ohms") if is_ohms else _("meter on DC volts")


def key_record(
    exercise: Exercise, number: int, identity: Mapping[str, str]
) -> dict[str, Any]:
    """Everything there is to know of one exercise: grading and the instructor's view.

    Parameters
    ----------
    exercise : Exercise
    number : int
        Its place in the workbook, from 1.
    identity : mapping
        ``set_id``, ``student`` and ``lesson``.
    """
    names, codes = exercise.specification.names, codes_of(exercise)
    fault = exercise.fault
    return {
        **identity,
        "exercise": number,
        "family": exercise.radical.family,
        "vehicle": names.vehicle,
        "title": title_of(exercise),
        "kind": exercise.radical.kind,
        "questions": [answer_record(each) for each in questions_of(exercise)],
        "complaint": exercise.complaint,
        "given": given_steps(exercise),
        "circuit": {
            "variant": exercise.specification.variant.text,
            **_network(exercise.sound_network, names.coil_supply),
            "coil": _coil(exercise.sound_coil),
        },
        "fault": {"id": fault.id, "repair": fault.repair},
        "difficulty": _difficulty(exercise),
        "specification": [
            {
                "quantity": row.quantity,
                "value": row.value,
                "unit": row.unit,
                "tolerance_percent": row.tolerance_percent,
            }
            for row in exercise.specification.sheet
        ],
        "sections": [asdict(section) for section in sections_in(exercise)],
        "tests": [
            _test(exercise, place) | proof_record(statements, outcome)
            for place, (statements, outcome) in enumerate(
                zip(statements_in(exercise), exercise.actual_outcome, strict=True)
            )
        ],
        "predictions": [number_record(p) for p in exercise.predictions],
        "verification": number_record(exercise.verification),
        "causes": [
            {"id": codes[f.id], "label": names.fill(f.title), "fault": f.id}
            for f in exercise.candidates
        ],
        "corrections": [
            {
                "id": codes[repair],
                "label": names.fill(repair_text(repair)),
                "repair": repair,
            }
            for repair in _repairs(exercise)
        ],
        "reasoning": _reasoning(exercise.reasoning),
        "planned": [exercise.tests[test].id for test, _left in exercise.way],
    }


def _reasoning(table: Reasoning) -> dict[str, Any]:
    return {
        "faults": [
            {**asdict(fault), "sections": list(fault.sections)}
            for fault in table.faults
        ],
        "tests": list(table.tests),
        "minutes": list(table.minutes),
        "outcomes": [list(row) for row in table.outcomes],
        "repair_minutes": dict(table.repair_minutes),
    }


def _difficulty(exercise: Exercise) -> dict[str, float]:
    features = features_of(exercise)
    return {"percent": predicted_loss_percent(features), **asdict(features)}


def _terminal(node: str, coil_supply: str) -> str:
    """Name of a node, the coil's terminals as this circuit has them."""
    swapped = {"86": "85", "85": "86"} if coil_supply == "85" else {}
    return swapped.get(node, node)


def _network(network: Network, coil_supply: str) -> dict[str, Any]:
    return {
        "ground": _terminal(network.ground, coil_supply),
        "branches": [
            {
                "name": b.name,
                "node_from": _terminal(b.node_from, coil_supply),
                "node_to": _terminal(b.node_to, coil_supply),
                "resistance_ohm": b.resistance_ohm,
                "emf_v": b.emf_v,
            }
            for b in network.branches
        ],
    }


def _test(exercise: Exercise, place: int) -> dict[str, Any]:
    test, scale = exercise.tests[place], exercise.scales[place]
    reading = exercise.readings[place]
    outcome = exercise.actual_outcome[place]
    coil_supply = exercise.specification.names.coil_supply
    kind = "state" if test.sorting in _WORDED else test.measure.true_kind
    has_band = kind != "state" and not test.mistake
    value: float | str | None = reading.value
    if kind == "state":
        value = outcome
    elif not math.isfinite(reading.value):
        value = None
    return {
        "id": test.id,
        "title": exercise.specification.names.fill(test.title),
        "before": exercise.specification.names.fill(test.before),
        "minutes": test.minutes,
        "hazards": list(test.hazards),
        "setup": _network(reading.network, coil_supply),
        **_scoped(reading),
        "measures": _measures(test, kind, coil_supply),
        "true_value": value,
        "unit": _UNITS[kind],
        "display": reading.display,
        "outcome": outcome,
        "outcomes": list(choices_of(test, scale)),
        "sound_outcome": exercise.sound_outcome[place],
        "expected_band": list(scale.band) if has_band and scale.band else None,
        "mistake": exercise.specification.names.fill(test.mistake),
    }


def _scoped(reading: Reading) -> dict[str, Any]:
    """What a scope reads, and what of the coil only a transient shows."""
    if reading.turn_off is None:
        return {}
    coil = coil_of(reading.turn_off.circuit)
    return {"peak_to_peak_v": reading.value, "coil": _coil(coil)}


def _coil(coil: Coil) -> dict[str, float | None]:
    diode_ohm, winding = coil.suppression.diode_ohm, coil.winding
    has_diode = math.isfinite(diode_ohm)
    return {
        "inductance_h": winding.inductance_h,
        "loss_ohm": winding.loss_ohm,
        "stray_f": winding.stray_f,
        "diode_v": coil.suppression.diode_v if has_diode else None,
        "diode_ohm": diode_ohm if has_diode else None,
    }


def _measures(test: DiagnosticTest, kind: str, coil_supply: str) -> dict[str, str]:
    target = test.measure.target
    if kind == "current":
        return {"kind": kind, "branch": target}
    if kind == "voltage":
        plus, minus = PROBES[target]
    elif kind == "resistance":
        plus, minus = ("load+", "load-") if target == "load" else ("86", "85")
    else:
        return {
            "kind": kind,
            "of": "turn-off" if test.sorting == "turn-off" else target,
        }
    return {
        "kind": kind,
        "node_plus": _terminal(plus, coil_supply),
        "node_minus": _terminal(minus, coil_supply),
    }
