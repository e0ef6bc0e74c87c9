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
from workbook.texts import _, later

_SAID = {
    "accuses": later("Your “{said}” suspects only what this very reading clears."),
    "follows": later(
        "Your “{said}” follows from the outcome that you found, so it is not marked "
        "again."
    ),
    "repeated": later(
        "Your “{said}” repeats an earlier mistake and makes no new one, so it counts "
        "half."
    ),
}
_TAKES = later("That takes half a mark off what your other statements earn.")
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
        reasons.append(_(MISCONCEPTIONS[misconception].explanation))
    # Of three also where no finding was recorded: two of them are then missing.
    return JudgedFinding(
        share=sum(thirds) / 3, reason=" ".join(reasons), misconception=misconception
    )


def _expected_reason(visit: Visit) -> str:
    said, right = visit.done.expected, visit.test.sound_outcome
    if visit.test.mistake:
        right_said = _("Done like this it {word}, in a sound circuit too, as you said.")
        wrong_said = _(
            "Done like this it {word}, in a sound circuit too; you said “{said}”."
        )
    else:
        right_said = _("In a sound circuit it reads “{word}”, as you said.")
        wrong_said = _("In a sound circuit it reads “{word}”; you said “{said}”.")
    told = right_said if said == right else wrong_said
    return told.format(word=_(right), said=_(said))


def _outcome_reason(visit: Visit) -> str:
    said, right = visit.done.outcome, visit.test.outcome
    shown = _("The reading, {display}, is “{word}”")
    if visit.test.display == right:
        shown = _("Here it reads “{word}”")
    if visit.test.mistake:
        shown = _("The reading, {display}, {word}")
    shown = shown.format(display=visit.test.display, word=_(right))
    if said is None:
        return _("{shown}; you recorded no finding.").format(shown=shown)
    if said == right:
        return _("{shown}, as you found.").format(shown=shown)
    return _("{shown}; you said “{said}”.").format(shown=shown, said=_(said))


def _statement_reason(record: KeyRecord, visit: Visit, statement: _Statement) -> str:
    test, judged = visit.test, statement.judged
    proof = test.stated(test.statement).text
    if judged.verdict == "right":
        told = _("By itself it proves: “{proof}”, as you said.").format(proof=proof)
        return f"{told}{_taken(statement)}"
    proves = _("By itself it proves: “{proof}”.").format(proof=proof)
    said = test.stated(str(visit.done.statement)).text
    known = _SAID.get(judged.verdict)
    why = _why(record, judged, said) if known is None else _(known).format(said=said)
    after = f" {_(_TAKES)}" if judged.worth < 0 else _taken(statement)
    return f"{proves} {why}{after}"


def _why(record: KeyRecord, judged: Judged, said: str) -> str:
    """Say what is amiss with a statement that says too little, or clears too much."""
    if judged.verdict != "true":
        labels = record.labels_of_sections(judged.wrongly)
        may = listed((_("the {part}").format(part=each) for each in labels), _("or"))
        told = _("Your “{said}” clears too much: the fault may still lie in {parts}.")
        return told.format(said=said, parts=may)
    if not judged.clears:
        return _(
            "Your “{said}” clears nothing of that, so it earns nothing and takes "
            "nothing off."
        ).format(said=said)
    if judged.clears == judged.of:
        told = _(
            "Your “{said}” clears more than that, if nothing wrongly by now, so it "
            "counts {percent} %."
        )
    else:
        told = _(
            "Your “{said}” clears {clears} of its {of} sections, so it counts "
            "{percent} %."
        )
    counts = {"clears": judged.clears, "of": judged.of}
    return told.format(said=said, percent=round(100 * judged.worth), **counts)


def _taken(statement: _Statement) -> str:
    """Say what wrong statements of the exercise take off this one."""
    worth = statement.judged.worth
    if worth - statement.share < _ALIKE:
        return ""
    left = round(100 * statement.share)
    told = _("Wrong statements of this exercise leave {percent} % of its mark.")
    return f" {told.format(percent=left)}"
