"""What a practice workbook says: of each step, and all that decides the plan."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from importlib import resources
from string import ascii_lowercase

from answer_keys.method import DEFAULT_METHOD, Step, step_of
from answer_keys.misconceptions import MISCONCEPTIONS
from generator.drawing.after_repair import verification_of
from generator.drawing.exercise import Exercise
from generator.drawing.wording import short_text
from generator.model.catalogue.repairs import repair_text
from generator.model.measure import UNITS, DiagnosticTest
from generator.model.scales import Scale
from generator.questions.question_records import judgement_of
from generator.workbooks.offered import repairs_offered
from generator.workbooks.statements import Statement
from workbook.quantities import Quantity, read_quantity
from workbook.record.payload import (
    ConclusionFeedback,
    Feedback,
    PlanFeedback,
    ReadingFeedback,
)
from workbook.texts import _, later, translated

# What an outcome says, by how the test is sorted; names of the parts in braces.
_FILE = resources.files(__package__) / "meanings.toml"
_TABLES: dict[str, dict[str, str]] = tomllib.loads(_FILE.read_text("utf-8"))
# No way to sort: what is told besides, where a lead took the place of a fuse.
_FUSE_OUT = _TABLES.pop("fuse")
_MEANS = {
    (sorting, word): text
    for sorting, texts in _TABLES.items()
    for word, text in texts.items()
}


def feedback_of(
    exercise: Exercise,
    codes: Mapping[str, str],
    statements: Sequence[Sequence[Statement]],
    method: Sequence[Step] = DEFAULT_METHOD,
) -> Feedback:
    """Everything that a practice workbook says; graded workbooks have none of it.

    Parameters
    ----------
    codes : mapping of str to str
        Code of each cause and correction on the page, by fault and by repair.
    statements : sequence, length n_tests
        Those of each test, as `statements_in` gives them.
    method : sequence of Step
        The house method.
    """
    repairs = repairs_offered(exercise)
    return Feedback(
        predictions={each.id: judgement_of(each) for each in exercise.predictions},
        # Most corrections ask the same: only others than the first are written once
        # more.
        verification=(first := judgement_of(verification_of(exercise, repairs[0]))),
        verifications={
            codes[repair]: told
            for repair in repairs[1:]
            if (told := judgement_of(verification_of(exercise, repair))) != first
        },
        tests={
            exercise.tests[number].id: _test_feedback(exercise, number, said, codes)
            for number, said in enumerate(statements)
        },
        conclusion=_conclusion(exercise, codes),
        plan=plan_feedback(exercise, codes, method),
        sections_of={
            codes[fault.id]: places
            for fault, places in zip(
                exercise.candidates, exercise.sections_of_causes, strict=True
            )
        },
    )


def _test_feedback(
    exercise: Exercise,
    number: int,
    statements: Sequence[Statement],
    codes: Mapping[str, str],
) -> ReadingFeedback:
    test, outcome = exercise.tests[number], exercise.actual_outcome[number]
    names = exercise.specification.names
    wrong = {one.id: one.misconception_at(outcome) for one in statements}
    return ReadingFeedback(
        is_drop=test.sorting == "drop",
        is_complaint=exercise.is_complaint(number),
        sound=exercise.sound_outcome[number],
        sound_text=_sound_text(test, exercise.scales[number]),
        outcome=outcome,
        text=names.put(
            _text(
                test,
                outcome,
                exercise.readings[number].display,
                is_smart=exercise.specification.nominal.is_smart,
            )
        ),
        caution=names.fill(test.mistake),
        fits=frozenset(
            codes[fault.id]
            for fault, row in zip(exercise.candidates, exercise.outcome, strict=True)
            if row[number] == outcome
        ),
        proved_by={word: one.id for one in statements for word in one.outcomes},
        misconceptions={
            id_: _(MISCONCEPTIONS[name].explanation)
            for id_, name in wrong.items()
            if name
        },
    )


def _text(test: DiagnosticTest, outcome: str, display: str, *, is_smart: bool) -> str:
    """Say what a reading means; the names of the parts are still in braces."""
    if test.mistake:
        text = _(
            "Whatever the display says, here {display}: done like this it misleads."
        )
        return text.format(display=_(display))
    word, _comma, fuse = outcome.partition(", fuse ")
    means = translated(_meaning(test, word, is_smart=is_smart))
    if fuse:
        means = f"{means} {translated(_FUSE_OUT[fuse])}"
    return _amount_text(test, word, display) + means


def _meaning(test: DiagnosticTest, word: str, *, is_smart: bool) -> str:
    """The sentence of an outcome: of the test alone, else of all sorted like it."""
    own = [test.id]
    if test.setup.neighbour_unplugged:
        own.append("neighbour unplugged")
    if is_smart:
        own.append(f"{test.sorting}, smart switch")
    return next(
        _MEANS[table, word] for table in (*own, test.sorting) if (table, word) in _MEANS
    )


def _sound_text(test: DiagnosticTest, scale: Scale) -> str:
    """Say what the word for a sound circuit means in numbers, where it has any."""
    if scale.band is None or test.is_by_eye or test.mistake:
        return ""
    unit = UNITS[test.measure.kind]
    low, high = (short_text(end, unit) for end in scale.band)
    if test.sorting == "sensed current":
        text = _("The true current is {low} to {high}: as much as it can tell.")
        return text.format(low=low, high=high)
    if test.sorting == "presence":
        return _("Anything below {high} counts as none.").format(high=high)
    if test.sorting == "to ground":
        return _("Anything up to {high} is as expected.").format(high=high)
    if test.sorting in ("drop", "pulled down", "warmth"):
        text = _("Anything up to {high} is as expected, as long as current flows.")
        return text.format(high=high)
    if test.sorting == "turn-off":
        text = _("Anything from {low} to {high} is as expected.")
        return text.format(low=low, high=high)
    if test.measure.clamp is None:
        return _("That is {low} to {high}.").format(low=low, high=high)
    least, most = (
        short_text(end * test.measure.clamp.scale_v_per_a, "V") for end in scale.band
    )
    text = _("Expected is {low} to {high}: {least} to {most} on this scale.")
    none = _("Anything below {high} counts as none.")
    return " ".join(
        (
            text.format(low=low, high=high, least=least, most=most),
            none.format(high=short_text(scale.edges[0], unit)),
        )
    )


def _amount_text(test: DiagnosticTest, outcome: str, display: str) -> str:
    """Turn the display of a clamp into amperes, in words."""
    clamp = test.measure.clamp
    if clamp is None or outcome in ("none", "over limit"):
        return ""
    # OL is no number.
    shown = read_quantity(display, "V")
    if not isinstance(shown, Quantity):
        return ""
    amount = short_text(shown.value / clamp.scale_v_per_a, "A")
    text = _("{display} ÷ {scale} is {amperes}. ")
    return text.format(display=display, scale=clamp.scale_text, amperes=amount)


def _conclusion(exercise: Exercise, codes: Mapping[str, str]) -> ConclusionFeedback:
    fill, fault = exercise.specification.names.fill, exercise.fault
    cause, correction = fill(fault.title), fill(repair_text(fault.repair))
    right = _("Cause: {cause}. Correction: {correction}.")
    other = _("The cause is another one: {cause}.")
    cure = _("The correction that cures it: {correction}.")
    return ConclusionFeedback(
        causes=frozenset(
            # A cause with the same repair is as right: nothing tells them apart.
            codes[f.id]
            for f in exercise.candidates
            if f.repair == fault.repair
        ),
        correction=codes[fault.repair],
        right=right.format(cause=cause, correction=correction),
        wrong_cause=other.format(cause=cause),
        wrong_correction=cure.format(correction=correction),
        unproved=_(
            "More than one cause still fitted your readings: the next test would have "
            "proved it."
        ),
    )


# Where the causes of a side lie, in the words of the page.
_PLACES = {
    "control side": later("in the control circuit"),
    "load side": later("in the load circuit"),
    "mechanics": later("in the mechanics"),
}


def plan_feedback(
    exercise: Exercise, codes: Mapping[str, str], method: Sequence[Step]
) -> PlanFeedback:
    """Tell all that decides the plan, by the codes of the page.

    Parameters
    ----------
    exercise : Exercise
    codes : mapping of str to str
        Code of each cause on the page, by fault.
    method : sequence of Step
        The house method.
    """
    steps = {t.id: step_of(t.sorting, t.needs) for t in exercise.tests if not t.mistake}
    causes, lost = exercise.candidates, exercise.reasoning.repair_minutes
    # Repairs go by numbers, so that the page holds no id of any.
    repairs = list(lost)
    return PlanFeedback(
        sides={codes[f.id]: _PLACES[f.side] for f in causes},
        chances={codes[f.id]: f.prior for f in causes},
        repairs={codes[f.id]: repairs.index(f.repair) for f in causes},
        trial_min={str(repairs.index(repair)): lost[repair] for repair in repairs},
        harmless=frozenset(codes[f.id] for f in causes if f.id.startswith("nothing")),
        outcomes={
            # A letter a cause, by the word's place on offer: one short text in place of
            # a list.
            test.id: "".join(
                ascii_lowercase[exercise.choices[place].index(row[place])]
                for row in exercise.outcome
            )
            for place, test in enumerate(exercise.tests)
        },
        method={
            id_: method.index(step) for id_, step in steps.items() if step in method
        },
    )
