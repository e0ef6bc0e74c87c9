"""One exercise: drawn from a lesson and the secret stream, kept when its proof holds.

A draw is *radical* in what decides difficulty (family and fault) and *incidental* in
the rest (values, names, severities). The proof asks that the readings decide: every
outcome is sure within the tolerances, causes with different repairs differ in some
safe test, ratings and meter ranges hold, and wrong rules give numbers of their own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from generator.model.circuit import (
    ENDS,
    PROBES,
    RelayCircuit,
    Settled,
    columns_of,
    network_of,
)
from generator.model.diagnostics import Scale, outcomes, readings
from generator.model.faults import FAULTS, Fault
from generator.model.instruments import OHMMETER, SCOPE, VOLTMETER, Errors
from generator.model.measure import Setup
from generator.model.network import Branch, Network
from generator.model.sections import sections_of
from generator.model.settling import settle
from generator.model.turn_off import Coil, coil_of
from generator.model.wrong_state import misread
from generator.writing.errors import DrawError
from generator.writing.offer import with_wrong_states
from generator.writing.predictions import (
    Prediction,
    new_predictions,
    new_verification,
)
from generator.writing.proof import (
    Broken,
    Judged,
    Unproved,
    break_circuit,
    broken_pair,
    judge,
    unsure_tests,
)
from generator.writing.specification import Specification, new_specification
from generator.writing.stream import Stream
from generator.writing.turn_off_picture import turn_off_picture
from generator.writing.variant import Variant
from workbook.texts import _, later

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from generator.model.measure import DiagnosticTest
    from generator.model.symptoms import Symptom
    from generator.writing.scope import ScopePicture
    from lessons.loader import LessonBook
    from lessons.schema import ExerciseKind

__all__ = ["Exercise", "Radical", "new_exercise"]

_ATTEMPTS = 120
# A hand's length of wire.
_PIECE_OHM = 0.001
# What there is to see or feel, by what is looked at and the outcome.
_SEEN = {
    ("control_fuse", "intact"): "The element of the fuse is whole",
    ("control_fuse", "open"): "The element of the fuse has parted",
    ("load_fuse", "intact"): "The element of the fuse is whole",
    ("load_fuse", "open"): "The element of the fuse has parted",
    ("load_fuse", "too large"): "Whole, but of a higher rating than the sheet gives",
    ("enable", "yes"): "Every enable input is present",
    ("enable", "no"): "One enable input is not present",
    ("mechanism", "normal effort"): "It moves with the usual effort and comes to rest",
    ("mechanism", "stuck"): "It does not move at all",
    ("mechanism", "heavy"): "It moves, but drags and stops at once",
    ("mechanism", "free"): "It moves with no effort and drives nothing",
    ("mechanism", "wide gap"): "The gap is wider than the sheet allows",
    ("work", "yes"): "The work is done as it should be",
    ("work", "no"): "The work is not done as it should be",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Radical:
    """What decides how hard an exercise is: lesson, family, variant, fault, complaint.

    Without a ``symptom`` any complaint of the fault will do; ``kind`` is what is asked.
    With ``given_tests`` the predictions and so many planned tests are done for the
    student; without, nothing is.
    """

    lesson: str
    family: str
    fault: str
    variant: Variant = field(default_factory=Variant)
    symptom: Symptom | None = None
    kind: ExerciseKind = "diagnosis"
    given_tests: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one test gives on the vehicle: true value, display, and its network.

    ``value`` is in the base unit, or the number of its word for a state. A reading of
    a scope has its screen, and the coil as it is in this vehicle.
    """

    value: float
    display: str
    network: Network
    picture: ScopePicture | None = None
    coil: Coil | None = None

    @property
    def said(self) -> str:
        """What is read, in the language of the page where it is in words."""
        if self.coil is None:
            return _(self.display)
        peak = _("Peak to peak {volts}")
        return peak.format(volts=self.display.removeprefix("Peak to peak "))


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """A broken circuit with everything a student is asked about it.

    Attributes
    ----------
    candidates : tuple of Fault, length n_faults
        Causes that can produce the complaint, in the order of the catalogue.
    outcome : tuple, shape (n_faults, n_tests)
        What each test shows under each candidate.
    sound_outcome, readings : tuple, length n_tests
        Of the sound circuit, and of the vehicle as it is.
    sound_network, sound_coil : Network, Coil
        The vehicle before it broke, commanded on.
    question_key : bytes
        Drawn with it, and decides what is drawn for its questions.
    """

    radical: Radical
    specification: Specification
    complaint: str
    symptom: Symptom
    fault: Fault
    tests: tuple[DiagnosticTest, ...]
    scales: tuple[Scale, ...]
    candidates: tuple[Fault, ...]
    outcome: tuple[tuple[str, ...], ...]
    sound_outcome: tuple[str, ...]
    readings: tuple[Reading, ...]
    sound_network: Network
    sound_coil: Coil
    predictions: tuple[Prediction, ...]
    verification: Prediction
    question_key: bytes

    @property
    def actual_outcome(self) -> tuple[str, ...]:
        """What each test shows on this vehicle."""
        return self.outcome[self.candidates.index(self.fault)]

    @property
    def places(self) -> tuple[frozenset[str], ...]:
        """Ids of the sections in which each candidate lies."""
        nominal = self.specification.nominal
        return tuple(sections_of(fault, nominal) for fault in self.candidates)


def new_exercise(
    book: LessonBook,
    radical: Radical,
    secret: bytes,
    labels: Sequence[str | int],
    is_wanted: Callable[[Exercise], bool] = lambda _: True,
) -> Exercise:
    """Draw an exercise until its proof holds and it is wanted.

    Parameters
    ----------
    book : LessonBook
    radical : Radical
        A family and a fault of the lesson.
    secret : bytes
        The class secret.
    labels : sequence of str or int
        What sets this draw apart from all others of the class.
    is_wanted : callable
        Whether a draw that is proved may be kept.

    Raises
    ------
    DrawError
        When no draw passes.
    """
    reason = ""
    for attempt in range(_ATTEMPTS):
        try:
            stream = Stream(secret, "exercise", *labels, attempt)
            made = _drawn(book, radical, stream)
            if is_wanted(made):
                return made
            reason = "it is harder or easier than is wanted"
        except Unproved as failed:
            reason = str(failed)
    raise DrawError(radical.family, radical.fault, _ATTEMPTS, reason)


def _drawn(book: LessonBook, radical: Radical, stream: Stream) -> Exercise:
    """Draw once, or raise what the proof fails on."""
    family = next(f for f in book.families if f.id == radical.family)
    fault = FAULTS[radical.fault]
    specification = new_specification(book.lesson, family, radical.variant, stream)
    broken = break_circuit(book.lesson, specification, stream)
    judged = judge(book.lesson, broken, fault)
    if radical.symptom not in (None, judged.symptom):
        raise Unproved("the fault brings another complaint on this draw")
    built = specification.built(stream)
    judged = with_wrong_states(judged, specification.nominal, stream)
    asked, sound_outcome = _sound(specification, judged)
    vehicle = _read_vehicle(broken, judged, (fault, built), stream)
    complaints = family.complaint
    return Exercise(
        radical=radical,
        specification=specification,
        complaint=_(
            stream.choice(getattr(complaints, judged.symptom.replace(" ", "_")))
        ),
        symptom=judged.symptom,
        fault=fault,
        tests=judged.tests,
        scales=judged.scales,
        candidates=judged.candidates,
        outcome=judged.outcome,
        sound_outcome=sound_outcome,
        readings=vehicle,
        sound_network=_sound_network(built),
        sound_coil=coil_of(built),
        predictions=asked[:-1],
        verification=asked[-1],
        question_key=stream.integer(1 << 64).to_bytes(8),
    )


def _sound(
    specification: Specification, judged: Judged
) -> tuple[tuple[Prediction, ...], tuple[str, ...]]:
    """Questions on the sound circuit, and the outcome of each test on it."""
    nominal, tests, on = specification.nominal, judged.tests, judged.scales
    value = readings([(nominal, nominal)], nominal, tests).value[..., 0]
    by_id = {
        test.id: (float(amount), scale)
        for test, amount, scale in zip(tests, value[0], on, strict=True)
    }
    control, load = by_id["control_current"], by_id["load_current"]
    asked = (
        *new_predictions(nominal, control, load),
        new_verification(nominal, load, control[0]),
    )
    if not all(prediction.is_clear for prediction in asked):
        raise Unproved("a wrong rule gives a number near another")
    return asked, outcomes(value, on, [nominal], tests)[0]


def _read_vehicle(
    broken: Broken, judged: Judged, case: tuple[Fault, RelayCircuit], stream: Stream
) -> tuple[Reading, ...]:
    """Break the vehicle that was built, and read every test on it."""
    fault, built = case
    severity = broken.severity[broken.faults.index(fault)]
    vehicle = broken_pair(fault, built, severity)
    read = readings([vehicle], built, judged.tests)
    calm = vehicle[0]
    shown = outcomes(read.value[..., 0], judged.scales, [calm], judged.tests)[0]
    if shown != judged.outcome[judged.candidates.index(fault)]:
        raise Unproved("this vehicle shows another outcome than its cause should")
    if unsure := unsure_tests(read.value, judged.tests, judged.scales):
        raise Unproved(f"the reading of {unsure[0]} lies near a band edge")
    errors = Errors(**{n: stream.uniform(-1, 1) for n in ("gain", "counts", "zero")})
    found = []
    for number, test in enumerate(judged.tests):
        value = float(read.value[0, number, 0])
        word = shown[number]
        # Gain and zero stay what they are for a whole vehicle; noise does not.
        at_once = replace(errors, noise=stream.uniform(-1, 1))
        network = _network(test, calm, read.settled, number)
        if test.mistake:
            display = misread(test, value, network, at_once)
        else:
            display = _display(test, value, word, at_once)
        reading = Reading(value=value, display=display, network=network)
        if test.measure.kind == "spike":
            screen = turn_off_picture(
                calm, broken.specification.names, SCOPE.shown(value, errors)
            )
            reading = replace(reading, picture=screen, coil=coil_of(calm))
        found.append(reading)
    return tuple(found)


def _display(test: DiagnosticTest, value: float, word: str, errors: Errors) -> str:
    """What the student sees: a display, or in words what there is to see."""
    measure = test.measure
    if measure.kind == "state":
        return _SEEN[measure.target, word]
    if test.sorting == "work":
        return _SEEN["work", word]
    if word == "over limit" and measure.clamp:
        return later("The fuse of the test lead opened at once")
    if measure.clamp:
        return measure.clamp.display(value, errors)
    if measure.kind == "spike":
        return SCOPE.display(value, errors)
    meter = OHMMETER if measure.kind == "resistance" else VOLTMETER
    return meter.display(value, errors)


def _network(
    test: DiagnosticTest, vehicle: RelayCircuit, settled: Settled, number: int
) -> Network:
    """The network that a test measures on, open branches left out."""
    measure = test.measure
    if measure.kind == "state":
        return Network(branches=())
    if measure.true_kind in ("voltage", "spike"):
        return network_of(settled, (0, number, 0), PROBES[measure.target][1])
    if measure.true_kind == "current":
        return _clamped(measure.target, settled, number)
    parts = (
        [("load", "load+", "load-", vehicle.load_ohm)]
        if measure.target == "load"
        else [
            ("coil", "86", "85", vehicle.coil_ohm),
            ("suppression", "86", "85", vehicle.suppression_ohm),
        ]
    )
    ground = parts[0][2]
    branches = tuple(Branch(*part) for part in parts if math.isfinite(part[3]))
    return Network(branches=branches, ground=ground)


def _clamped(wire: str, settled: Settled, number: int) -> Network:
    """The network around a wire in the jaw of a clamp.

    Of a wire that is open the piece in the jaw is there, and ends at the break.
    """
    end = ENDS[wire][1]
    network = network_of(settled, (0, number, 0), end)
    if wire in {branch.name for branch in network.branches}:
        return network
    piece = Branch(wire, "break", end, _PIECE_OHM)
    return replace(network, branches=(*network.branches, piece))


def _sound_network(built: RelayCircuit) -> Network:
    columns = columns_of([built])
    whole = settle(columns, columns, [Setup(command="normal")])
    return network_of(whole, (0, 0, 0))
