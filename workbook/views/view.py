"""Describe an exercise's page as plain JSON values; pure.

A view is a title and sections; a section has parts; a part is a form, an answer, a
reading, a table, two tables, remarks, a list of details or a text, each with a ``key``
that stays the same as long as the part is the same thing. The page draws what it is
given and knows nothing of circuits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from workbook.judging.choice_feedback import judge_choice
from workbook.judging.feedback import (
    Remark,
    count_causes,
    judge_conclusion,
    judge_expectation,
    judge_finding,
    judge_proof,
)
from workbook.judging.planned import minutes_of, open_places
from workbook.judging.statements import listed
from workbook.record.payload import (
    Choice,
    DiagnosticTest,
    Exercise,
    Judgement,
    NumberAsked,
)
from workbook.record.progress import ExerciseProgress, TestDone
from workbook.texts import _, figure, language
from workbook.views.finding_view import circuit_part, finding_form
from workbook.views.given_view import (
    explain_test,
    given_intro,
    given_number,
    given_readings,
    title_of,
)
from workbook.views.practice_view import hint_parts, ways_part
from workbook.views.question_view import question_section
from workbook.views.view_parts import (
    notice,
    number_part,
    reading_part,
    remarks,
    section,
    select_field,
    state_of,
    text_part,
)

Part = dict[str, Any]


def exercise_view(
    exercise: Exercise, progress: ExerciseProgress, notices: Sequence[Part] = ()
) -> Part:
    """Describe one exercise as far as it has come.

    Parameters
    ----------
    exercise : Exercise
        What is asked; with feedback in a practice set.
    progress : ExerciseProgress
        What is recorded.
    notices : sequence of dict
        What to say above everything, as `notice` builds it.

    Returns
    -------
    dict
        JSON values only.
    """
    return {
        "language": language(),
        "label": exercise_label(exercise.number),
        "title": exercise.title,
        "notices": list(notices),
        "sections": _sections(exercise, progress),
    }


def _sections(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Questions alone, or the steps of a diagnosis."""
    if exercise.questions:
        return [question_section(exercise, progress)]
    return [
        _prediction_section(exercise, progress),
        _test_section(exercise, progress),
        _conclusion_section(exercise, progress),
        _verification_section(exercise, progress),
    ]


def exercise_label(number: int) -> str:
    """Name an exercise."""
    return _("Exercise {number}").format(number=number)


def trouble_view(number: int, message: str) -> Part:
    """Describe a page that can only say what is wrong."""
    return {
        "language": language(),
        "label": exercise_label(number),
        "title": "",
        "notices": [notice("wrong", _("This exercise cannot be opened."), message)],
        "sections": [],
    }


def _prediction_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask for every prediction, each in a form of its own."""
    judged = exercise.feedback.predictions if exercise.feedback else {}
    parts = [
        _prediction_part(progress, asked, judged.get(asked.id))
        for asked in exercise.predictions
    ]
    is_done = _are_predictions_done(exercise, progress)
    return section(
        "predict",
        _("1. Predict"),
        state_of(is_open=True, is_done=is_done),
        [_prediction_intro(progress, is_done=is_done), *parts],
    )


def _prediction_intro(progress: ExerciseProgress, *, is_done: bool) -> Part | None:
    if progress.given_predictions:
        return given_intro()
    if is_done:
        return None
    return text_part(
        "intro",
        _(
            "Work these out from the specification sheet, before any reading. Write "
            "each number with its unit. Each is recorded once."
        ),
    )


def _prediction_part(
    progress: ExerciseProgress, asked: NumberAsked, judgement: Judgement | None
) -> Part:
    answer = progress.predictions.get(asked.id)
    if answer is not None and asked.id in progress.given_predictions:
        return given_number(asked, answer, judgement)
    return number_part("prediction", asked, answer, judgement)


def _are_predictions_done(exercise: Exercise, progress: ExerciseProgress) -> bool:
    return all(asked.id in progress.predictions for asked in exercise.predictions)


def _test_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Show the last reading, the tests done, and the choice of the next test."""
    title = _("2. Test")
    is_open = _are_predictions_done(exercise, progress)
    if not is_open and not progress.tests:
        text = _("This opens when all your predictions are recorded.")
        return section("test", title, "later", [text_part("later", text)])
    is_choosing = is_open and not progress.cause and not progress.finding_due
    parts = [
        *_last_reading(exercise, progress),
        circuit_part(exercise, progress),
        _log(exercise, progress),
        _earlier_remarks(exercise, progress),
        *(hint_parts(exercise, progress) if is_choosing else []),
        _choice_form(exercise, progress) if is_choosing else None,
    ]
    is_done = progress.cause is not None
    return section("test", title, state_of(is_open=True, is_done=is_done), parts)


def _last_reading(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Show what the meter reads, then ask for the finding or judge it."""
    if not progress.own_tests:
        return given_readings(exercise, progress)
    done = progress.tests[-1]
    test = exercise.test(done.item)
    said = test.statement(done.statement).text if done.statement else ""
    facts = {
        _("You expected of a sound circuit"): _(done.expected),
        _("Your finding"): _(done.outcome) if done.outcome else "",
        _("It proves, you stated"): said,
    }
    reading = reading_part(
        test,
        [(what, told) for what, told in facts.items() if told],
        _test_remarks(exercise, progress, progress.tests),
    )
    return [reading] if done.outcome else [reading, finding_form(test)]


def _test_remarks(
    exercise: Exercise, progress: ExerciseProgress, tests: tuple[TestDone, ...]
) -> list[Remark]:
    """Judge the last of some tests: choice, expectation, finding, causes left."""
    done, feedback = tests[-1], exercise.feedback
    if feedback is None:
        return []
    if len(tests) <= progress.given_tests:
        return explain_test(exercise, tests)
    known = feedback.tests[done.item]
    remarks = [
        judge_choice(exercise, feedback, tests),
        judge_expectation(known, done.expected),
    ]
    if done.outcome is None:
        return remarks
    finding = judge_finding(known, done.outcome)
    proof = judge_proof(exercise, feedback, tests)
    return [*remarks, finding, proof, count_causes(exercise, feedback, tests)]


def _earlier_remarks(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Keep what was said to the tests before the last one, folded away."""
    tests = progress.tests
    if exercise.feedback is None or not progress.own_tests or len(tests) < 2:
        return None
    items = [
        {
            "heading": exercise.test(tests[n - 1].item).title,
            "remarks": remarks(_test_remarks(exercise, progress, tests[:n])),
        }
        for n in range(1, len(tests))
    ]
    summary = _("What the earlier tests told")
    return {"kind": "details", "key": "earlier", "summary": summary, "items": items}


def _log(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """List the tests done, with their minutes."""
    if not progress.tests:
        return None
    tests = [exercise.test(done.item) for done in progress.tests]
    took = [
        sum(minutes_of(exercise, test, open_places(exercise, progress.tests[:place])))
        for place, test in enumerate(tests)
    ]
    rows = [
        [
            title_of(test, is_given=place < progress.given_tests),
            _minutes(took[place]),
            _(done.expected),
            test.display,
            _(done.outcome) if done.outcome else "…",
        ]
        for place, (test, done) in enumerate(zip(tests, progress.tests, strict=True))
    ]
    total = sum(took)
    return {
        "kind": "table",
        "key": "log",
        "caption": _("Tests done"),
        "columns": [
            _("Test"),
            _("Time"),
            _("Expected"),
            _("Reading"),
            _("Finding"),
        ],
        "rows": rows,
        "foot": _("Time used: {minutes} min").format(minutes=figure(total)),
    }


def _choice_form(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Offer the tests not yet done."""
    done = {test.item for test in progress.tests}
    tests = [test for test in exercise.tests if test.id not in done]
    if not tests:
        return text_part("choose", _("You have done every test there is."))
    return {
        "kind": "form",
        "key": "choose",
        "action": "test",
        "item": "",
        "legend": _("Choose the next test") if done else _("Choose a test"),
        "help": _(
            "Each test takes time. Choose the one that tells most for its minutes."
        ),
        "submit": _("Do this test"),
        "fields": [
            _test_field(exercise, tests, open_places(exercise, progress.tests)),
            _expectation_field(tests),
        ],
    }


def _test_field(
    exercise: Exercise, tests: Sequence[DiagnosticTest], opened: frozenset[str]
) -> Part:
    options = [
        {
            "value": test.id,
            "label": test.title,
            "note": _minutes_with_way(exercise, test, opened),
            "detail": test.how,
            "before": test.before,
            "cautions": list(test.hazards),
        }
        for test in tests
    ]
    return {
        "kind": "radios",
        "name": "item",
        "label": _("Test"),
        "is_list": True,
        "options": options,
    }


def _minutes_with_way(
    exercise: Exercise, test: DiagnosticTest, opened: frozenset[str]
) -> str:
    """Say what a test takes, and what of that is the way to its places."""
    to_reach, reading = minutes_of(exercise, test, opened)
    if not to_reach:
        return _minutes(reading)
    new = [p.label for p in exercise.places if p.id in {*test.needs} - opened]
    text = _("{minutes} min: {way} to reach {places}, {reading} to read")
    return text.format(
        minutes=figure(to_reach + reading),
        way=figure(to_reach),
        places=listed(new, _("and")),
        reading=figure(reading),
    )


def _expectation_field(tests: Sequence[DiagnosticTest]) -> Part:
    """Ask for the expected outcome, in the words of the test that is chosen."""
    return {
        "kind": "radios",
        "name": "expected",
        "label": _("In a sound circuit it would read"),
        "follows": "item",
        "options_of": {test.id: _words(test.outcomes) for test in tests},
        "until": _("Choose a test first."),
    }


def _conclusion_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask for cause and correction, or show them."""
    title = _("3. Conclude")
    if progress.cause is not None:
        shown = [_conclusion_answer(exercise, progress), ways_part(exercise, progress)]
        return section("conclude", title, "done", shown)
    if not progress.tests or progress.finding_due:
        later = text_part("later", _("This opens after a test and its finding."))
        return section("conclude", title, "later", [later])
    form = {
        "kind": "form",
        "key": "conclusion",
        "action": "conclusion",
        "item": "conclusion",
        "legend": _("Your conclusion"),
        "help": _(
            "When your tests have proved it. It is recorded once and ends testing."
        ),
        "submit": _("Record conclusion"),
        "fields": [
            select_field("cause", _("Cause"), exercise.causes),
            select_field("correction", _("Correction"), exercise.corrections),
        ],
    }
    return section("conclude", title, "now", [form])


def _conclusion_answer(exercise: Exercise, progress: ExerciseProgress) -> Part:
    return {
        "kind": "answer",
        "key": "conclusion",
        "rows": [
            [_("Cause"), _label(exercise.causes, progress.cause)],
            [_("Correction"), _label(exercise.corrections, progress.correction)],
        ],
        "typed": "",
        "time": "",
        "remarks": remarks(judge_conclusion(exercise, progress)),
    }


def _verification_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask for the reading after the repair, or show it."""
    title = _("4. Verify the repair")
    asked = exercise.asked_after(progress.correction)
    if progress.cause is None or asked is None:
        later = text_part("later", _("This opens after your conclusion."))
        return section("verify", title, "later", [later])
    feedback = exercise.feedback
    judgement = feedback.after(progress.correction) if feedback else None
    part = number_part("verification", asked, progress.verification, judgement)
    if progress.verification is None:
        return section("verify", title, "now", [part])
    end = text_part("end", _("This exercise is done. Download your hand-in below."))
    return section("verify", title, "done", [part, end])


def _words(words: Iterable[str]) -> list[Part]:
    return [{"value": word, "label": _(word)} for word in words]


def _minutes(minutes: float) -> str:
    return _("{minutes} min").format(minutes=figure(minutes))


def _label(choices: Sequence[Choice], wanted: str | None) -> str:
    labels = [choice.label for choice in choices if choice.id == wanted]
    return labels[0] if labels else str(wanted)
