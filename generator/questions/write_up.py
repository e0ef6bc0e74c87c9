"""Readings of the planned way, to be concluded from and written up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from generator.drawing.after_repair import look_again, verification_of
from generator.drawing.exercise import Exercise
from generator.drawing.stream import Stream
from generator.model.catalogue.repairs import repair_text
from generator.questions.question import Line, Question, choice_of, wrong
from workbook.texts import _, later

# Four options fit a phone without scrolling.
_OTHERS = 3
_CHECKLIST = (
    later("The complaint is what the operator noticed, not what you think is broken"),
    later("The cause names one part and what is wrong with it"),
    later("A reading with its unit stands behind the cause"),
    later("The correction mends that cause, and names the part"),
    later("The reading after the repair is there to prove it"),
)


def write_up_questions(exercise: Exercise, stream: Stream) -> Iterator[Question]:
    """Return the readings, ask what they prove, and have three lines written of it."""
    given = _("Readings taken: {readings}").format(readings=_readings(exercise))
    names, fault = exercise.specification.names, exercise.fault
    # The proof keeps no complaint whose causes all have one repair: there are others.
    others = [f for f in exercise.candidates if f.repair != fault.repair]
    some = stream.shuffled(others)[:_OTHERS]
    question = choice_of(
        "proved_cause",
        _("Which cause do these readings prove?"),
        (
            names.fill(fault.title),
            _("Every reading fits it, and no other repair's."),
        ),
        [
            wrong(
                names.fill(each.title),
                _("One of the readings cannot come from it."),
                "ruled_out_cause",
            )
            for each in some
        ],
    )
    yield replace(question, help=given)
    # Two causes with one repair give that repair once.
    repairs = dict.fromkeys(each.repair for each in some)
    yield choice_of(
        "right_correction",
        _("Which correction does that cause need?"),
        (names.fill(repair_text(fault.repair)), _("It mends what is broken.")),
        [
            wrong(
                names.fill(repair_text(repair)),
                _beside(repair, fault.repair),
                "repair_beside_cause",
            )
            for repair in repairs
        ],
    )
    kept = _("These lines are kept for your instructor to read.")
    yield Question(
        id="three_lines",
        kind="lines",
        label=_("Write it up in three lines"),
        help=f"{given} {kept}",
        lines=_lines(exercise),
        checklist=tuple(map(_, _CHECKLIST)),
    )


def _beside(repair: str, right: str) -> str:
    """Say why a correction is not the right one: of two faults it may mend one."""
    mended, broken = set(repair.split("+")), set(right.split("+"))
    if mended < broken:
        return _("It mends only one of the two parts that are broken.")
    if mended > broken:
        return _("It mends a sound part, too.")
    return _("It mends another part.")


def _lines(exercise: Exercise) -> tuple[Line, ...]:
    fill = exercise.specification.names.fill
    correction = fill(repair_text(exercise.fault.repair))
    proved = _("{correction}. Proved: {proof} {look}")
    return (
        Line(id="complaint", label=_("Complaint"), model=exercise.complaint),
        Line(id="cause", label=_("Cause"), model=f"{fill(exercise.fault.title)}."),
        Line(
            id="correction",
            label=_("Correction"),
            model=proved.format(
                correction=correction,
                proof=verification_of(exercise).right,
                look=look_again(exercise),
            ),
        ),
    )


def _readings(exercise: Exercise) -> str:
    """Follow the plan along what this vehicle shows."""
    fill = exercise.specification.names.fill
    said = (
        f"{fill(exercise.tests[place].title)}: {exercise.readings[place].said}"
        for place, _left in exercise.way
    )
    return "; ".join(said) + "."
