"""What a practice set says to each step; pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from workbook.planned import possible_causes
from workbook.statements import Stated, judge_statements, listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from workbook.payload import Exercise, Feedback, Judgement, ReadingFeedback
    from workbook.progress import ExerciseProgress, TestDone

Tone = Literal["right", "wrong", "news", "caution"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One thing said to a step.

    Parameters
    ----------
    tone : str
        How it is drawn; the label says the same in words.
    label, text : str
        What is said.
    """

    tone: Tone
    label: str
    text: str


def judge_number(judgement: Judgement, value: float) -> Remark:
    """Say whether a number is right, and which wrong rule gives it if one does."""
    if judgement.low <= value <= judgement.high:
        return Remark(tone="right", label="Right.", text=judgement.right)
    for known in judgement.misconceptions:
        if known.low <= value <= known.high:
            return Remark(tone="wrong", label="Not right.", text=known.text)
    return Remark(tone="wrong", label="Not right.", text=judgement.wrong)


def judge_expectation(feedback: ReadingFeedback, expected: str) -> Remark:
    """Say whether the outcome expected matches a sound circuit."""
    sound = f"A sound circuit reads “{feedback.sound}” here."
    if feedback.caution:
        sound = "Done like this, the test proves nothing on a sound circuit either."
    if expected == feedback.sound:
        return Remark(
            tone="right",
            label="Your expectation is right.",
            text=f"{sound} {feedback.sound_text}",
        )
    return Remark(
        tone="wrong",
        label="Your expectation is not right.",
        text=f"{sound} {feedback.sound_text}",
    )


def judge_finding(feedback: ReadingFeedback, outcome: str) -> Remark:
    """Say whether the finding is what the reading shows, and what it proves."""
    if outcome == feedback.outcome:
        return Remark(tone="right", label="Your finding is right.", text=feedback.text)
    shown = "" if feedback.caution else f"The reading shows “{feedback.outcome}”. "
    return Remark(
        tone="wrong",
        label="Your finding is not right.",
        text=f"{shown}{feedback.text}",
    )


def count_causes(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Remark:
    """Say how many causes still fit, and how many the last test ruled out."""
    before = possible_causes(exercise, feedback, tests[:-1])
    now = possible_causes(exercise, feedback, tests)
    verb = "fits" if len(now) == 1 else "fit"
    return Remark(
        tone="news",
        label=f"{len(now)} of {len(exercise.causes)} causes still {verb}.",
        text=f"This test ruled out {len(before) - len(now) or 'none'}.",
    )


_NOT_WRONG = {
    "follows": "Your statement follows from your finding.",
    "repeated": "Your statement repeats an earlier mistake, and makes no new one.",
    "true": "Your statement clears nothing wrongly, but is not what this proves.",
}


def judge_proof(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Remark:
    """Say whether the last statement is what its reading proves, and why."""
    path = list(_stated(exercise, feedback, tests))
    *_, judged = judge_statements(path)
    if judged.verdict == "right":
        return Remark(
            tone="right",
            label="Your statement is right.",
            text="That is what this reading proves by itself.",
        )
    test, known = exercise.test(tests[-1].item), feedback.tests[tests[-1].item]
    right = test.statement(path[-1].right.id).text
    proves = f"By itself this reading proves: “{right}”."
    if judged.verdict != "wrong":
        return Remark(tone="caution", label=_NOT_WRONG[judged.verdict], text=proves)
    why = known.misconceptions.get(path[-1].said.id, "")
    may = [each.label for each in exercise.sections if each.id in judged.wrongly]
    text = f"The fault may still lie in {listed(may, 'or')}. {proves} {why}"
    return Remark(tone="wrong", label="Your statement is not right.", text=text.strip())


def _stated(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Iterator[Stated]:
    """Pair each statement with what its reading proves and what is really open."""
    for number, done in enumerate(tests, start=1):
        test, known = exercise.test(done.item), feedback.tests[done.item]
        causes = possible_causes(exercise, feedback, tests[:number])
        yield Stated(
            said=test.statement(str(done.statement)),
            right=test.statement(known.proved_by[known.outcome]),
            found=known.proved_by.get(str(done.outcome), ""),
            open=frozenset().union(*(feedback.sections_of[cause] for cause in causes)),
        )


def judge_conclusion(
    exercise: Exercise, progress: ExerciseProgress
) -> tuple[Remark, ...]:
    """Say whether cause and correction are right, and proved by the tests done."""
    if exercise.feedback is None:
        return ()
    known = exercise.feedback.conclusion
    possible = possible_causes(exercise, exercise.feedback, progress.tests)
    remarks = []
    # A cause that the same repair cures is right as long as no reading rules it out.
    if progress.cause not in known.causes & possible:
        remarks.append(
            Remark(
                tone="wrong", label="The cause is not right.", text=known.wrong_cause
            )
        )
    if progress.correction != known.correction:
        remarks.append(
            Remark(
                tone="wrong",
                label="The correction is not right.",
                text=known.wrong_correction,
            )
        )
    if remarks:
        return tuple(remarks)
    right = Remark(
        tone="right", label="Cause and correction are right.", text=known.right
    )
    if possible <= known.causes:
        return (right,)
    unproved = Remark(tone="caution", label="Not yet proved.", text=known.unproved)
    return right, unproved
