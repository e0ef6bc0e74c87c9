"""How long grading takes beside reading the same files as bare JSON, and in memory.

``python -m tests.bench.grading [HAND-INS] [WORKERS] [STUDENTS] [EXERCISES]``: invented
students work a graded set of eight exercises each, or of as many as are given, and hand
in again and again, each time in another session: first the same work, as who hands in
once more changes little of it, then work of which every exercise was done anew, in
turns with the old. What is measured is all that ``clampbook grade`` does from the
sealed key up to the standings; beside it stands what the whole of it takes, the report
that names every file with it, in proportion to a tenth of the files: 1 is as much for
each file, and memory is told by what each file adds. What is paid once for each
student, however often files come back, is told by itself, too: opening the records, and
finding the plans.

``python -m tests.bench.grading 100000`` needs some 12 GB in the folder for temporary
files, and half an hour.
"""

import json
import math
import multiprocessing
import time
from collections import deque
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.marking.marker import Marker
from answer_keys.marking.rubric import read_rubric
from answer_keys.reports.report import class_in, new_report, write_reports
from generator.grading.class_grading import grade_into
from generator.grading.processes import mark_in_processes
from generator.invented.kinds import KINDS
from generator.invented.simulation import simulate_class
from generator.sets.class_set import open_key, read_class_set
from tests.bench.worked_class import (
    EXERCISES,
    alone,
    copied,
    peak_mb,
    work_of_all,
    worked_set,
)

_SAMPLED = 100  # files after which the memory of the workers is looked at


def again(made, count, folder, first=None):
    """Write so many hand-ins of the students of a set, each one's in a row.

    Where a folder with the ``first`` work of the students is given, every second
    hand-in is that: no exercise is as it was in the hand-in before.
    """
    paths = sorted(made.handed_in.iterdir())
    for number in range(count):
        path = paths[number * len(paths) // count]
        work = path if first is None or number % 2 else first / path.name
        text = copied(work.read_text(), session=f"{number:08x}")
        (folder / f"{path.stem}-{number:05}.jsonl").write_text(text)


def once_a_student(folder):
    """Milliseconds a student for opening records, and then for finding plans."""
    made = read_class_set(folder)
    key, rubric = open_key(made)[1], read_rubric(made.rubric_file)
    opened = plans = 0.0
    marker = Marker(key=key, rubric=rubric, students=frozenset(key.students))
    for path in sorted(made.handed_in.iterdir()):
        spent = []
        student = path.stem.rpartition("-")[2]
        start = time.process_time()
        key.of_student(student)
        opened += time.process_time() - start
        for _ in range(2):
            start = time.process_time()
            deque(marker.marked_at(made.handed_in, path.name), maxlen=0)
            spent.append(time.process_time() - start)
        plans += spent[0] - spent[1]
    return 1e3 * opened / len(key.students), 1e3 * plans / len(key.students)


def bare(folder):
    """Seconds that reading every line as bare JSON takes: of the clock, of work."""
    start, worked = time.perf_counter(), time.process_time()
    for path in folder.iterdir():
        for line in path.read_bytes().splitlines():
            json.loads(line)
    return time.perf_counter() - start, time.process_time() - worked


@dataclass(frozen=True)
class Taken:
    """What grading takes: up to the standings, and with the report.

    Seconds of the clock and of work, MB in this process and in a worker.
    """

    clock_s: float
    work_s: float
    here_mb: float
    worker_mb: float
    whole_s: float
    whole_mb: float


def graded(set_folder, folder, gradebook, workers):
    """Grade a folder as ``clampbook grade`` does."""
    start, worked, most = time.perf_counter(), work_of_all(), [0.0]

    def mark(marker, folder):
        marked = mark_in_processes(marker, folder, workers=workers)
        for number, one in enumerate(marked):
            if number % _SAMPLED == 0:
                most.extend(peak_mb(p.pid) for p in multiprocessing.active_children())
            yield one

    made = read_class_set(set_folder)
    key, rubric = open_key(made)[1], read_rubric(made.rubric_file)
    with Gradebook(gradebook) as book:
        done = grade_into(book, key, dict(made.roster), rubric, folder, mark=mark)
        clock, work, here = (
            time.perf_counter() - start,
            work_of_all() - worked,
            peak_mb(),
        )
        report = new_report(class_in(book, key, made.roster))
        write_reports(report, key, gradebook.with_suffix(".results"))
    assert done.added == len(list(folder.iterdir()))
    return Taken(clock, work, here, max(most), work_of_all() - worked, peak_mb())


def told(made, folder, workers, work, few):
    """Grade a folder and say how long it took, beside one with a tenth of the files."""
    clock, worked = bare(folder)
    books = (one.with_suffix(".sqlite") for one in (folder, few))
    folders = zip((folder, few), books, strict=True)
    most, least = (alone(graded, made.folder, *each, workers) for each in folders)
    count, less = (len(list(one.iterdir())) for one in (folder, few))
    each = most.whole_s / count / (least.whole_s / less)
    added = 1e6 * (most.whole_mb - least.whole_mb) / (count - less)
    print(
        f"{work}:\n"
        f"  grading / bare json.loads: time {most.clock_s / clock:.1f}, "
        f"work of all processes {most.work_s / worked:.1f} "
        f"({most.clock_s:.1f} s beside {clock:.1f} s)\n"
        f"  most memory: this process {most.here_mb:.0f} MB, "
        f"a worker {most.worker_mb:.0f} MB\n"
        f"  {count} files beside {less}, report and all: work {each:.2f} of "
        f"proportional, {most.whole_mb:.0f} MB beside {least.whole_mb:.0f} MB, "
        f"{added:.0f} bytes a file",
        flush=True,
    )


def main(count=10_000, workers=2, students=40, exercises=EXERCISES):
    with TemporaryDirectory() as place:
        made = worked_set(Path(place) / "set", students, exercises=exercises)
        key_ms, plans_ms = alone(once_a_student, made.folder)
        print(
            f"once a student: opening {exercises} records {key_ms:.1f} ms, "
            f"their plans {plans_ms:.1f} ms\n"
            f"{count} hand-ins of {students} students with {exercises} exercises, "
            f"{workers} workers"
        )
        same, anew = Path(place) / "same", Path(place) / "anew"
        first = made.handed_in.rename(Path(place) / "first")
        made.handed_in.mkdir()
        simulate_class(made, tuple(KINDS)[::-1], open_key(made))
        for folder, other, work in (
            (same, None, "the same work again"),
            (anew, first, "every exercise done anew"),
        ):
            few = folder.with_name(f"{folder.name}-few")
            for each, number in ((folder, count), (few, math.ceil(count / 10))):
                each.mkdir()
                again(made, number, each, other)
            told(made, folder, workers, work, few)
