"""What the findings of one exercise are worth: expectation, outcome and statement."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from answer_keys.keys.key_record import KeyRecord
from answer_keys.marking.visits import Visit
from answer_keys.misconceptions import MISCONCEPTIONS
from workbook.judging.statements import Judged, Stated, judge_statements, listed

# Share of a statement's third, and what is said to it, where it is not the right one.
_SHARES = {"right": 1.0, "follows": 1.0, "repeated": 1.0, "true": 0.5}
_SAID = {
    "accuses": "suspects only what this very reading clears",
    "follows": "follows from the outcome that you found, so it is not marked again",
    "repeated": "repeats an earlier mistake, which is not marked again",
    "true": "clears nothing more that may hold the fault, so it counts half",
}


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
    stated = (_stated(record, visit) for visit in path if visit.done.statement)
    judged = judge_statements(stated)
    for visit in path:
        yield (
            visit,
            _judged(record, visit, next(judged) if visit.done.statement else None),
        )


def _stated(record: KeyRecord, visit: Visit) -> Stated:
    test, done = visit.test, visit.done
    return Stated(
        said=test.stated(str(done.statement)),
        right=test.stated(test.statement),
        found=test.proved_by(done.outcome),
        open=record.sections_of(visit.after.candidates),
    )


def _judged(record: KeyRecord, visit: Visit, statement: Judged | None) -> JudgedFinding:
    test, done = visit.test, visit.done
    thirds = [float(done.expected == test.sound_outcome)]
    reasons = [_expected_reason(visit), _outcome_reason(visit)]
    misconception = ""
    if statement is not None:
        thirds += [
            float(done.outcome == test.outcome),
            _SHARES.get(statement.verdict, 0.0),
        ]
        reasons.append(_statement_reason(record, visit, statement))
        if statement.verdict == "wrong":
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


def _statement_reason(record: KeyRecord, visit: Visit, judged: Judged) -> str:
    test = visit.test
    proves = f"By itself it proves: “{test.stated(test.statement).text}”"
    if judged.verdict == "right":
        return f"{proves}, as you said."
    why = _SAID.get(judged.verdict)
    if why is None:
        labels = record.labels_of_sections(judged.wrongly)
        may = listed((f"the {label}" for label in labels), "or")
        why = f"clears too much: the fault may still lie in {may}"
    said = test.stated(str(visit.done.statement)).text
    return f"{proves}; your “{said}” {why}."
