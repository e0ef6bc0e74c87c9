"""What the findings of one exercise are worth: expectation, outcome and statement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.visits import Visit
from answer_keys.misconceptions import MISCONCEPTIONS
from workbook.judging.statements import (
    Judged,
    Stated,
    judge_statements,
    listed,
    worths,
)

_SAID = {
    "accuses": "suspects only what this very reading clears",
    "follows": "follows from the outcome that you found, so it is not marked again",
    "repeated": "repeats an earlier mistake and makes no new one, so it counts half",
}
_TAKES = " That takes half a mark off what your other statements earn."
# Shares that differ by less are shown alike.
_ALIKE = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedFinding:
    """What the finding of one visit is worth.

    Attributes
    ----------
    share : float
        A third each for expectation, outcome and statement.
    misconception : str
        Id of the one that the statement shows; empty where it shows none.
    """

    share: float
    reason: str
    misconception: str = ""


def judged_findings(
    record: KeyRecord, path: Sequence[Visit]
) -> Iterator[tuple[Visit, JudgedFinding]]:
    """Judge the findings along a path, each mistake where it is first made.

    Yields
    ------
    tuple of (Visit, JudgedFinding)
    """
    said = [visit for visit in path if visit.done.statement]
    judged = list(judge_statements(_stated(record, visit) for visit in said))
    given = sum(visit.is_given for visit in said)
    # What was done for the student neither earns nor costs.
    kept = [*(each.worth for each in judged[:given]), *worths(judged[given:])]
    by_test = {
        id(visit): _Statement(each, share)
        for visit, each, share in zip(said, judged, kept, strict=True)
    }
    for visit in path:
        yield visit, _judged(record, visit, by_test.get(id(visit)))


@dataclass(frozen=True, slots=True)
class _Statement:
    """A statement as judged, and what is left of its mark."""

    judged: Judged
    share: float


def _stated(record: KeyRecord, visit: Visit) -> Stated:
    test, done = visit.test, visit.done
    return Stated(
        said=test.stated(str(done.statement)),
        right=test.stated(test.statement),
        found=test.proved_by(done.outcome),
        open=record.sections_of(visit.after.candidates),
    )


def _judged(
    record: KeyRecord, visit: Visit, statement: _Statement | None
) -> JudgedFinding:
    test, done = visit.test, visit.done
    thirds = [float(done.expected == test.sound_outcome)]
    reasons = [_expected_reason(visit), _outcome_reason(visit)]
    misconception = ""
    if statement is not None:
        thirds += [float(done.outcome == test.outcome), statement.share]
        reasons.append(_statement_reason(record, visit, statement))
        if statement.judged.verdict == "wrong":
            misconception = test.stated(str(done.statement)).misconception
    if misconception:
        reasons.append(MISCONCEPTIONS[misconception].explanation)
    return JudgedFinding(
        share=sum(thirds) / 3, reason=" ".join(reasons), misconception=misconception
    )


def _expected_reason(visit: Visit) -> str:
    said, right = visit.done.expected, visit.test.sound_outcome
    sound = f"In a sound circuit it reads “{right}”"
    if visit.test.mistake:
        sound = f"Done like this it {right}, in a sound circuit too"
    return f"{sound}, as you said." if said == right else f"{sound}; you said “{said}”."


def _outcome_reason(visit: Visit) -> str:
    said, right = visit.done.outcome, visit.test.outcome
    shown = f"The reading, {visit.test.display}, is “{right}”"
    if visit.test.display == right:
        shown = f"Here it reads “{right}”"
    if visit.test.mistake:
        shown = f"The reading, {visit.test.display}, {right}"
    if said is None:
        return f"{shown}; you recorded no finding."
    return (
        f"{shown}, as you found." if said == right else f"{shown}; you said “{said}”."
    )


def _statement_reason(record: KeyRecord, visit: Visit, statement: _Statement) -> str:
    test, judged = visit.test, statement.judged
    proves = f"By itself it proves: “{test.stated(test.statement).text}”"
    if judged.verdict == "right":
        return f"{proves}, as you said.{_taken(statement)}"
    said = test.stated(str(visit.done.statement)).text
    why = _SAID.get(judged.verdict) or _why(record, judged)
    after = _TAKES if judged.worth < 0 else _taken(statement)
    return f"{proves}; your “{said}” {why}.{after}"


def _why(record: KeyRecord, judged: Judged) -> str:
    """Say what is amiss with a statement that says too little, or clears too much."""
    if judged.verdict == "true" and not judged.clears:
        return "clears nothing of that, so it earns nothing and takes nothing off"
    share = f"{100 * judged.worth:.0f} %"
    if judged.verdict == "true" and judged.clears == judged.of:
        return f"clears more than that, if nothing wrongly by now, so it counts {share}"
    if judged.verdict == "true":
        return (
            f"clears {judged.clears} of its {judged.of} sections, so it counts {share}"
        )
    labels = record.labels_of_sections(judged.wrongly)
    may = listed((f"the {label}" for label in labels), "or")
    return f"clears too much: the fault may still lie in {may}"


def _taken(statement: _Statement) -> str:
    """Say what wrong statements of the exercise take off this one."""
    worth = statement.judged.worth
    if worth - statement.share < _ALIKE:
        return ""
    left = f"{100 * statement.share:.0f} %"
    return f" Wrong statements of this exercise leave {left} of its mark."
