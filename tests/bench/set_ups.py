"""How long a set-up takes on the page: processor time of one core."""

import time
from functools import partial
from statistics import median

from tests.workbook.measuring.set_ups import any_set_up, bench_and_exercise, chance_of
from workbook.measuring.judged import split_of
from workbook.measuring.set_up import code_of
from workbook.measuring.settling import Circuits
from workbook.measuring.truth import truth_of

SET_UPS = 60


def spent_on(work):
    """Processor time of one run [s]."""
    start = time.process_time()
    work()
    return time.process_time() - start


def set_up_times(most):
    """A reading of one circuit, and its judgement over all causes, none known yet."""
    numbers = range(min(12, most))
    pick = max(numbers, key=lambda n: len(bench_and_exercise(n)[1].candidates))
    bench, exercise = bench_and_exercise(pick)
    model, chance = bench.known, chance_of("bench")
    reading, judging = [], []
    for _ in range(SET_UPS):
        set_up = any_set_up(bench, chance)
        # Circuits of their own: nothing of them was settled yet.
        read = partial(truth_of, Circuits(model), model.actual, set_up)
        reading.append(spent_on(read))
        judging.append(spent_on(partial(split_of, bench, code_of(set_up))))
    longest = max(reading), max(judging)
    print(
        f"a set-up over {len(exercise.candidates)} causes: judged / read "
        f"{median(judging) / median(reading):.0f}; read in {1e3 * median(reading):.1f} "
        f"ms, at most {1e3 * longest[0]:.0f}; judged in {1e3 * median(judging):.0f} "
        f"ms, at most {1e3 * longest[1]:.0f}"
    )
