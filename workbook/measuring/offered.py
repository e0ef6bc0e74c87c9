"""What a student has set up, as tests beside those of the list."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from string import ascii_lowercase

from workbook.measuring.bands import NONE, OVER_LIMIT, WORDS
from workbook.measuring.hazards import cautions_of
from workbook.measuring.judged import Split, split_of
from workbook.measuring.minutes import minutes_after
from workbook.measuring.proofs import Proof, numbered, proved_words, suspect_of
from workbook.measuring.set_up import set_up_of, state_after
from workbook.measuring.texts import (
    LEAD_BLOWN,
    MISLEADING,
    STILL_SEEN,
    TOO_NEAR,
    instrument_text,
    range_text,
    signs_of,
    spot_of,
    state_words,
    title_of,
)
from workbook.record.bench import PROVES_NOTHING, Bench, is_code
from workbook.record.circuit import Section
from workbook.record.payload import (
    DiagnosticTest,
    Exercise,
    ExtendedExercise,
    Feedback,
    ReadingFeedback,
)
from workbook.record.set_up import AUTO, FUSES, SetUp
from workbook.texts import _, decimal, figure

_FUSES = ("open", "too large")
_LOOKS = ("whole", *_FUSES)


def with_set_ups(exercise: Exercise, items: Sequence[str]) -> Exercise:
    """Put set-ups among the tests of an exercise.

    Parameters
    ----------
    exercise : Exercise
        With its list alone.
    items : sequence of str
        Everything done, in order, by the items of the journal; the last may be one that
        is not recorded yet.

    Raises
    ------
    RefusedError
        Where one is a code that this circuit does not know.
    """
    if exercise.bench is None or not any(map(is_code, items)):
        return exercise
    return _extended(exercise, exercise.bench, tuple(items))


# An exercise of a page is in one language, and so is all that is made of it here.
@lru_cache(maxsize=16)
def _extended(exercise: Exercise, bench: Bench, items: tuple[str, ...]) -> Exercise:
    own, feedback = list[DiagnosticTest](), exercise.feedback
    for place, item in enumerate(items):
        if not is_code(item) or item in items[:place]:
            continue
        judged = judged_test(exercise, bench, items[:place], item)
        own.append(judged.test)
        if feedback is not None and judged.feedback is not None:
            feedback = _told(feedback, judged, judged.feedback)
    return ExtendedExercise.of(exercise, tuple(own), feedback)


def _told(feedback: Feedback, judged: JudgedTest, own: ReadingFeedback) -> Feedback:
    id_, plan = judged.test.id, feedback.plan
    # As the tests of the list have it: each outcome by its place among the words.
    letters = "".join(
        ascii_lowercase[judged.test.outcomes.index(word)] for word in judged.column
    )
    return replace(
        feedback,
        tests={**feedback.tests, id_: own},
        plan=replace(plan, outcomes={**plan.outcomes, id_: letters}),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedTest:
    """A set-up as a test; what it shows is there only where its circuits are."""

    test: DiagnosticTest
    column: tuple[str, ...] = ()
    feedback: ReadingFeedback | None = None


def judged_test(
    exercise: Exercise, bench: Bench, before: Sequence[str], code: str
) -> JudgedTest:
    """Make the test that a set-up is, after some others.

    Raises
    ------
    RefusedError
        Where the circuit cannot be put into it.
    """
    set_up = set_up_of(code, bench)
    test = _test(bench, before, set_up, code)
    # Without the circuits nothing decides which words fit: all are on offer, and none
    # tells.
    if bench.model is None or exercise.feedback is None:
        return JudgedTest(test=replace(test, outcomes=words_on_offer(set_up)))
    split, feedback = split_of(bench, code), exercise.feedback
    ids = [cause.id for cause in exercise.causes]
    places = [feedback.sections_of[id_] for id_ in ids]
    proofs = proofs_of(bench, exercise.sections, places, split)
    test = replace(
        test,
        outcomes=words_on_offer(set_up, split),
        display=display_text(set_up, split),
        statements=tuple(one.said for one in proofs),
    )
    shown = zip(ids, split.outcomes, strict=True)
    own = replace(
        _feedback(set_up, split, proofs, rule_texts(bench, proofs)),
        fits=frozenset(id_ for id_, word in shown if word == split.outcome),
    )
    return JudgedTest(test=test, column=split.outcomes, feedback=own)


def words_on_offer(set_up: SetUp, split: Split | None = None) -> tuple[str, ...]:
    """Words that a student can choose from; without a split, all that there could be.

    With a fuse out they say what it was like, too.
    """
    read, nothing = WORDS[set_up.instrument], (PROVES_NOTHING,)
    if split is not None:
        # Whether it misleads or not, so that no word on offer tells which.
        words = (*read, *(split.seen_words or nothing))
        shown = {*split.outcomes, *split.seeming, split.outcome, split.sound}
        return (*words, *sorted(shown - {*words}))
    if not {*FUSES} & set_up.out.keys():
        return (*read, *nothing)
    words = (*read, *nothing, *(f"{PROVES_NOTHING}, fuse {look}" for look in _LOOKS))
    return (*words, *(f"{word}, fuse {fuse}" for word in read for fuse in _FUSES))


def _test(
    bench: Bench, before: Sequence[str], set_up: SetUp, code: str
) -> DiagnosticTest:
    minutes = minutes_after(before, set_up, bench)
    title = title_of(set_up, bench)
    state = _("First: {state}.").format(state=", ".join(state_words(set_up, bench)))
    tool = set_up.instrument
    return DiagnosticTest(
        id=code,
        title=title,
        how="",
        before=state,
        minutes=minutes.total,
        needs=minutes.needs,
        hazards=cautions_of(state_after(before, bench), set_up, bench),
        outcomes=(),
        display="",
        instrument=instrument_text(set_up),
        statements=(),
        range="" if set_up.range == AUTO else range_text(tool, set_up.range),
        tool=tool,
        at=spot_of(set_up, bench),
        signs=tuple(signs_of(set_up, bench)),
    )


def proofs_of(
    bench: Bench,
    sections: Sequence[Section],
    places: Sequence[Iterable[str]],
    split: Split,
) -> tuple[Proof, ...]:
    """Statements of what a set-up could prove, by id, one of them right.

    Parameters
    ----------
    places : sequence, length n_causes
        Ids of the sections in which each cause lies.
    """
    of_causes = [frozenset(each) for each in places]
    # By what the readings would be taken for, too: else a list of one statement would
    # tell that this set-up misleads.
    proved = dict(proved_words(sections, of_causes, split.seeming))
    if split.outcomes != split.seeming:
        for cleared, words in proved_words(sections, of_causes, split.outcomes).items():
            proved[cleared] = (*proved.get(cleared, ()), *words)
    claims = [*proved.items(), ((), ()), *((r.cleared, ()) for r in bench.known.rules)]
    said = [
        Proof(cleared=cleared, suspect=suspect_of(sections, cleared), outcomes=words)
        for cleared, words in claims
    ]
    return numbered(said, sections)


def right_proof(proofs: Iterable[Proof], outcome: str) -> str:
    """Id of the statement that an outcome proves."""
    return next(one.id for one in proofs if outcome in one.outcomes)


def rule_texts(bench: Bench, proofs: Iterable[Proof]) -> dict[str, str]:
    """What is wrong with the statements that a misconception makes, by id."""
    rules = {rule.cleared: rule.text for rule in bench.known.rules}
    return {
        one.id: rules[one.cleared]
        for one in proofs
        if one.cleared in rules and not one.outcomes
    }


def display_text(set_up: SetUp, split: Split) -> str:
    """What the instrument shows, in the language of the page, and the fuse besides."""
    shown = decimal(split.display)
    if split.truth.blown:
        shown = _("The fuse of the test lead opened at once")
    elif set_up.instrument == "scope":
        shown = _("Peak to peak {volts}").format(volts=shown)
    fuses = {
        "intact": _("the fuse that came out is whole"),
        "open": _("the fuse that came out is open"),
        "too large": _("the fuse that came out is larger than the sheet gives"),
    }
    return "; ".join(filter(None, (shown, fuses.get(split.seen_fuse, ""))))


def caution_of(split: Split) -> str:
    """Say what misleads; empty where nothing does."""
    return _(MISLEADING[split.misleading[0]]) if split.misleading else ""


def _feedback(
    set_up: SetUp, split: Split, proofs: Sequence[Proof], wrong: Mapping[str, str]
) -> ReadingFeedback:
    caution = caution_of(split)
    return ReadingFeedback(
        is_drop=False,
        sound=split.sound,
        sound_text=_sound_text(set_up, split) if not caution else "",
        outcome=split.outcome,
        text=_meaning(split, caution),
        caution=caution,
        fits=frozenset(),
        proved_by={word: one.id for one in proofs for word in one.outcomes},
        misconceptions=wrong,
    )


def _meaning(split: Split, caution: str) -> str:
    """Say what a reading is, by its band; where none is told, a fuse may still tell."""
    seen = f" {_(STILL_SEEN)}" if split.seen_words else ""
    if caution:
        text = _(
            "Whatever the display says, here {display}: done like this it misleads."
        )
        return text.format(display=decimal(split.display)) + seen
    if not split.is_sure:
        return _(TOO_NEAR) + seen
    if split.truth.blown:
        return _(LEAD_BLOWN)
    text = _("“{display}” is “{outcome}” here.")
    return text.format(display=decimal(split.display), outcome=_(split.outcome))


_UNITS = {"volts": "V", "ohms": "Ω", "clamp": "A", "scope": "V"}


def _sound_text(set_up: SetUp, split: Split) -> str:
    band, unit = split.scale.band, _UNITS[set_up.instrument]
    if band is None:
        return ""
    if split.sound == OVER_LIMIT and band[1] > (end := split.scale.edges[-1]):
        text = _("The range ends at {end}, below what is there: choose a higher one.")
        return text.format(end=_short(end, unit))
    sign = split.scale.sign
    # Below nothing the ends change their places: the lower one stays the first.
    low, high = (_short(sign * end, unit) for end in band[::sign])
    if not band[0]:
        return _("Anything up to {high} is as expected.").format(high=high)
    if set_up.instrument != "clamp":
        text = (
            _("That is {low} to {high}.")
            if sign > 0
            else _("That is {low} to {high}: the leads are swapped.")
        )
        return text.format(low=low, high=high)
    scale = float(set_up.scale) / 1000
    least, most = (_short(sign * end * scale, "V") for end in band[::sign])
    text = _("Expected is {low} to {high}: {least} to {most} on this scale.")
    expected = text.format(low=low, high=high, least=least, most=most)
    # Below nothing that would be said of the size alone.
    if sign < 0:
        return expected
    none = _("Anything below {high} counts as none.")
    edge = split.scale.edges[split.scale.words.index(NONE)]
    return f"{expected} {none.format(high=_short(edge, unit))}"


def _short(value: float, unit: str) -> str:
    """Write a value with three digits and the prefix that suits it."""
    for factor, prefix in ((1.0, ""), (1e-3, "m"), (1e-6, "µ")):
        if abs(value) >= factor:
            return f"{figure(float(f'{value / factor:.3g}'))} {prefix}{unit}"
    return f"0 {unit}"
