"""Describe what was done for the student beforehand, with its reasons; pure."""

from __future__ import annotations

from typing import Any

from workbook.judging.feedback import Remark, count_causes
from workbook.judging.planned import parts, possible_causes
from workbook.judging.statements import listed
from workbook.record.payload import (
    DiagnosticTest,
    Exercise,
    Feedback,
    Judgement,
    NumberAsked,
)
from workbook.record.progress import Answer, ExerciseProgress, TestDone
from workbook.texts import _, ngettext
from workbook.views.view_parts import number_answer, reading_part, text_part

Part = dict[str, Any]


def title_of(test: DiagnosticTest, *, is_given: bool) -> str:
    """Name a test in a list."""
    return (
        _("{test} (done for you)").format(test=test.title) if is_given else test.title
    )


def given_intro() -> Part:
    """Say what is to be done with numbers that are there already."""
    return text_part(
        "given",
        _(
            "These are done for you and carry no marks. Follow each one on the "
            "specification sheet, then go on to the tests."
        ),
    )


def given_number(
    asked: NumberAsked, answer: Answer, judgement: Judgement | None
) -> Part:
    """Show a number, and how it comes about."""
    # What is said to a wrong number tells the whole way to the right one.
    how = judgement.wrong if judgement else ""
    said = [Remark(tone="news", label=_("Done for you."), text=how)]
    return number_answer("prediction", asked, answer, said)


def given_readings(exercise: Exercise, progress: ExerciseProgress) -> list[Part]:
    """Show the tests done beforehand in full, for the student to follow."""
    tests = progress.tests
    if not tests:
        return []
    text = ngettext(
        "The first test is done for you and carries no marks. Follow what was chosen "
        "and why, then choose the next test yourself.",
        "The first {count} tests are done for you and carry no marks. Follow what was "
        "chosen and why, then choose the next test yourself.",
        len(tests),
    )
    readings = [_reading(exercise, tests[: n + 1]) for n in range(len(tests))]
    return [text_part("given", text.format(count=len(tests))), *readings]


def _reading(exercise: Exercise, tests: tuple[TestDone, ...]) -> Part:
    done, test = tests[-1], exercise.test(tests[-1].item)
    facts = {
        _("In a sound circuit it would read"): _(done.expected),
        _("Finding"): _(str(done.outcome)),
        _("It proves by itself"): test.statement(str(done.statement)).text,
    }
    return reading_part(test, facts.items(), explain_test(exercise, tests))


def explain_test(exercise: Exercise, tests: tuple[TestDone, ...]) -> list[Remark]:
    """Say why the last of some tests was chosen, and what its reading tells."""
    feedback = exercise.feedback
    if feedback is None:
        return []
    known = feedback.tests[tests[-1].item]
    sound = _("A sound circuit reads “{outcome}” here.")
    expected = f"{sound.format(outcome=_(known.sound))} {known.sound_text}".rstrip()
    told = {
        _("Why this test."): _why(exercise, feedback, tests),
        _("What to expect."): expected,
        _("What it shows."): known.text,
    }
    return [
        *(Remark(tone="news", label=k, text=text) for k, text in told.items()),
        count_causes(exercise, feedback, tests),
    ]


def _why(exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]) -> str:
    """Say what the outcomes of the last of some tests could have left."""
    before = possible_causes(exercise, feedback, tests[:-1])
    counts = parts(exercise, feedback, exercise.test(tests[-1].item), before)
    at = _("{count} at “{outcome}”")
    each = [at.format(count=n, outcome=_(word)) for word, n in counts.items()]
    why = _(
        "No other test leads to the cause in fewer minutes. Of {count} causes it "
        "leaves {counts}."
    )
    return why.format(count=len(before), counts=listed(each, _("or")))
