"""Describe an exercise's page as plain JSON values; pure.

A view is a title and sections; a section has parts; a part is a form, an answer, a
reading, a table, two tables, remarks, a list of details or a text, each with a ``key``
that stays the same as long as the part is the same thing. The page draws what it is
given and knows nothing of circuits.
"""

from __future__ import annotations

from base64 import b64encode
from typing import TYPE_CHECKING, Any

from workbook.choice_feedback import judge_choice
from workbook.feedback import (
    Remark,
    count_causes,
    judge_conclusion,
    judge_expectation,
    judge_finding,
    judge_number,
    judge_proof,
)
from workbook.finding_view import circuit_part, finding_form
from workbook.practice_view import hint_parts, ways_part
from workbook.quantities import quantity_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from workbook.payload import (
        Choice,
        DiagnosticTest,
        Exercise,
        Judgement,
        NumberAsked,
        Picture,
    )
    from workbook.progress import Answer, ExerciseProgress, TestDone

    Part = dict[str, Any]

_UNIT_KEYS = {"A": ("A", "mA"), "V": ("V", "mV"), "Ω": ("Ω", "kΩ")}


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
        "label": f"Exercise {exercise.number}",
        "title": exercise.title,
        "notices": list(notices),
        "sections": [
            _prediction_section(exercise, progress),
            _test_section(exercise, progress),
            _conclusion_section(exercise, progress),
            _verification_section(exercise, progress),
        ],
    }


def trouble_view(label: str, message: str) -> Part:
    """Describe a page that can only say what is wrong."""
    return {
        "label": label,
        "title": "",
        "notices": [notice("wrong", "This exercise cannot be opened.", message)],
        "sections": [],
    }


def notice(tone: str, label: str, text: str) -> Part:
    """Describe one remark."""
    return {"tone": tone, "label": label, "text": text}


def _section(key: str, title: str, state: str, parts: Iterable[Part | None]) -> Part:
    return {
        "key": key,
        "title": title,
        "state": state,
        "parts": [part for part in parts if part is not None],
    }


def _state(*, is_open: bool, is_done: bool) -> str:
    if is_done:
        return "done"
    return "now" if is_open else "later"


def _text(key: str, text: str) -> Part:
    return {"kind": "text", "key": key, "text": text}


def _remarks(remarks: Iterable[Remark]) -> list[Part]:
    return [notice(each.tone, each.label, each.text) for each in remarks]


def _prediction_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask for every prediction, each in a form of its own."""
    judged = exercise.feedback.predictions if exercise.feedback else {}
    parts = [
        _number_part(
            "prediction",
            asked,
            progress.predictions.get(asked.id),
            judged.get(asked.id),
        )
        for asked in exercise.predictions
    ]
    intro = _text(
        "intro",
        "Work these out from the specification sheet, before any reading. Write each "
        "number with its unit. Each is recorded once.",
    )
    is_done = _are_predictions_done(exercise, progress)
    return _section(
        "predict",
        "1. Predict",
        _state(is_open=True, is_done=is_done),
        [None if is_done else intro, *parts],
    )


def _are_predictions_done(exercise: Exercise, progress: ExerciseProgress) -> bool:
    return all(asked.id in progress.predictions for asked in exercise.predictions)


def _number_part(
    kind: str, asked: NumberAsked, answer: Answer | None, judgement: Judgement | None
) -> Part:
    """Ask for a number, or show it once it is recorded."""
    key = f"{kind}:{asked.id}"
    units = _UNIT_KEYS.get(asked.unit, (asked.unit,))
    if answer is not None:
        remarks = [judge_number(judgement, answer.value)] if judgement else []
        return {
            "kind": "answer",
            "key": key,
            "rows": [[asked.label, quantity_text(answer.value, answer.unit)]],
            "typed": answer.raw,
            "time": answer.time,
            "remarks": _remarks(remarks),
        }
    return {
        "kind": "form",
        "key": key,
        "action": kind,
        "item": asked.id,
        "legend": asked.label,
        "help": asked.help,
        "submit": "Record",
        "fields": [
            {
                "kind": "number",
                "name": "raw",
                "label": "Your number with its unit",
                "units": list(units),
                "hint": f"Such as 1.5 {units[0]}, 1,5 {units[0]} or 250 {units[-1]}.",
            }
        ],
    }


def _test_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Show the last reading, the tests done, and the choice of the next test."""
    is_open = _are_predictions_done(exercise, progress)
    if not is_open and not progress.tests:
        later = _text("later", "This opens when all your predictions are recorded.")
        return _section("test", "2. Test", "later", [later])
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
    return _section("test", "2. Test", _state(is_open=True, is_done=is_done), parts)


def _last_reading(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Show what the meter reads, then ask for the finding or judge it."""
    if not progress.tests:
        return []
    done = progress.tests[-1]
    test = exercise.test(done.item)
    said = test.statement(done.statement).text if done.statement else ""
    reading = {
        "kind": "reading",
        "key": f"reading:{test.id}",
        "title": test.title,
        "how": test.how,
        "display": test.display,
        "instrument": test.instrument,
        "picture": _image(test.picture),
        "expected": done.expected,
        "finding": done.outcome or "",
        "statement": said,
        "remarks": _remarks(_test_remarks(exercise, progress.tests)),
    }
    return [reading] if done.outcome else [reading, finding_form(test)]


def _image(picture: Picture | None) -> Part | None:
    """Give a picture as an image, in which no script of it could run."""
    if picture is None:
        return None
    data = b64encode(picture.svg.encode()).decode()
    return {"src": f"data:image/svg+xml;base64,{data}", "alt": picture.alt}


def _test_remarks(exercise: Exercise, tests: tuple[TestDone, ...]) -> list[Remark]:
    """Judge the last of some tests: choice, expectation, finding, causes left."""
    done, feedback = tests[-1], exercise.feedback
    if feedback is None:
        return []
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
    if exercise.feedback is None or len(progress.tests) < 2:
        return None
    items = [
        {
            "heading": exercise.test(progress.tests[place].item).title,
            "remarks": _remarks(_test_remarks(exercise, progress.tests[: place + 1])),
        }
        for place in range(len(progress.tests) - 1)
    ]
    summary = "What the earlier tests told"
    return {"kind": "details", "key": "earlier", "summary": summary, "items": items}


def _log(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """List the tests done, with their minutes."""
    if not progress.tests:
        return None
    tests = [exercise.test(done.item) for done in progress.tests]
    rows = [
        [test.title, _minutes(test), done.expected, test.display, done.outcome or "…"]
        for test, done in zip(tests, progress.tests, strict=True)
    ]
    total = sum(test.minutes for test in tests)
    return {
        "kind": "table",
        "key": "log",
        "caption": "Tests done",
        "columns": ["Test", "Time", "You expected", "Reading", "Finding"],
        "rows": rows,
        "foot": f"Time used: {total:g} min",
    }


def _choice_form(exercise: Exercise, progress: ExerciseProgress) -> Part | None:
    """Offer the tests not yet done."""
    done = {test.item for test in progress.tests}
    tests = [test for test in exercise.tests if test.id not in done]
    if not tests:
        return _text("choose", "You have done every test there is.")
    return {
        "kind": "form",
        "key": "choose",
        "action": "test",
        "item": "",
        "legend": "Choose the next test" if done else "Choose a test",
        "help": "Each test takes time. Choose the one that tells most for its minutes.",
        "submit": "Do this test",
        "fields": [_test_field(tests), _expectation_field(tests)],
    }


def _test_field(tests: Sequence[DiagnosticTest]) -> Part:
    options = [
        {
            "value": test.id,
            "label": test.title,
            "note": _minutes(test),
            "detail": test.how,
            "before": test.before,
            "cautions": list(test.hazards),
        }
        for test in tests
    ]
    return {
        "kind": "radios",
        "name": "item",
        "label": "Test",
        "is_list": True,
        "options": options,
    }


def _expectation_field(tests: Sequence[DiagnosticTest]) -> Part:
    """Ask for the expected outcome, in the words of the test that is chosen."""
    return {
        "kind": "radios",
        "name": "expected",
        "label": "In a sound circuit it would read",
        "follows": "item",
        "options_of": {test.id: _words(test.outcomes) for test in tests},
        "until": "Choose a test first.",
    }


def _conclusion_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask for cause and correction, or show them."""
    title = "3. Conclude"
    if progress.cause is not None:
        shown = [_conclusion_answer(exercise, progress), ways_part(exercise, progress)]
        return _section("conclude", title, "done", shown)
    if not progress.tests or progress.finding_due:
        later = _text("later", "This opens after a test and its finding.")
        return _section("conclude", title, "later", [later])
    form = {
        "kind": "form",
        "key": "conclusion",
        "action": "conclusion",
        "item": "conclusion",
        "legend": "Your conclusion",
        "help": "When your tests have proved it. It is recorded once and ends testing.",
        "submit": "Record conclusion",
        "fields": [
            _select("cause", "Cause", exercise.causes),
            _select("correction", "Correction", exercise.corrections),
        ],
    }
    return _section("conclude", title, "now", [form])


def _conclusion_answer(exercise: Exercise, progress: ExerciseProgress) -> Part:
    return {
        "kind": "answer",
        "key": "conclusion",
        "rows": [
            ["Cause", _label(exercise.causes, progress.cause)],
            ["Correction", _label(exercise.corrections, progress.correction)],
        ],
        "typed": "",
        "time": "",
        "remarks": _remarks(judge_conclusion(exercise, progress)),
    }


def _verification_section(exercise: Exercise, progress: ExerciseProgress) -> Part:
    """Ask for the reading after the repair, or show it."""
    title = "4. Verify the repair"
    if progress.cause is None:
        later = _text("later", "This opens after your conclusion.")
        return _section("verify", title, "later", [later])
    judgement = exercise.feedback.verification if exercise.feedback else None
    part = _number_part(
        "verification", exercise.verification, progress.verification, judgement
    )
    if progress.verification is None:
        return _section("verify", title, "now", [part])
    end = _text("end", "This exercise is done. Download your hand-in below.")
    return _section("verify", title, "done", [part, end])


def _select(name: str, label: str, choices: Sequence[Choice]) -> Part:
    options = [{"value": choice.id, "label": choice.label} for choice in choices]
    return {"kind": "select", "name": name, "label": label, "options": options}


def _words(words: Iterable[str]) -> list[Part]:
    return [{"value": word, "label": word} for word in words]


def _minutes(test: DiagnosticTest) -> str:
    return f"{test.minutes:g} min"


def _label(choices: Sequence[Choice], wanted: str | None) -> str:
    labels = [choice.label for choice in choices if choice.id == wanted]
    return labels[0] if labels else str(wanted)
