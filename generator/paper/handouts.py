"""A student's handout: every exercise on paper, with an order form for readings."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from string import ascii_uppercase
from typing import Any, TypeVar

from generator.drawing.exercise import Exercise
from generator.drawing.wording import with_marks
from generator.paper.printing import page_text
from generator.paper.shared_words import (
    Entries,
    SharedWords,
    marked_in,
    said_again,
    sentences,
    shared_words,
)
from generator.paper.slips import Place
from generator.pictures.circuit_text import diagram_of, sheet_rows
from generator.questions.asked import tells_complaint
from generator.workbooks.page_records import page_record
from generator.workbooks.workbook import Workbook
from workbook.record import payload
from workbook.record.circuit import Section, Statement
from workbook.record.plain import plain
from workbook.texts import _
from workbook.titles import SHARED_MARK, shared_ending, short_title

ORDERS = 8
"""Lines of the order form."""


_Labelled = TypeVar("_Labelled", payload.Choice, Section)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """What tests of the whole handout share."""

    ways: SharedWords
    hazards: SharedWords
    before: SharedWords
    outcomes: SharedWords

    @property
    def first_page(self) -> Entries:
        """What more than one exercise says."""
        sorts = (self.ways, self.hazards, self.before, self.outcomes)
        return [entry for sort in sorts for entry in sort.first_page]

    def own(self, tests: Sequence[payload.DiagnosticTest]) -> Entries:
        """What only the tests of one exercise say."""
        return [
            *self.ways.own(_ways(tests, self.ways.marks)),
            *self.hazards.own(_hazards(tests)),
            *self.before.own(_before(tests)),
            *self.outcomes.own(_outcomes(tests)),
        ]


def handout_text(workbook: Workbook, codes: Mapping[Place, str]) -> str:
    """Write the handout of one student as one HTML page, in the language spoken.

    It holds no reading but those of tests that are done for the student.

    Parameters
    ----------
    codes : mapping
        As `reading_codes` gives them.
    """
    # A graded page has no feedback, and with it no answers.
    pages = [
        _plain_page(page_record(exercise, number, "graded"), exercise)
        for number, exercise in enumerate(workbook.exercises, start=1)
    ]
    words = _words(pages)
    return page_text(
        "handout.html.j2",
        workbook=workbook,
        words=with_marks(words.first_page),
        exercises=with_marks(
            [
                _exercise(exercise, page, words, _codes(workbook, page, codes))
                for exercise, page in zip(workbook.exercises, pages, strict=True)
            ]
        ),
        orders=range(ORDERS),
    )


def _plain_page(page: payload.Exercise, exercise: Exercise) -> payload.Exercise:
    """Say “the load” where each exercise names its own, so that tests share words.

    A name in brackets, as in German, only reminds of what the heading says.
    """
    name = exercise.specification.names.load
    in_brackets, load = f" ({name})", _("load")

    def without(texts: tuple[_Labelled, ...]) -> tuple[_Labelled, ...]:
        return tuple(
            replace(one, label=one.label.replace(in_brackets, "")) for one in texts
        )

    return replace(
        page,
        sections=without(page.sections),
        causes=without(page.causes),
        corrections=without(page.corrections),
        tests=tuple(
            replace(
                test,
                title=test.title.replace(in_brackets, ""),
                how=test.how.replace(in_brackets, "").replace(name, load),
                before=test.before.replace(in_brackets, "").replace(name, load),
            )
            for test in page.tests
        ),
    )


def _codes(
    workbook: Workbook, page: payload.Exercise, codes: Mapping[Place, str]
) -> list[str]:
    return [codes[workbook.student, page.number, test.id] for test in page.tests]


def _words(pages: Sequence[payload.Exercise]) -> _Words:
    again = said_again(test.how for page in pages for test in page.tests)
    return _Words(
        ways=shared_words("M", [list(_ways(page.tests, again)) for page in pages]),
        hazards=shared_words("H", [list(_hazards(page.tests)) for page in pages]),
        before=shared_words("B", [list(_before(page.tests)) for page in pages]),
        outcomes=shared_words("R", [list(_outcomes(page.tests)) for page in pages]),
    )


def _ways(
    tests: Sequence[payload.DiagnosticTest], again: Container[str]
) -> Iterator[str]:
    return (said for test in tests for said in marked_in(test.how, again))


def _hazards(tests: Sequence[payload.DiagnosticTest]) -> Iterator[str]:
    return (hazard for test in tests for hazard in test.hazards)


def _before(tests: Sequence[payload.DiagnosticTest]) -> Iterator[str]:
    return (said for test in tests for said in sentences(test.before))


def _outcomes(tests: Sequence[payload.DiagnosticTest]) -> Iterator[str]:
    return (_words_of(test) for test in tests)


def _words_of(test: payload.DiagnosticTest) -> str:
    """The outcomes of a test, apart although some have commas in them."""
    return " / ".join(_(outcome) for outcome in test.outcomes)


def _exercise(
    exercise: Exercise, page: payload.Exercise, words: _Words, codes: Sequence[str]
) -> dict[str, Any]:
    diagram = diagram_of(exercise.specification)
    given = {
        "number": page.number,
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
        **_diagnosis(page, scales, words, codes),
        **_done(page, hows),
    }


def _diagnosis(
    page: payload.Exercise, scales: Sequence[str], words: _Words, codes: Sequence[str]
) -> dict[str, Any]:
    """Everything to choose from; what many tests share stands behind marks."""
    letters = {
        section.id: letter
        # No circuit has as many sections as there are letters.
        for section, letter in zip(page.sections, ascii_uppercase, strict=False)
    }
    places = {place.id: f"P{n}" for n, place in enumerate(page.places, start=1)}
    ending = shared_ending(test.title for test in page.tests)
    return {
        "places": [
            (places[one.id], one.label, one.where, one.minutes, one.risk)
            for one in page.places
        ],
        "own_words": words.own(page.tests),
        "sections": [(letters[each.id], each.label) for each in page.sections],
        "ending": f"{SHARED_MARK} {ending}" if ending else "",
        "tests": [
            {
                "title": short_title(test.title, ending),
                "how": _how(test, words),
                "minutes": test.minutes,
                "marks": _marks(test, places, words),
                "scale": scale,
                "code": code,
                "statements": [
                    (said.id, _short(said, letters)) for said in test.statements
                ],
            }
            for test, scale, code in zip(page.tests, scales, codes, strict=True)
        ],
        "causes": [(cause.id, cause.label) for cause in page.causes],
        "corrections": [(one.id, one.label) for one in page.corrections],
        "verifications": list(_after_repair(page)),
    }


def _how(test: payload.DiagnosticTest, words: _Words) -> str:
    """How a test is done; what many tests say is its mark alone."""
    how = test.how
    for said in marked_in(how, words.ways.marks):
        stop = "." if said.endswith(".") else ""
        how = how.replace(said, words.ways.marks[said] + stop, 1)
    return how


def _marks(
    test: payload.DiagnosticTest, places: Mapping[str, str], words: _Words
) -> str:
    """The marks of a test, sort by sort: ``P1,2 H3 B1,4 R2``."""
    sorts = (
        [places[place] for place in test.needs],
        [words.hazards.marks[hazard] for hazard in test.hazards],
        [words.before.marks[said] for said in sentences(test.before)],
        [words.outcomes.marks[_words_of(test)]],
    )
    return " ".join(_joined(marks) for marks in sorts if marks)


def _joined(marks: Sequence[str]) -> str:
    numbers = sorted(int(mark[1:]) for mark in marks)
    return marks[0][0] + ",".join(map(str, numbers))


def _after_repair(page: payload.Exercise) -> Iterator[tuple[str, str]]:
    """What is asked after which corrections, last after all others."""
    after_repair = _("After the repair: {test}").format(test="")
    by_text = dict[str, list[str]]()
    for correction in page.corrections:
        if (asked := page.asked_after(correction.id)) is not None:
            label = asked.label.removeprefix(after_repair)
            by_text.setdefault(label, []).append(correction.id)
    # Nearly all corrections ask the same test again, so that only the others are named.
    *few, (most, _corrections) = sorted(by_text.items(), key=lambda one: len(one[1]))
    yield from ((", ".join(corrections), label) for label, corrections in few)
    yield "", most


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


def _short(said: Statement, letters: Mapping[str, str]) -> str:
    """A statement by the letters of its sections, from its shorter side."""
    cleared, suspect = (
        "".join(letters[id_] for id_ in side) for side in (said.cleared, said.suspect)
    )
    if not cleared:
        return "–"
    if len(suspect) <= len(cleared):
        return _("in\u00a0{parts}").format(parts=suspect)
    return _("not\u00a0{parts}").format(parts=cleared)
