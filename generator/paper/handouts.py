"""A student's handout: every exercise on paper, with an order form for readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from string import ascii_uppercase
from typing import Any

from generator.drawing.exercise import Exercise
from generator.drawing.wording import with_marks
from generator.paper.printing import page_text
from generator.paper.slips import Place
from generator.pictures.circuit_text import diagram_of, sheet_rows
from generator.questions.asked import tells_complaint
from generator.workbooks.page_records import page_record
from generator.workbooks.workbook import Workbook
from workbook.record import payload
from workbook.record.plain import plain
from workbook.texts import _

ORDERS = 8
"""Lines of the order form."""


def handout_text(workbook: Workbook, codes: Mapping[Place, str]) -> str:
    """Write the handout of one student as one HTML page, in the language spoken.

    It holds no reading but those of tests that are done for the student.

    Parameters
    ----------
    codes : mapping
        As `reading_codes` gives them.
    """
    return page_text(
        "handout.html.j2",
        workbook=workbook,
        aims=[("–", aim) for aim in workbook.aims],
        exercises=with_marks(
            [
                _exercise(exercise, number, workbook.student, codes)
                for number, exercise in enumerate(workbook.exercises, start=1)
            ]
        ),
        orders=range(ORDERS),
    )


def _exercise(
    exercise: Exercise, number: int, student: str, codes: Mapping[Place, str]
) -> dict[str, Any]:
    # A graded page has no feedback, and with it no answers.
    page = page_record(exercise, number, "graded")
    diagram = diagram_of(exercise.specification)
    given = {
        "number": number,
        "title": page.title,
        "complaint": exercise.complaint if tells_complaint(exercise) else "",
        "diagram": diagram.svg,
        "circuit": diagram.rows,
        "sheet": sheet_rows(exercise.specification),
        "questions": plain(page.questions),
    }
    if page.questions:
        return given
    clamps = [test.measure.clamp for test in exercise.tests]
    scales = [clamp.scale_text if clamp else "" for clamp in clamps]
    # What is said to a wrong number tells the whole way to the right one.
    hows = [each.wrong for each in exercise.predictions]
    return {
        **given,
        **_diagnosis(page, scales, student, codes),
        **_done(page, hows),
    }


def _diagnosis(
    page: payload.Exercise,
    scales: Sequence[str],
    student: str,
    codes: Mapping[Place, str],
) -> dict[str, Any]:
    """Everything to choose from; what many tests share is printed once."""
    hazards = list(dict.fromkeys(h for test in page.tests for h in test.hazards))
    letters = {
        section.id: letter
        for section, letter in zip(page.sections, ascii_uppercase, strict=False)
    }
    places = {place.id: f"P{n}" for n, place in enumerate(page.places, start=1)}
    return {
        "places": [
            (places[one.id], one.label, one.where, one.minutes, one.risk)
            for one in page.places
        ],
        "hazards": [(f"H{n}", hazard) for n, hazard in enumerate(hazards, start=1)],
        "sections": [(letters[each.id], each.label) for each in page.sections],
        "tests": [
            {
                "title": test.title,
                "how": test.how,
                "before": test.before,
                "minutes": test.minutes,
                "needs": [places[place] for place in test.needs],
                "outcomes": [_(outcome) for outcome in test.outcomes],
                "scale": scale,
                "code": codes[student, page.number, test.id],
                "hazards": [hazards.index(h) + 1 for h in test.hazards],
                "statements": [
                    (said.id, _short(said, letters)) for said in test.statements
                ],
            }
            for test, scale in zip(page.tests, scales, strict=True)
        ],
        "causes": [(cause.id, cause.label) for cause in page.causes],
        "corrections": [(one.id, one.label) for one in page.corrections],
        "verification": plain(page.verification),
    }


def _done(page: payload.Exercise, hows: Sequence[str]) -> dict[str, Any]:
    """Fill in what is done for the student; ``hows`` say how each number comes."""
    start = page.start
    numbers = [
        {**plain(asked), "given": start.predictions.get(asked.id), "how": how}
        for asked, how in zip(page.predictions, hows, strict=True)
    ]
    places = {test.id: place for place, test in enumerate(page.tests, start=1)}
    orders = [
        {
            "number": places[done.item],
            "expected": _(done.expected),
            "display": page.test(done.item).display,
            "outcome": _(done.outcome) if done.outcome else "",
            "statement": done.statement,
        }
        for done in start.tests
    ]
    return {"predictions": numbers, "orders": orders}


def _short(said: payload.Statement, letters: Mapping[str, str]) -> str:
    """A statement by the letters of its sections, from its shorter side."""
    cleared, suspect = (
        " ".join(letters[id_] for id_ in side) for side in (said.cleared, said.suspect)
    )
    if not cleared:
        return _("nothing yet")
    if len(suspect) <= len(cleared):
        return _("fault in {parts}").format(parts=suspect)
    return _("clears {parts}").format(parts=cleared)
