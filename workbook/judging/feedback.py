"""What a practice set says to each step; pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from workbook.judging.planned import possible_causes
from workbook.judging.statements import Judged, Stated, judge_statements, listed
from workbook.record.payload import Exercise, Feedback, Judgement, ReadingFeedback
from workbook.record.progress import ExerciseProgress, TestDone
from workbook.texts import _, later, ngettext

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
        return right_or_not(judgement.right, is_right=True)
    known = (m.text for m in judgement.misconceptions if m.low <= value <= m.high)
    return right_or_not(next(known, judgement.wrong), is_right=False)


def right_or_not(text: str, *, is_right: bool) -> Remark:
    """Say whether an answer is right, and why."""
    if is_right:
        return Remark(tone="right", label=_("Right."), text=text)
    return Remark(tone="wrong", label=_("Not right."), text=text)


def judge_expectation(feedback: ReadingFeedback, expected: str) -> Remark:
    """Say whether the outcome expected matches a sound circuit."""
    sound = _("A sound circuit reads “{outcome}” here.")
    if feedback.caution:
        sound = _("Done like this, the test proves nothing on a sound circuit either.")
    text = f"{sound.format(outcome=_(feedback.sound))} {feedback.sound_text}"
    if expected == feedback.sound:
        return Remark(tone="right", label=_("Your expectation is right."), text=text)
    return Remark(tone="wrong", label=_("Your expectation is not right."), text=text)


def judge_finding(feedback: ReadingFeedback, outcome: str) -> Remark:
    """Say whether the finding is what the reading shows, and what it proves."""
    if outcome == feedback.outcome:
        label = _("Your finding is right.")
        return Remark(tone="right", label=label, text=feedback.text)
    shown = "" if feedback.caution else _("The reading shows “{outcome}”. ")
    return Remark(
        tone="wrong",
        label=_("Your finding is not right."),
        text=shown.format(outcome=_(feedback.outcome)) + feedback.text,
    )


def count_causes(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Remark:
    """Say how many causes still fit, and how many the last test ruled out."""
    before = possible_causes(exercise, feedback, tests[:-1])
    now = possible_causes(exercise, feedback, tests)
    still = ngettext(
        "{count} of {total} causes still fits.",
        "{count} of {total} causes still fit.",
        len(now),
    )
    gone = len(before) - len(now)
    out = _("This test ruled out {count}.") if gone else _("This test ruled out none.")
    return Remark(
        tone="news",
        label=still.format(count=len(now), total=len(exercise.causes)),
        text=out.format(count=gone),
    )


_NOT_WRONG = {
    "follows": later("Your statement follows from your finding."),
    "repeated": later(
        "Your statement repeats an earlier mistake, and makes no new one."
    ),
    "true": later(
        "Your statement clears nothing wrongly, but is not what this proves."
    ),
}
_TAKES = later("In the marks that takes half a mark off your other statements.")


def judge_proof(
    exercise: Exercise, feedback: Feedback, tests: tuple[TestDone, ...]
) -> Remark:
    """Say whether the last statement is what its reading proves, and why."""
    path = list(_stated(exercise, feedback, tests))
    # Judged with all before it: a mistake counts where it was first made.
    judged = list(judge_statements(path))[-1]
    if judged.verdict == "right":
        return Remark(
            tone="right",
            label=_("Your statement is right."),
            text=_("That is what this reading proves by itself."),
        )
    test, known = exercise.test(tests[-1].item), feedback.tests[tests[-1].item]
    right = test.statement(path[-1].right.id).text
    proves = _("By itself this reading proves: “{statement}”.").format(statement=right)
    if judged.verdict == "accuses":
        label = _("Your reading clears what you suspect.")
        return Remark(tone="wrong", label=label, text=f"{proves} {_(_TAKES)}")
    if judged.verdict != "wrong":
        text = f"{proves} {_earns(judged)}".strip()
        return Remark(tone="caution", label=_(_NOT_WRONG[judged.verdict]), text=text)
    why = known.misconceptions.get(path[-1].said.id, "")
    may = [each.label for each in exercise.sections if each.id in judged.wrongly]
    still = _("The fault may still lie in {sections}.").format(sections=any_of(may))
    text = " ".join(filter(None, (still, proves, why, _(_TAKES))))
    return Remark(tone="wrong", label=_("Your statement is not right."), text=text)


def _earns(judged: Judged) -> str:
    """Say by how much a statement that says too little falls short."""
    if judged.verdict != "true" or not judged.of:
        return ""
    if judged.clears == judged.of:
        return _("Yours clears more, which only other readings tell.")
    earns = _("Yours clears {count} of the {total} sections that it clears.")
    return earns.format(count=judged.clears, total=judged.of)


def any_of(labels: Iterable[str]) -> str:
    """Name sections of the circuit of which one may be meant."""
    the = _("the {section}")
    return listed([the.format(section=label) for label in labels], _("or"))


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
    wrong = {}
    # A cause that the same repair cures is right as long as no reading rules it out.
    if progress.cause not in known.causes & possible:
        wrong[_("The cause is not right.")] = known.wrong_cause
    if progress.correction != known.correction:
        wrong[_("The correction is not right.")] = known.wrong_correction
    if wrong:
        return tuple(Remark(tone="wrong", label=k, text=v) for k, v in wrong.items())
    label = _("Cause and correction are right.")
    right = Remark(tone="right", label=label, text=known.right)
    if possible <= known.causes:
        return (right,)
    unproved = Remark(tone="caution", label=_("Not yet proved."), text=known.unproved)
    return right, unproved
