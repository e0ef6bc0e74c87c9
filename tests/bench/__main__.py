"""Print how fast the solver and the plan are: python -m tests.bench [EXERCISES].

Machines differ and are shared, so every figure but those of the plan is a ratio of two
times of one run, and every time that of the processor. EXERCISES is the most that
readings are taken of at a time, and classes grow with it.
"""

import resource
import sys
import time

import numpy as np

from generator.drawing.proof import break_circuit
from generator.drawing.specification import new_specification
from generator.drawing.stream import Stream
from generator.model.catalogue.tests import tests_for
from generator.model.diagnostics import readings
from generator.model.network import Branch, Network
from generator.model.solving import solve_batch
from generator.model.topology import TOPOLOGY
from generator.model.variant import Variant
from lessons.loader import read_lesson
from tests.bench.plans import plan_growth, plan_share, plan_times
from tests.bench.reports import report_times
from tests.bench.set_ups import set_up_times
from tests.reference.ngspice import solve_with_ngspice

CASES = 4000
REPEATS = 20
BATCH = 8


def best_of(*works):
    """Shortest processor time of each work [s], done in turn, so all fare alike."""
    times = [[] for _ in works]
    for _ in range(REPEATS):
        for work, spent in zip(works, times, strict=True):
            start = time.process_time()
            work()
            spent.append(time.process_time() - start)
    return [min(spent) for spent in times]


def sample_cases(count):
    """Random resistances with opens as faults give them, and one battery."""
    rng = np.random.default_rng(1)
    resistance = 10 ** rng.uniform(-2, 2, (count, len(TOPOLOGY.branches)))
    patterns = rng.random((40, len(TOPOLOGY.branches))) < 0.4
    resistance[patterns[rng.integers(40, size=count)]] = np.inf
    resistance[:, 0] = 0.01
    emf = np.zeros_like(resistance)
    emf[:, 0] = 14.0
    return resistance, emf


def bare_matrices(resistance, emf):
    """The matrices that LAPACK gets, with every floating node tied down."""
    conductance = np.where(np.isfinite(resistance), 1 / resistance, 0.0)
    incidence = TOPOLOGY.incidence[:, 1:]
    matrix = np.einsum("bn,cb,bm->cnm", incidence, conductance, incidence)
    matrix += np.eye(matrix.shape[1]) * 1e-9
    return matrix, -((conductance * emf) @ incidence)[..., None]


def solver_against_lapack():
    """Our batch solver against a bare solve of the same matrices."""
    resistance, emf = sample_cases(CASES)
    matrix, right = bare_matrices(resistance, emf)
    ours, bare = best_of(
        lambda: solve_batch(TOPOLOGY, resistance, emf),
        lambda: np.linalg.solve(matrix, right),
    )
    print(f"batch solver / bare numpy.linalg.solve, {CASES} cases: {ours / bare:.1f}")


def solver_against_ngspice():
    """Cases a second against ngspice in batch mode on the same cases."""
    count = 300
    resistance, emf = sample_cases(count)
    networks = [
        Network(
            branches=tuple(
                Branch(name, f"n{int(row.argmax())}", f"n{int(row.argmin())}", r, e)
                for name, row, r, e in zip(
                    TOPOLOGY.branches, TOPOLOGY.incidence, rs, es, strict=True
                )
            ),
            ground="n0",
        )
        for rs, es in zip(resistance.tolist(), emf.tolist(), strict=True)
    ]
    [ours] = best_of(lambda: solve_batch(TOPOLOGY, resistance, emf))
    start = sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2])
    solve_with_ngspice(networks)
    theirs = sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2]) - start
    print(f"ngspice / batch solver, {count} cases: {theirs / ours:.0f}")


def readings_growth(most):
    """How all tests of all faults grow from 1 exercise to the most, and in memory.

    An exercise is a circuit broken in every way. A batch holds a few of them: more at
    once would be no faster, and memory would grow with it.
    """
    book = read_lesson("mixed-diagnosis")
    stream = Stream(bytes(32), "bench")
    family = book.families[0]
    specification = new_specification(book.lesson, family, Variant(), stream)
    broken = break_circuit(book.lesson, specification, stream)
    tests = tests_for(specification.nominal, book.lesson.tests, is_stressed=False)

    def work(count):
        for done in range(0, count, BATCH):
            pairs = broken.pairs * min(BATCH, count - done)
            readings(pairs, specification.nominal, tests)

    work(BATCH)
    print(f"readings of {len(broken.faults)} faults x {len(tests)} tests:")
    one, memory = None, {}
    for count in [count for count in (1, 10, 100, 1000) if count <= most]:
        start = time.process_time()
        work(count)
        spent = time.process_time() - start
        one = one or spent
        memory[count] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(
            f"  {count:6} exercises / one: time {spent / one:.0f}, "
            f"memory {memory[count] / memory[1]:.2f}",
            flush=True,
        )


def main(most=1000):
    solver_against_lapack()
    solver_against_ngspice()
    plan_times(most)
    plan_growth()
    plan_share(most)
    report_times(most)
    set_up_times(most)
    readings_growth(most)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
