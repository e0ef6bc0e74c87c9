"""How long grading takes beside reading the same files as bare JSON, and in memory.

``python -m tests.bench.grading [HAND-INS] [WORKERS]``: invented students work a graded
set of eight exercises each; their hand-ins are copied under other ids, with chains of
their own, and all of them are read, checked, graded and recorded. The key is at hand
then: what opening it takes, and finding the plans of its exercises, is told by itself,
because it is paid once for each student, however often files come back.
"""

import hashlib
import json
import resource
import shutil
import sys
import time
from collections import deque
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from answer_keys.answer_key import AnswerKey, answer_key_from_content
from answer_keys.gradebook import Gradebook
from answer_keys.marker import Marker
from answer_keys.marking import grade_into
from answer_keys.rubric import read_rubric
from generator.marking_processes import mark_in_processes
from generator.writing.class_set import open_key
from generator.writing.cohort import KINDS
from generator.writing.request import Request
from generator.writing.roster import invented_roster
from generator.writing.set_writing import write_class_set
from generator.writing.simulation import simulate_class

MODELS, EXERCISES = 4, 8


def worked_set(folder):
    """A graded set that was worked by one student of each kind."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(MODELS),
        exercises=EXERCISES,
        mode="graded",
    )
    made = write_class_set(folder, request)
    opened = open_key(made)
    simulate_class(made, tuple(KINDS), opened)
    return made, answer_key_from_content(opened[1])


def once_a_student(made, rubric):
    """Seconds a student that opening the key takes, and then finding its plans."""
    start = time.process_time()
    key = answer_key_from_content(open_key(made)[1])
    opened = time.process_time()
    marker = Marker(
        key=key, rubric=rubric, students=frozenset(one.student for one in key.exercises)
    )
    spent = []
    for _ in range(2):
        begun = time.process_time()
        deque(marker.marked_in(made.handed_in), maxlen=0)
        spent.append(time.process_time() - begun)
    return (opened - start) / MODELS, (spent[0] - spent[1]) / MODELS


def copied(text, student):
    """A hand-in under another student's id, its chain as it has to be."""
    previous, lines = "", []
    for line in text.splitlines():
        entry = json.loads(line)
        if "student" in entry:
            entry["student"] = student
        if "prev" in entry:
            entry["prev"] = previous
        written = json.dumps(entry, separators=(",", ":"), ensure_ascii=False)
        previous = hashlib.sha256(written.encode()).hexdigest()
        lines.append(written + "\n")
    return "".join(lines)


def grown(made, key, count, folder):
    """Write so many hand-ins into a folder; the key that knows them all."""
    models = [
        (list(key.of_student(path.stem.rpartition("-")[2]).values()), path.read_text())
        for path in sorted(made.handed_in.iterdir())
    ]
    records = []
    for number in range(count):
        student = f"n{number:05}"
        own, text = models[number % len(models)]
        records += [replace(record, student=student) for record in own]
        (folder / f"{student}.jsonl").write_text(copied(text, student))
    return AnswerKey(
        set_id=key.set_id,
        edition=key.edition,
        mode=key.mode,
        exercises=tuple(records),
    )


def bare(folder):
    """Seconds that reading every line as bare JSON takes: of the clock, of work."""
    start, worked = time.perf_counter(), time.process_time()
    for path in folder.iterdir():
        for line in path.read_bytes().splitlines():
            json.loads(line)
    return time.perf_counter() - start, time.process_time() - worked


def graded(key, rubric, folder, place, workers):
    """Seconds that grading takes: of the clock, and of work in all processes."""
    students = {record.student for record in key.exercises}
    start, worked = time.perf_counter(), _work_of_all()

    def mark(marker, folder):
        return mark_in_processes(marker, folder, workers=workers)

    with Gradebook(place) as book:
        added = grade_into(book, key, students, rubric, folder, mark=mark)
    assert added == len(students)
    return time.perf_counter() - start, _work_of_all() - worked


def _work_of_all():
    own = resource.getrusage(resource.RUSAGE_SELF)
    others = resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def main(count=10_000, workers=2):
    with TemporaryDirectory() as place:
        work = Path(place)
        made, key = worked_set(work / "set")
        rubric = read_rubric(made.rubric_file)
        key_s, plans_s = once_a_student(made, rubric)
        print(
            f"once a student: opening the key {1e3 * key_s:.0f} ms, "
            f"{EXERCISES} plans {1e3 * plans_s:.0f} ms"
        )
        for number in (max(count // 10, 1), count):
            folder = work / "handed-in"
            folder.mkdir()
            many = grown(made, key, number, folder)
            clock, worked = bare(folder)
            file = work / f"{number}.sqlite"
            spent, used = graded(many, rubric, folder, file, workers)
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            print(
                f"{number} hand-ins of {EXERCISES} exercises, {workers} workers:\n"
                f"  grading / bare json.loads: time {spent / clock:.1f}, "
                f"work of all processes {used / worked:.1f} "
                f"({spent:.1f} s beside {clock:.1f} s)\n"
                f"  most memory: this process {peak:.0f} MB, a worker {child:.0f} MB",
                flush=True,
            )
            shutil.rmtree(folder)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
