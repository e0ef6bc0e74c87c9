"""An exercise drawn from a lesson and the secret stream, kept when its proof holds.

A draw is *radical* in what decides difficulty (family and fault) and *incidental* in
the rest (values, names, severities). The proof asks that the readings decide: every
outcome is sure within the tolerances, causes with different repairs differ in some
safe test, ratings and meter ranges hold, and wrong rules give numbers of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from generator.drawing.exercise import Exercise
from generator.drawing.predictions import (
    SoundCurrents,
    is_cold_winding_sure,
    new_predictions,
)
from generator.drawing.proof import (
    Broken,
    Judged,
    Unproved,
    break_circuit,
    broken_pair,
    judge,
    sharing,
    unsure_tests,
)
from generator.drawing.radical import Radical
from generator.drawing.reading import Reading
from generator.drawing.specification import Specification, new_specification
from generator.drawing.stream import Stream
from generator.drawing.vehicle import Vehicle, sound_network
from generator.drawing.verification import new_verification
from generator.errors import DrawError
from generator.model.catalogue.fault import Fault
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import TESTS
from generator.model.catalogue.wrong_state import WrongState, wrong_states_for
from generator.model.circuit import SHEET_DEGC, RelayCircuit
from generator.model.complaints import COMPLAINTS, Manner, Symptom
from generator.model.diagnostics import PROVES_NOTHING, Pair, outcomes, readings
from generator.model.instruments import Errors
from generator.model.steps import Steps, both, together
from generator.model.turn_off import coil_of
from lessons.loader import LessonBook
from lessons.schema import Lesson

_T = TypeVar("_T")
# Nearly every radical needs fewer; what needs more can hardly be drawn at all.
_ATTEMPTS = 60
# Tries made together where one after the other is not wanted.
_AHEAD = 8
# Numbers of the tries that several exercises make at a time: what fails a few times
# will mostly fail again.
_FEW = 4
_ALONGSIDE = [
    *(range(number, number + 1) for number in range(_FEW)),
    *(range(n, min(n + _AHEAD, _ATTEMPTS)) for n in range(_FEW, _ATTEMPTS, _AHEAD)),
]
# Where nothing flows: the current, and its band [A].
_NO_CURRENT = 0.0, (0.0, 0.0)
# So many tests done in a wrong state are on offer.
_FEWEST, _MOST = 3, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """An exercise that is to be drawn.

    Attributes
    ----------
    radical : Radical
        A family and a fault of the lesson.
    labels : tuple of str or int
        What sets this draw apart from all others of the class.
    """

    book: LessonBook
    radical: Radical
    labels: tuple[str | int, ...]


def new_exercise(
    book: LessonBook,
    radical: Radical,
    secret: bytes,
    labels: Sequence[str | int],
    is_wanted: Callable[[Exercise], bool] = lambda _: True,
    attempts: int | None = None,
) -> Exercise:
    """Draw an exercise until its proof holds and it is wanted.

    Parameters
    ----------
    secret : bytes
        The class secret.
    is_wanted : callable
        Whether a draw that is proved may be kept.
    attempts : int, optional
        Draws before it is given up; left out, as many as nearly every radical needs.

    Raises
    ------
    DrawError
        When no draw passes.
    """
    wanted = Wanted(book=book, radical=radical, labels=tuple(labels))
    reason, most = "", attempts or _ATTEMPTS
    # One try alone may do; where it does not, more at once cost less each.
    attempt, ahead = 0, 1
    while attempt < most:
        tries = range(attempt, min(attempt + ahead, most))
        for made in _attempts([(wanted, number) for number in tries], secret):
            # What is not wanted counts as a try, too: else a class could be drawn for
            # ever.
            if isinstance(made, Unproved):
                reason = str(made)
            elif is_wanted(made):
                return made
            else:
                reason = "it is harder or easier than is wanted"
        attempt, ahead = attempt + ahead, min(2 * ahead, _AHEAD)
    raise DrawError(radical.family, radical.fault, most, reason)


def new_exercises(
    wanted: Sequence[Wanted], secret: bytes
) -> list[Exercise | DrawError]:
    """Draw several exercises in the same batches, each until its proof holds.

    Each is what `new_exercise` draws of it, or the error that it raises.
    """
    made = dict[int, Exercise | DrawError]()
    reasons = dict.fromkeys(range(len(wanted)), "")
    for numbers in _ALONGSIDE:
        left = [place for place in range(len(wanted)) if place not in made]
        tries = [(place, number) for place in left for number in numbers]
        tried = _attempts([(wanted[place], number) for place, number in tries], secret)
        for (place, _), one in zip(tries, tried, strict=True):
            if isinstance(one, Unproved):
                reasons[place] = str(one)
            else:
                # Of several tries the first that passes.
                made.setdefault(place, one)
        if len(made) == len(wanted):
            break
    for number, reason in reasons.items():
        radical = wanted[number].radical
        failed = DrawError(radical.family, radical.fault, _ATTEMPTS, reason)
        made.setdefault(number, failed)
    return [made[number] for number in range(len(wanted))]


def _attempts(
    tries: Sequence[tuple[Wanted, int]], secret: bytes
) -> list[Exercise | Unproved]:
    """Draw once for each number of a try, or tell what the proof fails on."""
    works = [
        _drawn(one.book, one.radical, Stream(secret, "exercise", *one.labels, number))
        for one, number in tries
    ]
    return together(works, Unproved)


def _drawn(book: LessonBook, radical: Radical, stream: Stream) -> Steps[Exercise]:
    """Draw once, or raise what the proof fails on."""
    # All below draws from one stream: whoever moves a line changes every set of every
    # secret.
    lesson = _to_set_up(book.lesson) if radical.is_unlisted else book.lesson
    family = next(f for f in book.families if f.id == radical.family)
    specification = new_specification(lesson, family, radical.variant, stream)
    broken = yield from break_circuit.steps(lesson, specification, stream)
    symptom = _symptom(broken, radical)
    _check_warmth(specification, symptom)
    # What the operator says comes before the causes are judged: some words fit few of
    # them.
    manner, said = _said(broken, radical, symptom, stream)
    if len(sharing(broken, symptom, manner)) < radical.causes:
        raise Unproved("fewer causes bring the complaint than are asked for")
    judged = yield from judge.steps(lesson, broken, symptom, manner)
    fault = _cause(judged, radical, stream)
    built = specification.built(stream)
    # After the proof: a test in a wrong state proves nothing, and may not hinder it.
    judged = with_wrong_states(judged, fault, specification.nominal, stream)
    # As bad as in the proof: only the vehicle around it is within tolerances now.
    severity = broken.severity[broken.faults.index(fault)]
    (currents, sound_outcome, sound_values), (whole, vehicle) = yield from both(
        _sound(specification, judged),
        both(sound_network.steps(built), broken_pair.steps(fault, built, severity)),
    )
    case = fault, built, vehicle
    read, errors = yield from _read_vehicle(broken, judged, case, stream)
    return Exercise(
        radical=replace(radical, fault=fault.id),
        specification=specification,
        source_complaint=said,
        symptom=judged.symptom,
        fault=fault,
        tests=judged.tests,
        scales=judged.scales,
        candidates=judged.candidates,
        outcome=judged.outcome,
        sound_outcome=sound_outcome,
        sound_values=sound_values,
        readings=read,
        sound_network=whole,
        sound_coil=coil_of(built),
        sound_currents=currents,
        pairs=judged.pairs,
        vehicle=vehicle,
        errors=errors,
        # Last of all, so that questions change nothing else that is drawn.
        question_key=stream.integer(1 << 64).to_bytes(8),
        observed=book.observed,
    )


def _to_set_up(lesson: Lesson) -> Lesson:
    """Leave out what is no set-up: without a list, nothing offers lamp or new part.

    The harness is moved there as a whole, or not at all.
    """
    setups = {name: TESTS[name].setup for name in lesson.tests}
    own = [n for n, s in setups.items() if not (s.lamp or s.new_relay or s.alone)]
    return lesson.model_copy(update={"tests": tuple(own)})


def _symptom(broken: Broken, radical: Radical) -> Symptom:
    """What the operator notices: of the fault, or what is asked for without one."""
    if not radical.fault and radical.symptom is not None:
        return radical.symptom
    symptom = broken.symptom_of(FAULTS[radical.fault])
    if symptom not in COMPLAINTS:
        raise Unproved("the fault has no complaint to begin from")
    if radical.symptom not in (None, symptom):
        raise Unproved("the fault brings another complaint on this draw")
    return symptom


def _check_warmth(specification: Specification, symptom: Symptom) -> None:
    """Keep what is warmed for the tests, or was on all night, from being cold."""
    if specification.nominal.coil_degc >= SHEET_DEGC:
        return
    if symptom == "comes and goes":
        raise Unproved("a harness that is warmed has no cold relay")
    if symptom == "never stops":
        raise Unproved("what was on all night is not as cold as the night")


def _cause(judged: Judged, radical: Radical, stream: Stream) -> Fault:
    """The fault that is asked for, or one of the causes as often as it is found.

    Drawn when the page is all there, so that nothing on it tells more than that.
    """
    if radical.fault:
        return FAULTS[radical.fault]
    causes = judged.candidates
    return stream.weighted(causes, [cause.prior for cause in causes])


def _said(
    broken: Broken, radical: Radical, symptom: Symptom, stream: Stream
) -> tuple[Manner | None, str]:
    """Draw what the operator says: words that fit the fault and enough other causes."""
    # Without a fault the cause is not drawn yet: words may leave out any single one.
    wanted = {FAULTS[radical.fault]} if radical.fault else set[Fault]()

    def leaves_enough(manner: Manner | None) -> bool:
        causes = [broken.faults[number] for number in sharing(broken, symptom, manner)]
        repairs = {cause.repair for cause in causes}
        is_enough = len(causes) >= radical.causes and len(repairs) > 1
        return is_enough and wanted <= {*causes}

    said = broken.specification.family.complaint.said(symptom)
    fitting = [each for each in said if each[0] is None or leaves_enough(each[0])]
    return stream.choice(fitting)


def _sound(
    specification: Specification, judged: Judged
) -> Steps[tuple[SoundCurrents, tuple[str, ...], tuple[float, ...]]]:
    """Currents of the sound circuit, and the outcome and value of each test on it."""
    nominal, tests, on = specification.nominal, judged.tests, judged.scales
    read = yield from readings.steps([(nominal, nominal)], nominal, tests)
    value = read.value[..., 0]
    expected = {
        test.id: (float(amount), scale.band)
        for test, amount, scale in zip(tests, value[0], on, strict=True)
        if scale.band is not None
    }
    currents = SoundCurrents(
        control=expected.get("control_current", _NO_CURRENT),
        load=expected["load_current"],
    )
    if not is_cold_winding_sure(nominal, currents):
        raise Unproved("a cold winding's current hangs on how its cold is counted")
    asked = (*new_predictions(nominal, currents), new_verification(nominal, currents))
    if not all(prediction.is_clear for prediction in asked):
        raise Unproved("a wrong rule gives a number near another")
    shown = outcomes(value, on, [nominal], tests)[0]
    return currents, shown, tuple(value[0].tolist())


def _read_vehicle(
    broken: Broken,
    judged: Judged,
    case: tuple[Fault, RelayCircuit, Pair],
    stream: Stream,
) -> Steps[tuple[tuple[Reading, ...], Errors]]:
    """Read every test on the vehicle that was built and broken."""
    fault, built, vehicle = case
    read = yield from readings.steps([vehicle], built, judged.tests)
    shown = outcomes(read.value[..., 0], judged.scales, [vehicle[0]], judged.tests)[0]
    # The proof says that this is rare, and not that it never happens.
    if shown != judged.outcome[judged.candidates.index(fault)]:
        raise Unproved("this vehicle shows another outcome than its cause should")
    if unsure := unsure_tests(read.value, judged.tests, judged.scales):
        raise Unproved(f"the reading of {unsure[0]} lies near a band edge")
    errors = Errors(**{n: stream.uniform(-1, 1) for n in ("gain", "counts", "zero")})
    # Gain and zero stay what they are for a whole vehicle; noise does not.
    at_once = [replace(errors, noise=stream.uniform(-1, 1)) for _ in judged.tests]
    shown_on = Vehicle(
        circuit=vehicle[0],
        names=broken.specification.source_names,
        tests=judged.tests,
        true=read,
        word=shown,
    )
    return shown_on.read(at_once), errors


def with_wrong_states(
    judged: Judged, fault: Fault, circuit: RelayCircuit, stream: Stream
) -> Judged:
    """Put three or four tests done in a wrong state among the proper ones.

    Each stands beside the test that it passes for, before or after it as drawn, so
    that no place gives it away. The proof has been made without them.

    Parameters
    ----------
    judged : Judged
        With proper tests alone.
    fault : Fault
        Where it opens the fuse of a test lead at once, no clamp misleads.
    circuit : RelayCircuit
        Tells its variant.
    stream : Stream
        Of the exercise.
    """
    shown = zip(
        judged.tests, judged.outcome[judged.candidates.index(fault)], strict=True
    )
    offered = [test.id for test, word in shown if not word.startswith("over limit")]
    suitable = wrong_states_for(circuit, offered, judged.symptom)
    count = _FEWEST + stream.integer(_MOST - _FEWEST + 1)
    for wrong in stream.shuffled(suitable)[:count]:
        judged = _placed(judged, wrong, stream.integer(2))
    return judged


def _placed(judged: Judged, wrong: WrongState, steps_behind: int) -> Judged:
    like = [test.id for test in judged.tests].index(wrong.like)
    place = like + steps_behind
    return replace(
        judged,
        tests=_inserted(judged.tests, place, wrong.test),
        scales=_inserted(judged.scales, place, judged.scales[like]),
        outcome=tuple(_inserted(row, place, PROVES_NOTHING) for row in judged.outcome),
    )


def _inserted(items: Sequence[_T], place: int, item: _T) -> tuple[_T, ...]:
    return (*items[:place], item, *items[place:])
