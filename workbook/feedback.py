"""What a practice set says to each step; pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from workbook.planned import (
    all_causes,
    is_proved,
    next_tests,
    possible_causes,
    title_with_minutes,
)
from workbook.progress import hint_cost

if TYPE_CHECKING:
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
    return Remark(
        tone="wrong",
        label="Your finding is not right.",
        text=f"The reading shows “{feedback.outcome}”. {feedback.text}",
    )


def judge_choice(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Remark:
    """Say how good the last choice was for the causes that were left before it."""
    before = possible_causes(exercise, feedback, tests[:-1])
    choices = next_tests(exercise, feedback, before)
    done = next(test for test in exercise.tests if test.id == tests[-1].item)
    better = title_with_minutes(choices.planned) if choices else ""
    tone: Tone = "caution"
    if choices is None:
        label = "No test was needed."
        text = f"This one took another {done.minutes:g} min."
        text = f"{_nothing_to_choose(feedback, before)} {text}"
    elif done.id not in choices.wasted_min:
        label = "This test tells nothing more."
        text = (
            f"{all_causes(len(before))} that were still possible give the same reading "
            f"here; {better} would have told some of them apart."
        )
    elif (lost := choices.wasted_min[done.id]) > 0:
        label = "Another test was better."
        text = (
            f"From here this way takes {lost:g} min more, on average, than starting "
            f"with {better}."
        )
    else:
        tone, label = "right", "A good choice."
        text = "No other test leads to the cause in fewer minutes."
    return Remark(tone=tone, label=label, text=text + _hints_taken(tests[-1].hints))


def _nothing_to_choose(feedback: Feedback, left: frozenset[str]) -> str:
    """Say why the plan holds no test for a set of causes."""
    if len(left) == 1:
        return "One cause is left: it is proved."
    if is_proved(feedback, left):
        return f"The {len(left)} causes left all need the same repair."
    return f"No test on offer tells the {len(left)} causes left apart."


def _hints_taken(hints: int) -> str:
    if not hints:
        return ""
    count = "The hint" if hints == 1 else f"The {hints} hints"
    verb = "costs" if hints == 1 else "cost"
    return f" {count} for it {verb} {100 * hint_cost(hints):.0f} % of its mark."


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
