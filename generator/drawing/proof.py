"""The proof of an exercise: a circuit broken in every allowed way, read by every test.

Only what holds within the tolerances is kept: every outcome is sure, the relay never
sits near pull-in, and causes with different repairs differ in some safe test.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generator.drawing.specification import Specification
from generator.drawing.stream import Stream
from generator.model.catalogue.fault import Fault
from generator.model.catalogue.faults import FAULTS
from generator.model.catalogue.tests import tests_for
from generator.model.circuit import RelayCircuit
from generator.model.complaints import Manner, Symptom
from generator.model.diagnostics import (
    Pair,
    Readings,
    outcomes,
    readings,
    scales,
)
from generator.model.measure import DiagnosticTest
from generator.model.risk import risks
from generator.model.scales import Scale
from generator.model.steps import InSteps, Steps, both
from generator.model.symptoms import as_found, symptoms
from generator.model.uncertainty import standard_uncertainty
from lessons.schema import Lesson

Floats = NDArray[np.float64]

# Largest probability that tolerances turn an outcome into another.
_RISK = 0.01
# Coil current must stay this far from pull-in, as a fraction of it.
_PULL_IN_GAP = 0.15


class Unproved(Exception):  # noqa: N818 - no error of the user: the draw is repeated
    """A draw that does not pass the proof, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """One specification broken in every way that a lesson allows.

    ``severity``, ``pairs`` and ``felt`` go with ``faults``: its size, the circuit calm
    and while its harness is wiggled and warm, and what the operator notices.
    """

    specification: Specification
    faults: tuple[Fault, ...]
    severity: tuple[float, ...]
    pairs: tuple[Pair, ...]
    felt: tuple[Symptom, ...]

    def symptom_of(self, fault: Fault) -> Symptom:
        """What the operator notices of one of the faults.

        Raises
        ------
        Unproved
            Where it cannot happen to the circuit as it was drawn.
        """
        if fault not in self.faults:
            raise Unproved(f"{fault.id} cannot happen to this circuit")
        return self.felt[self.faults.index(fault)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """Causes that can produce one complaint, and what every test shows under each.

    ``pairs`` go with ``candidates``, ``scales`` with ``tests``; ``outcome`` has the
    shape (n_candidates, n_tests).
    """

    symptom: Symptom
    candidates: tuple[Fault, ...]
    pairs: tuple[Pair, ...]
    tests: tuple[DiagnosticTest, ...]
    scales: tuple[Scale, ...]
    outcome: tuple[tuple[str, ...], ...]


@InSteps
def broken_pair(fault: Fault, circuit: RelayCircuit, severity: float) -> Steps[Pair]:
    """Break a circuit: as it comes in, and while its harness is wiggled and warm."""
    (calm,) = yield from as_found.steps([fault.as_calm(circuit, severity)])
    return calm, fault.edit(circuit, severity) if fault.is_intermittent else calm


@InSteps
def break_circuit(
    lesson: Lesson, specification: Specification, stream: Stream
) -> Steps[Broken]:
    """Break the nominal circuit in every way, each with a severity of its own."""
    family, nominal = specification.family, specification.nominal
    faults = tuple(
        fault
        for fault in FAULTS.values()
        if fault.id in lesson.faults
        and family.kind in fault.kinds
        and fault.applies(nominal)
    )
    # Of the causes that are not there, too: each has to be told from the one that is.
    severity = tuple(stream.uniform(*fault.severity) for fault in faults)
    pairs = yield from _broken_pairs(faults, nominal, severity)
    felt = yield from symptoms.steps(pairs, nominal)
    return Broken(
        specification=specification,
        faults=faults,
        severity=severity,
        pairs=pairs,
        felt=felt,
    )


def _broken_pairs(
    faults: Sequence[Fault], nominal: RelayCircuit, severity: Sequence[float]
) -> Steps[tuple[Pair, ...]]:
    """As ``broken_pair`` for many faults, their fuses found in one batch."""
    sized = list(zip(faults, severity, strict=True))
    calm = yield from as_found.steps([fault.as_calm(nominal, s) for fault, s in sized])
    return tuple(
        (found, fault.edit(nominal, size) if fault.is_intermittent else found)
        for (fault, size), found in zip(sized, calm, strict=True)
    )


def sharing(broken: Broken, symptom: Symptom, manner: Manner | None) -> tuple[int, ...]:
    """Numbers of the faults that fit a complaint and the manner of its words."""
    return tuple(
        number
        for number, (fault, felt) in enumerate(
            zip(broken.faults, broken.felt, strict=True)
        )
        if felt == symptom and manner in (None, fault.manner)
    )


@InSteps
def judge(
    lesson: Lesson, broken: Broken, symptom: Symptom, manner: Manner | None = None
) -> Steps[Judged]:
    """Sort out which causes share a complaint, and what the tests show.

    Words of a ``manner`` fit only some of the causes.

    Raises
    ------
    Unproved
        When an outcome is not sure, two causes with different repairs look alike in
        every test, or all causes have one repair.
    """
    specification, nominal = broken.specification, broken.specification.nominal
    offered = lesson.tests_on(specification.family)
    tests = tuple(
        test
        for test in tests_for(nominal, offered, is_stressed=symptom == "comes and goes")
        if symptom in test.complaints
    )
    kept = sharing(broken, symptom, manner)
    candidates = tuple(broken.faults[number] for number in kept)
    pairs = tuple(broken.pairs[number] for number in kept)
    # Bands come from the sound circuit, so that no band tells what is broken.
    on_scales, plain = yield from both(
        scales.steps(nominal, tests, specification.steps),
        readings.steps(pairs, nominal, tests),
    )
    draft = Judged(
        symptom=symptom,
        candidates=candidates,
        pairs=pairs,
        tests=tests,
        scales=on_scales,
        outcome=outcomes(plain.value[..., 0], on_scales, [c for c, _ in pairs], tests),
    )
    # What fails as it was drawn fails with tolerances, too, which are most of the work.
    _left_sure(draft, plain)
    read = yield from readings.steps(pairs, nominal, tests, specification.steps)
    return _left_sure(draft, read)


def _left_sure(judged: Judged, read: Readings) -> Judged:
    """Leave tests whose outcomes are sure in what was read: all but of a thermometer.

    Raises
    ------
    Unproved
        As `judge` does.
    """
    # In every test, and with every value stepped by its tolerance.
    if (np.abs(read.coil_frac - 1) < _PULL_IN_GAP).any():
        raise Unproved("a coil current lies near pull-in")
    tests = judged.tests
    unsure = unsure_tests(read.value, tests, judged.scales)
    # Nobody takes one to a joint that is hardly warm. That hangs on all the causes and
    # not on the one that is there, so that a list without it gives nothing away.
    left_out = {test.id for test in tests if test.measure.kind == "warmth"}
    for name in unsure:
        if name not in left_out:
            raise Unproved(f"an outcome of {name} lies near a band edge")
    sure = [number for number, test in enumerate(tests) if test.id not in unsure]
    kept = replace(
        judged,
        tests=tuple(tests[number] for number in sure),
        scales=tuple(judged.scales[number] for number in sure),
        outcome=tuple(tuple(row[n] for n in sure) for row in judged.outcome),
    )
    _check_distinct(kept.candidates, kept.outcome)
    return kept


def unsure_tests(
    value: Floats, tests: Sequence[DiagnosticTest], on_scales: Sequence[Scale]
) -> tuple[str, ...]:
    """Tests of which an outcome is not sure, by id.

    Parameters
    ----------
    value : array, shape (n_circuits, n_tests, n_variants)
        Readings; with one variant only the instrument's own error is counted.
    tests : sequence of DiagnosticTest, length n_tests
    on_scales : sequence of Scale, length n_tests
    """
    uncertainty = standard_uncertainty(value, tests)
    worst = risks(value[..., 0], uncertainty, on_scales).max(axis=0)
    return tuple(
        test.id
        for test, risk in zip(tests, worst, strict=True)
        if risk > _RISK and not test.mistake
    )


def _check_distinct(
    candidates: Sequence[Fault], outcome: Sequence[tuple[str, ...]]
) -> None:
    repairs: dict[tuple[str, ...], str] = {}
    for fault, row in zip(candidates, outcome, strict=True):
        # Causes with one repair may look alike: nobody has to tell them apart.
        if repairs.setdefault(row, fault.repair) != fault.repair:
            raise Unproved(f"{fault.id} looks like another cause in every test")
    if len(set(repairs.values())) == 1:
        raise Unproved("whatever the cause, the repair is the same: nothing is asked")
