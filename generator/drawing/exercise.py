"""One exercise: drawn from a lesson and the secret stream, kept when its proof holds.

A draw is *radical* in what decides difficulty (family and fault) and *incidental* in
the rest (values, names, severities). The proof asks that the readings decide: every
outcome is sure within the tolerances, causes with different repairs differ in some
safe test, ratings and meter ranges hold, and wrong rules give numbers of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

from answer_keys.observed import NOTHING, Observed
from generator.drawing.predictions import (
    Prediction,
    SoundCurrents,
    is_cold_winding_sure,
    new_predictions,
    new_verification,
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
from generator.drawing.specification import Specification, new_specification
from generator.drawing.stream import Stream
from generator.drawing.vehicle import Reading, Vehicle, sound_network
from generator.errors import DrawError
from generator.model.catalogue import TESTS
from generator.model.circuit import SHEET_DEGC, RelayCircuit
from generator.model.complaints import COMPLAINTS, Manner, Symptom
from generator.model.diagnostics import PROVES_NOTHING, Pair, outcomes, readings
from generator.model.faults import FAULTS, Fault
from generator.model.instruments import Errors
from generator.model.measure import DiagnosticTest
from generator.model.network import Network
from generator.model.plan import Plan, State
from generator.model.reasoning import FaultChance, Reasoning, Site
from generator.model.repairs import sections_of, wrong_repair_minutes
from generator.model.scales import Scale
from generator.model.settling import Steps, together
from generator.model.turn_off import Coil, coil_of
from generator.model.wrong_state import LIKE, WrongState, wrong_states_for
from lessons.loader import LessonBook
from lessons.schema import Lesson
from workbook.texts import ENGLISH, _, speaking

_T = TypeVar("_T")
# Nearly every radical needs fewer; what needs more can hardly be drawn at all.
_ATTEMPTS = 120
# Tries made together where one after the other is not wanted.
_AHEAD = 8
# Where nothing flows: the current, and its band [A].
_NO_CURRENT = 0.0, (0.0, 0.0)
# So many tests done in a wrong state are on offer.
_FEWEST, _MOST = 3, 4


# No slots: what is worked out once is kept beside the fields.
@dataclass(frozen=True, kw_only=True)
class Exercise:
    """A broken circuit with everything a student is asked about it.

    Attributes
    ----------
    candidates : tuple of Fault, length n_faults
        Causes that can produce the complaint, in the order of the catalogue.
    outcome : tuple, shape (n_faults, n_tests)
        What each test shows under each candidate.
    sound_outcome, sound_values, readings : tuple, length n_tests
        Of the sound circuit, and of the vehicle as it is.
    sound_network, sound_coil : Network, Coil
        The vehicle before it broke, commanded on.
    pairs : tuple of Pair, length n_faults
        The nominal circuit with each candidate.
    vehicle : Pair
        The vehicle as it was built, and broken.
    errors : Errors
        Of the instruments on this vehicle, their noise left out.
    source_complaint : str
        The operator's words, not translated yet: whatever is drawn is the same in all
        languages, and texts are made of it in the language spoken when it is shown.
    question_key : bytes
        Drawn with it, and decides what is drawn for its questions.
    observed : Observed
        How hard such exercises have proved to be; decides nothing of what is drawn.
    """

    radical: Radical
    specification: Specification
    source_complaint: str
    symptom: Symptom
    fault: Fault
    tests: tuple[DiagnosticTest, ...]
    scales: tuple[Scale, ...]
    candidates: tuple[Fault, ...]
    outcome: tuple[tuple[str, ...], ...]
    sound_outcome: tuple[str, ...]
    sound_values: tuple[float, ...]
    readings: tuple[Reading, ...]
    sound_network: Network
    sound_coil: Coil
    sound_currents: SoundCurrents
    pairs: tuple[Pair, ...]
    vehicle: Pair
    errors: Errors
    question_key: bytes
    observed: Observed = NOTHING

    @property
    def complaint(self) -> str:
        """What the operator says, in the language spoken."""
        return _(self.source_complaint)

    @property
    def predictions(self) -> tuple[Prediction, ...]:
        """What is asked before the first test, in the language spoken."""
        return new_predictions(self.specification.nominal, self.sound_currents)

    @cached_property
    def actual_outcome(self) -> tuple[str, ...]:
        """What each test shows on this vehicle."""
        return self.outcome[self.candidates.index(self.fault)]

    @cached_property
    def sections_of_causes(self) -> tuple[frozenset[str], ...]:
        """Ids of the sections in which each candidate lies."""
        nominal = self.specification.nominal
        return tuple(sections_of(fault, nominal) for fault in self.candidates)

    @cached_property
    def reasoning(self) -> Reasoning:
        """Priors, outcomes, minutes and repairs: all that decides the plan."""
        faults = tuple(
            FaultChance(
                id=fault.id,
                prior=fault.prior,
                repair=fault.repair,
                sections=tuple(sorted(where)),
            )
            for fault, where in zip(
                self.candidates, self.sections_of_causes, strict=True
            )
        )
        repairs = dict.fromkeys(fault.repair for fault in faults)
        reach = self.specification.reach_min
        is_high_side = self.specification.nominal.is_high_side
        # One table, and one search, for whatever language is spoken.
        with speaking(ENGLISH):
            places = self.specification.places
        return Reasoning(
            faults=faults,
            tests=tuple(test.id for test in self.tests),
            outcomes=self.outcome,
            # The complaint seen once more is nothing abnormal that proves a cause.
            sound=tuple(
                self.outcome[0][place] if self.is_complaint(place) else word
                for place, word in enumerate(self.sound_outcome)
            ),
            reading_minutes=tuple(float(test.minutes) for test in self.tests),
            needs=tuple(test.needs for test in self.tests),
            places=tuple(
                Site(id=each.id, label=each.label, minutes=each.minutes)
                for each in places
            ),
            open=(),
            repair_minutes={
                each: wrong_repair_minutes(each, reach, is_high_side=is_high_side)
                for each in repairs
            },
        )

    def is_complaint(self, place: int) -> bool:
        """Whether a test only verifies the complaint: all its causes show the same."""
        shown = {row[place] for row in self.outcome}
        return self.tests[place].sorting == "complaint" and len(shown) == 1

    @cached_property
    def choices(self) -> tuple[tuple[str, ...], ...]:
        """Words to choose from for each test, in the order of its scale.

        Some causes show more at once; every test with an instrument offers that it
        proves nothing, so that the word does not tell which one does. A test done in a
        wrong state offers what the one that it passes for does.
        """
        ids, columns = [test.id for test in self.tests], zip(*self.outcome, strict=True)
        shown = dict(zip(ids, columns, strict=True))
        return tuple(
            _offered(test, scale, shown[LIKE.get(test.id, test.id)])
            for test, scale in zip(self.tests, self.scales, strict=True)
        )

    @property
    def plan(self) -> Plan:
        """The least-cost plan, the very one that grading follows."""
        return self.reasoning.plan

    @cached_property
    def way(self) -> tuple[tuple[int, State], ...]:
        """The planned tests on this vehicle, each with where the search then stands."""
        return tuple(self.plan.way(self.plan.start, self.actual_outcome))

    @property
    def given_tests(self) -> tuple[int, ...]:
        """Numbers of the planned tests that are done for the student.

        The last test of the plan is always the student's own.
        """
        planned = [test for test, _left in self.way]
        return tuple(planned[:-1][: self.radical.given_tests or 0])


def _offered(
    test: DiagnosticTest, scale: Scale, shown: Sequence[str]
) -> tuple[str, ...]:
    """Words of a scale, and what causes show besides."""
    # A fuse that came out adds to a word: some causes show ``expected, fuse open``.
    words = dict.fromkeys((*scale.choices, *sorted(set(shown))))
    words.pop(PROVES_NOTHING, None)
    return (*words,) if test.is_by_eye else (*words, PROVES_NOTHING)


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
    for attempt in range(_ATTEMPTS):
        left = [number for number in range(len(wanted)) if number not in made]
        tried = _attempts([(wanted[number], attempt) for number in left], secret)
        for number, one in zip(left, tried, strict=True):
            if isinstance(one, Unproved):
                reasons[number] = str(one)
            else:
                made[number] = one
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
    judged = yield from judge.steps(lesson, broken, symptom, manner)
    if len(judged.candidates) < radical.causes:
        raise Unproved("fewer causes bring the complaint than are asked for")
    fault = _cause(judged, radical, stream)
    built = specification.built(stream)
    # After the proof: a test in a wrong state proves nothing, and may not hinder it.
    judged = with_wrong_states(judged, fault, specification.nominal, stream)
    currents, sound_outcome, sound_values = yield from _sound(specification, judged)
    # As bad as in the proof: only the vehicle around it is within tolerances now.
    severity = broken.severity[broken.faults.index(fault)]
    vehicle = yield from broken_pair.steps(fault, built, severity)
    case = fault, built, vehicle
    read, errors = yield from _read_vehicle(broken, judged, case, stream)
    whole = yield from sound_network.steps(built)
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
        settled=read.settled,
        value=tuple(read.value[0, :, 0].tolist()),
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
