"""How many hand-ins a second go into a gradebook of a school, in either database.

``python -m tests.bench.gradebook [HAND-INS] [STUDENTS]``: invented students work a
graded set of eight exercises each, and what is marked of them is recorded again and
again as other students' of other sets, as many at a time as grading does. Nothing is
marked meanwhile. Beside it stands what the same bytes take when they are only appended
to a file, and what the server works for them itself: once without waiting for the disk,
and once as a school's server does, which has all on the disk before it goes on.
"""

import hashlib
import os
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import psutil
from msgspec.structs import replace

from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.marking.marked import Source
from answer_keys.marking.marker import Marker
from answer_keys.marking.rubric import read_rubric
from generator.sets.class_set import open_key
from tests.answer_keys.postgres import postgres_server, programs
from tests.bench.worked_class import worked_set

SOURCE = Source(rubric_sha256="r" * 64, software="bench")
BATCH, CLASS = 500, 25


def works_of(made, count):
    """So many hand-ins as marking gives them, of classes of `CLASS` students."""
    key, rubric = open_key(made)[1], read_rubric(made.rubric_file)
    marker = Marker(key=key, rubric=rubric, students=frozenset(key.students))
    marked = [one.work for one in marker.marked_in(made.handed_in)]
    return [
        replace(
            marked[number % len(marked)],
            sha256=hashlib.sha256(str(number).encode()).hexdigest(),
            set_id=f"set{number // CLASS:05}",
            student=f"s{number % CLASS:02}",
        )
        for number in range(count)
    ]


def recorded(place, works, server=None):
    """Seconds of the clock and of work here that recording takes, and of a server."""
    with Gradebook(place) as book:
        begun = time.perf_counter(), time.process_time(), worked_s(server)
        for start in range(0, len(works), BATCH):
            book.record(works[start : start + BATCH], SOURCE, datetime.now(UTC))
        ended = time.perf_counter(), time.process_time(), worked_s(server)
    return [end - start for start, end in zip(begun, ended, strict=True)]


def worked_s(server):
    """Seconds that all processes of a server have worked."""
    if server is None:
        return 0.0
    first = (server.folder / "data" / "postmaster.pid").read_text().splitlines()[0]
    all_ = psutil.Process(int(first)).children(recursive=True)
    return sum(sum(one.cpu_times()[:2]) for one in all_)


def appended(path, works):
    """Seconds of the clock for the same bytes at the end of a file, on the disk."""
    start = time.perf_counter()
    with path.open("ab") as file:
        for number, work in enumerate(works, 1):
            file.write(work.marks)
            file.write(work.journal)
            if number % BATCH == 0:
                file.flush()
                os.fsync(file.fileno())
    return time.perf_counter() - start


def told(name, works, spent, bare):
    """Say what one database took."""
    clock, here, server = spent
    count = len(works)
    print(
        f"{name}: {count / clock:,.0f} hand-ins a second by the clock, "
        f"{count / (here + server):,.0f} a second of one core "
        f"({1e6 * here / count:.0f} µs here, {1e6 * server / count:.0f} µs in the "
        f"server); {clock / bare:.0f} times a bare file",
        flush=True,
    )


def main(count=10_000, students=12):
    with TemporaryDirectory() as place:
        made = worked_set(Path(place) / "set", students)
        works = works_of(made, count)
        size = sum(len(one.marks) + len(one.journal) for one in works) / count
        print(f"{count} hand-ins of {size / 1000:.1f} kB packed, {BATCH} at a time")
        bare = appended(Path(place) / "bare", works)
        file = Path(place) / "gradebook.sqlite"
        told("SQLite", works, recorded(file, works), bare)
        print(f"  {file.stat().st_size / count / 1000:.1f} kB each on the disk")
        if programs():
            for name, is_synced in (("PostgreSQL", False), ("on the disk", True)):
                with postgres_server(is_synced=is_synced) as server:
                    spent = recorded(server.new_database(), works, server)
                told(name, works, spent, bare)
    print("recorded all hand-ins")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
