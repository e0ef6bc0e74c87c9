"""The proof of an exercise: a circuit broken in every allowed way, read by every test.

Only what holds within the tolerances is kept: every outcome is sure, the relay never
sits near pull-in, and causes with different repairs differ in some safe test.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from generator.model.catalogue import TESTS
from generator.model.circuit import RelayCircuit
from generator.model.diagnostics import (
    DiagnosticTest,
    Readings,
    Scale,
    outcomes,
    readings,
    risks,
    scales,
    standard_uncertainty,
)
from generator.model.faults import FAULTS, Fault, Symptom, as_found, symptoms
from generator.writing.specification import Specification
from generator.writing.stream import Stream
from lessons.schema import Lesson

__all__ = ["Broken", "Judged", "Unproved", "break_circuit", "judge"]

# Largest probability that tolerances turn an outcome into another.
_RISK = 0.01
# Coil current must stay this far from pull-in, as a fraction of it.
_PULL_IN_GAP = 0.15


class Unproved(Exception):  # noqa: N818 - no error of the user: the draw is repeated
    """A draw that does not pass the proof, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """One specification broken in every way that a lesson allows.

    ``severity`` and ``circuits`` go with ``faults``, ``scales`` with ``tests``.
    """

    specification: Specification
    faults: tuple[Fault, ...]
    severity: tuple[float, ...]
    circuits: tuple[RelayCircuit, ...]
    tests: tuple[DiagnosticTest, ...]
    scales: tuple[Scale, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """Causes that can produce one complaint, and what every test shows under each.

    ``outcome`` has the shape (n_candidates, n_tests).
    """

    symptom: Symptom
    candidates: tuple[Fault, ...]
    outcome: tuple[tuple[str, ...], ...]


def break_circuit(
    lesson: Lesson, specification: Specification, stream: Stream
) -> Broken:
    """Break the nominal circuit in every way, each with a severity of its own."""
    family, nominal = specification.family, specification.nominal
    faults = tuple(
        fault
        for fault in FAULTS.values()
        if fault.id in lesson.faults and family.kind in fault.kinds
    )
    tests = tuple(
        test
        for test in TESTS.values()
        if test.id in lesson.tests and (family.mechanism or not test.needs_mechanism)
    )
    severity = tuple(stream.uniform(*fault.severity) for fault in faults)
    circuits = [f.edit(nominal, s) for f, s in zip(faults, severity, strict=True)]
    return Broken(
        specification=specification,
        faults=faults,
        severity=severity,
        circuits=as_found(circuits),
        tests=tests,
        scales=scales(nominal, tests, specification.steps),
    )


def judge(broken: Broken, fault: Fault) -> Judged:
    """Sort out which causes share a fault's complaint, and what the tests show.

    Raises
    ------
    Unproved
        When the fault has no symptom, an outcome is not sure, or two causes with
        different repairs look alike in every test.
    """
    nominal = broken.specification.nominal
    felt = symptoms(broken.circuits, nominal)
    symptom = felt[broken.faults.index(fault)]
    if symptom == "none":
        raise Unproved("the fault has no symptom")
    kept = [number for number, each in enumerate(felt) if each == symptom]
    circuits = [broken.circuits[number] for number in kept]
    read = readings(circuits, nominal, broken.tests, broken.specification.steps)
    _check_sure(read, broken)
    outcome = outcomes(read.value[..., 0], broken.scales, circuits, broken.tests)
    candidates = tuple(broken.faults[number] for number in kept)
    _check_distinct(candidates, outcome)
    return Judged(symptom=symptom, candidates=candidates, outcome=outcome)


def _check_sure(read: Readings, broken: Broken) -> None:
    if (np.abs(read.settled.coil_frac - 1) < _PULL_IN_GAP).any():
        raise Unproved("a coil current lies near pull-in")
    uncertainty = standard_uncertainty(read.value, broken.tests)
    worst = risks(read.value[..., 0], uncertainty, broken.scales).max(axis=0)
    if worst.max() > _RISK:
        test = broken.tests[int(worst.argmax())]
        raise Unproved(f"an outcome of {test.id} lies near a band edge")


def _check_distinct(
    candidates: Sequence[Fault], outcome: Sequence[tuple[str, ...]]
) -> None:
    repairs: dict[tuple[str, ...], str] = {}
    for fault, row in zip(candidates, outcome, strict=True):
        if repairs.setdefault(row, fault.repair) != fault.repair:
            raise Unproved(f"{fault.id} looks like another cause in every test")
