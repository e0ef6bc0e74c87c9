"""Describe an exercise's page as plain JSON values; pure.

A view is a title, sections, and what stands beside them; a section has parts; a part is
a form, an answer, a reading, a table, two tables, remarks, a list of details or a text,
each with a ``key`` that stays the same as long as the part is the same thing. The page
draws what it is given and knows nothing of circuits.
"""

from __future__ import annotations

from collections.abc import Sequence
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
from workbook.record.payload import (
    Choice,
    Exercise,
    Judgement,
    NumberAsked,
)
from workbook.record.progress import ExerciseProgress, TestDone
from workbook.texts import _, language
from workbook.views.bench_view import bench_form
from workbook.views.beside_view import beside
from workbook.views.choice_view import choice_form
from workbook.views.finding_view import finding_form
from workbook.views.given_view import (
    explain_test,
    given_intro,
    given_number,
    given_readings,
)
from workbook.views.practice_view import hint_parts, ways_part
from workbook.views.question_view import question_section
from workbook.views.view_parts import (
    exercise_label,
    notice,
    number_part,
    reading_part,
    remarks,
    section,
    select_field,
    state_of,
    text_part,
)
from workbook.views.waiting_view import waiting_parts

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
        "number": exercise.number,
        "label": exercise_label(exercise.number),
        "title": exercise.title,
        "notices": list(notices),
        "complaint": exercise.circuit.complaint if exercise.circuit else "",
        "sections": _sections(exercise, progress),
        "beside": beside(
            exercise, progress, is_choosing=_is_choosing(exercise, progress)
        ),
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


def trouble_view(number: int, message: str) -> Part:
    """Describe a page that can only say what is wrong."""
    return {
        "language": language(),
        "number": number,
        "label": exercise_label(number),
        "title": "",
        "notices": [notice("wrong", _("This exercise cannot be opened."), message)],
        "complaint": "",
        "sections": [],
        "beside": {},
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
        state_of(is_done=is_done),
        [_prediction_intro(progress, is_done=is_done), *parts],
        # What was said to the last prediction is read before the first test.
        is_folded=is_done and bool(progress.own_tests),
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
    is_choosing = _is_choosing(exercise, progress)
    if not is_open and not progress.tests:
        text = _("This opens when all your predictions are recorded.")
        return section("test", title, "later", [text_part("later", text)])
    parts = [
        *_last_reading(exercise, progress),
        _earlier_remarks(exercise, progress),
        *(_choice_parts(exercise, progress) if is_choosing else []),
    ]
    is_done = progress.cause is not None
    state = state_of(is_done=is_done)
    return section("test", title, state, parts, is_folded=is_done)


def _is_choosing(exercise: Exercise, progress: ExerciseProgress) -> bool:
    """Whether the next test is chosen now."""
    is_open = bool(exercise.tests) and _are_predictions_done(exercise, progress)
    return is_open and not progress.cause and not progress.finding_due


def _choice_parts(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Tell the hints taken, then ask for the next test, then offer one more hint."""
    hints = hint_parts(exercise, progress)
    told = [part for part in hints if part["kind"] != "form"]
    offer = [part for part in hints if part["kind"] == "form"]
    listed = None if exercise.is_unlisted else choice_form(exercise, progress)
    ways = [bench_form(exercise, progress), listed]
    return [*told, *(part for part in ways if part is not None), *offer]


def _last_reading(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Show what the meter reads, then ask for the finding or judge it."""
    if not progress.own_tests:
        return given_readings(exercise, progress)
    done = progress.tests[-1]
    test = exercise.test(done.item)
    if not test.display:
        return waiting_parts(test)
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
    if known.is_too_near:
        return [judge_choice(exercise, feedback, tests)]
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
    end = text_part("end", _("This exercise is done."))
    return section("verify", title, "done", [part, end])


def _label(choices: Sequence[Choice], wanted: str | None) -> str:
    labels = [choice.label for choice in choices if choice.id == wanted]
    return labels[0] if labels else str(wanted)
