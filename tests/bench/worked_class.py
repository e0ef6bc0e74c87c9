"""A graded set that invented students have worked, and what grading it takes."""

import hashlib
import json
import multiprocessing
import resource
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from generator.drawing.request import Request
from generator.invented.kinds import KINDS
from generator.invented.simulation import simulate_class
from generator.sets.class_set import open_key
from generator.sets.roster import invented_roster
from generator.sets.set_writing import write_class_set
from tests.drawn import SECRET

__all__ = ["EXERCISES", "alone", "copied", "peak_mb", "work_of_all", "worked_set"]

EXERCISES = 8


def worked_set(folder, students, mode="graded", exercises=EXERCISES):
    """A set whose students, of all kinds, have handed in."""
    request = Request(
        lessons=("mixed-diagnosis",),
        students=invented_roster(students),
        exercises=exercises,
        mode=mode,
    )
    made = write_class_set(folder, request, secret=SECRET)
    simulate_class(made, tuple(KINDS), open_key(made))
    return made


def copied(text, **changes):
    """A hand-in with another session or student, its chain as it has to be."""
    previous, lines = "", []
    for line in text.splitlines():
        entry = json.loads(line)
        entry |= {name: value for name, value in changes.items() if name in entry}
        if "prev" in entry:
            entry["prev"] = previous
        written = json.dumps(entry, separators=(",", ":"), ensure_ascii=False)
        previous = hashlib.sha256(written.encode()).hexdigest()
        lines.append(written + "\n")
    return "".join(lines)


def alone(function, *arguments):
    """Call in a new process, so that what was prepared here is not counted."""
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=spawn) as pool:
        return pool.submit(function, *arguments).result()


def work_of_all():
    """Seconds that this process has worked, and those that it has waited for."""
    own = resource.getrusage(resource.RUSAGE_SELF)
    others = resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def peak_mb(process="self"):
    """The most memory that a process has had [MB].

    Not what `getrusage` says: that counts the process which it was forked from, too.
    """
    for line in Path(f"/proc/{process}/status").read_text().splitlines():
        if line.startswith("VmHWM:"):
            return int(line.split()[1]) / 1024
    return 0.0  # it has ended
