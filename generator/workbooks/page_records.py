"""An exercise as the student's page has it: readings and the words on offer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from answer_keys.decoding import copied_as
from answer_keys.method import DEFAULT_METHOD, Step
from generator.drawing.after_repair import verification_of
from generator.drawing.exercise import Exercise
from generator.drawing.turn_off import TurnOff
from generator.model.catalogue.repairs import repair_text
from generator.model.measure import DiagnosticTest
from generator.pictures.circuit_text import diagram_of, sheet_rows
from generator.questions.asked import questions_of, tells_complaint, title_of
from generator.questions.question_records import (
    number_asked,
    picture_of,
    question_asked,
)
from generator.workbooks.bench_records import bench_of
from generator.workbooks.feedback import feedback_of
from generator.workbooks.given import given_of
from generator.workbooks.offered import codes_of, repairs_offered
from generator.workbooks.signs import range_of, signs_of, spot_of, tool_of
from generator.workbooks.statements import Statement, sections_in, statements_in
from workbook.record import payload
from workbook.record.circuit import Circuit
from workbook.record.readings import Reading
from workbook.texts import _, decimal


def page_record(
    exercise: Exercise,
    number: int,
    mode: str,
    method: Sequence[Step] = DEFAULT_METHOD,
) -> payload.Exercise:
    """What the student's page needs of one exercise; readings, no answers.

    Only a practice set carries feedback, and with it the answers and the house method.
    """
    # What else a diagnosis has, readings and causes, would answer some of them.
    if questions := questions_of(exercise):
        return payload.Exercise(
            number=number,
            title=title_of(exercise),
            kind=exercise.radical.kind,
            questions=tuple(question_asked(each, mode) for each in questions),
            circuit=_circuit(exercise),
        )
    fill, codes = exercise.specification.names.fill, codes_of(exercise)
    repairs, statements = repairs_offered(exercise), statements_in(exercise)
    return payload.Exercise(
        number=number,
        title=title_of(exercise),
        given=given_of(exercise, statements),
        predictions=tuple(number_asked(each) for each in exercise.predictions),
        places=tuple(
            copied_as(payload.Place, each) for each in exercise.specification.places
        ),
        sections=sections_in(exercise),
        tests=tuple(_tests(exercise, mode, statements)),
        causes=tuple(
            payload.Choice(id=codes[fault.id], label=fill(fault.title))
            for fault in exercise.candidates
        ),
        corrections=tuple(
            payload.Choice(id=codes[repair], label=fill(repair_text(repair)))
            for repair in repairs
        ),
        verification=(first := number_asked(verification_of(exercise, repairs[0]))),
        verifications={
            codes[repair]: asked
            for repair in repairs[1:]
            if (asked := number_asked(verification_of(exercise, repair))) != first
        },
        feedback=(
            feedback_of(exercise, codes, statements, method)
            if mode == "practice"
            else None
        ),
        circuit=_circuit(exercise),
        is_unlisted=exercise.radical.is_unlisted,
        # Only a practice page measures by itself: an examination asks its room, and a
        # graded page would have to hold the circuit.
        bench=(
            None
            if mode == "graded"
            else bench_of(exercise, has_model=mode == "practice")
        ),
    )


def _circuit(exercise: Exercise) -> Circuit:
    """What a student has of the circuit beforehand, as the notebook tells it, too."""
    diagram = diagram_of(exercise.specification)
    return Circuit(
        complaint=exercise.complaint if tells_complaint(exercise) else "",
        svg=diagram.svg,
        alt=diagram.alt,
        spots=diagram.spots,
        parts=diagram.rows,
        sheet=tuple(sheet_rows(exercise.specification)),
    )


def readings_kept(exercise: Exercise) -> dict[str, Reading]:
    """Return the readings of an examination by test, as the page shows them.

    They stay with the instructor, and are given one by one.
    """
    return {
        test.id: Reading(
            display=decimal(reading.said),
            picture=_pictured(reading.turn_off),
            range=range_of(test, reading.display),
        )
        for test, reading in zip(exercise.tests, exercise.readings, strict=True)
    }


def _pictured(shown: TurnOff | None) -> payload.Picture | None:
    picture = picture_of(shown)
    if picture is None:
        return None
    return payload.Picture(svg=picture.svg, alt=decimal(picture.alt))


def _tests(
    exercise: Exercise, mode: str, statements_of: Sequence[Sequence[Statement]]
) -> Iterator[payload.DiagnosticTest]:
    has_readings = mode != "examination"
    names = exercise.specification.names
    is_shared = exercise.specification.variant.fuses == "shared"
    said = zip(exercise.tests, exercise.readings, statements_of, strict=True)
    for place, (test, reading, statements) in enumerate(said):
        yield payload.DiagnosticTest(
            id=test.id,
            title=names.fill(test.title),
            how=names.fill(test.how),
            before=names.fill(test.before),
            minutes=test.minutes,
            needs=test.needs,
            hazards=names.fill_each(test.hazards),
            outcomes=exercise.choices[place],
            display=reading.said if has_readings else "",
            instrument=_instrument(test),
            statements=tuple(each.said for each in statements),
            picture=picture_of(reading.turn_off) if has_readings else None,
            range=range_of(test, reading.display) if has_readings else "",
            tool=tool_of(test),
            at=spot_of(test, is_shared=is_shared),
            signs=signs_of(test, is_shared=is_shared),
        )


def _instrument(test: DiagnosticTest) -> str:
    measure = test.measure
    if measure.sense or measure.target in ("codes", "command"):
        return _("scan tool")
    if test.is_by_eye:
        return _("what there is to see, hear or feel")
    if measure.kind == "spike":
        return _("scope behind a 100:1 probe")
    if measure.clamp:
        text = (
            _("clamp probe on its {scale} scale")
            if measure.clamp.left_over_a
            else _("clamp probe on its {scale} scale, zeroed")
        )
        return text.format(scale=measure.clamp.scale_text)
    if measure.kind == "warmth":
        return _("thermometer, contact or infrared")
    if measure.kind == "resistance" and measure.target == "load":
        return _("milliohm meter with four leads")
    is_ohms = measure.kind == "resistance"
    return _("meter on ohms") if is_ohms else _("meter on DC volts")
