"""What time and memory grading a large class takes, report and sheets with it.

``python -m tests.bench.large_class [STUDENTS] ...``: forty invented students, or as
many as the largest class has, work a graded set of eight exercises each; key and
hand-ins are copied under other ids until the class is large enough, and graded as by
``clampbook grade``. The ids of copies differ, and with them the packed records, so that
nothing is shared that a real class would not share. At the end stands what the largest
class takes for each part of what is proportional: two smaller ones tell what is paid
once, and what for each student.
"""

import math
import multiprocessing
import shutil
import sys
import time
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from answer_keys.keys.answer_key import pack
from answer_keys.keys.sealing import write_sealed_key
from answer_keys.marking.rubric import read_rubric
from generator.grading.class_grading import GradingJob, grade_class
from generator.grading.processes import mark_in_processes
from generator.sets.class_set import open_key, read_class_set
from tests.bench.worked_class import alone, copied, peak_mb, work_of_all, worked_set

DRAWN = 40
SIZES = (10, 100, 1000)
WORKERS = 2


def grown(made, count, folder):
    """A set with so many students, every one a copy under another id."""
    shutil.copytree(
        made.folder, folder, ignore=lambda *_: ["handed-in", "for-students"]
    )
    secret, key = open_key(made)
    models = {path.stem.rpartition("-")[2]: path for path in made.handed_in.iterdir()}
    large = read_class_set(folder)
    large.handed_in.mkdir()
    packed = {}
    for number in range(count):
        drawn = list(key.students)
        model, student = drawn[number % len(drawn)], f"n{number:04}"
        packed[student] = pack(
            [replace(record, student=student) for record in key.whole_of(model)]
        )
        text = copied(models[model].read_text(), student=student)
        (large.handed_in / f"{student}.jsonl").write_text(text)
    write_sealed_key(large.key_file, secret, replace(key, packed=packed))
    rows = "".join(f"{student},Student {student}\n" for student in packed)
    (folder / "for-instructor" / "roster.csv").write_text(f"id,name\n{rows}")
    return large


def graded(folder):
    """Grade a set; seconds and MB by stage, MB of a worker, and work of all [s]."""
    told, most = {}, [0.0]
    began, worked = time.perf_counter(), work_of_all()

    def note(stage):
        told[stage] = (time.perf_counter() - began, peak_mb())

    def mark(marker, folder):
        note("opened")
        marked = mark_in_processes(marker, folder, workers=WORKERS)
        for number, one in enumerate(marked):
            if number == 0:
                note("first file marked")
            if number % 10 == 0:
                most.extend(peak_mb(p.pid) for p in multiprocessing.active_children())
            yield one
        note("all marked")

    made = read_class_set(folder)
    job = GradingJob(
        handed_in=made.handed_in,
        results=made.results,
        gradebook=made.gradebook_file,
        mark=mark,
    )
    key, rubric = open_key(made)[1], read_rubric(made.rubric_file)
    summary = grade_class(key, made.roster, rubric, job).summary
    note("reported")
    assert summary["gradings_added"] == len(key.students)
    return told, max(most), work_of_all() - worked


def of_proportional(taken):
    """How the largest class stands to two smaller ones.

    Parameters
    ----------
    taken : mapping of int to float
        What three classes take, by their students, the smallest first.

    Returns
    -------
    float
        1 where each student takes as much as in the smaller ones, beyond what is paid
        once; no number where these take the same.
    """
    (few, least), (some, more), (many, most) = taken.items()
    each = (more - least) / (some - few)
    return (most - (least - few * each)) / (many * each) if each else math.nan


def main(*sizes):
    sizes, work_s, here_mb, there_mb = sorted(sizes or SIZES), {}, {}, {}
    with TemporaryDirectory() as place:
        work = Path(place)
        made = worked_set(work / "set", min(DRAWN, sizes[-1]))
        for count in sizes:
            large = grown(made, count, work / f"{count}")
            told, there_mb[count], work_s[count] = alone(graded, large.folder)
            sealed = large.key_file.stat().st_size / 1e6
            page = (large.results / "class-report.html").stat().st_size / 1e6
            print(
                f"{count} students, sealed key {sealed:.1f} MB, report {page:.1f} MB:"
            )
            for stage, (seconds, own_mb) in told.items():
                print(f"  {stage:18} {seconds:6.1f} s, at most {own_mb:4.0f} MB")
            here_mb[count] = told["reported"][1]
            print(
                f"  a worker at most {there_mb[count]:.0f} MB\n"
                f"  work of all processes {work_s[count]:.1f} s",
                flush=True,
            )
    if len(sizes) == 3:
        print(
            f"{sizes[-1]} students take of what is proportional: "
            f"work {of_proportional(work_s):.2f}, "
            f"memory {of_proportional(here_mb):.2f}, "
            f"of a worker {of_proportional(there_mb):.2f}"
        )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
