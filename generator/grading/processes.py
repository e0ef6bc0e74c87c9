"""Mark returned files in processes of their own, with limits of time and memory.

What comes back is hostile, and a fault of a reader or of a library below it must not
take the class with it. A process that says nothing for too long, or dies, costs the one
file that it was at. Processes answer in plain bytes, which are checked again here.
"""

from __future__ import annotations

import gc
import math
import multiprocessing
import os
from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path
from time import monotonic

from msgspec import msgpack

from answer_keys.errors import AnswerKeysError
from answer_keys.hand_ins.limits import MAX_READER_BYTES, MAX_SILENT_S
from answer_keys.hand_ins.returned_files import Found, returned_paths, shown_name
from answer_keys.marking.marked import Marked
from answer_keys.marking.marker import Marker

_SPAWN = multiprocessing.get_context("spawn")
_MARKED = msgpack.Decoder(Marked)
_DONE = b""
_AHEAD = 8  # files that a process is told of at a time, so that it never waits for more


def mark_in_processes(
    marker: Marker,
    folder: Path,
    *,
    workers: int = 1,
    patience_s: float = MAX_SILENT_S,
) -> Iterator[Marked]:
    """Mark every file below a folder.

    Parameters
    ----------
    marker : Marker
    folder : pathlib.Path
    workers : int
        Processes at a time.
    patience_s : float
        How long a process may say nothing before it is ended [s].

    Yields
    ------
    Marked
        One for each file and each member of an archive, as they are ready.
    """
    paths, unread = returned_paths(folder)
    crew = _Crew(
        marker=marker, folder=folder, patience_s=patience_s, paths=deque(paths)
    )
    try:
        crew.hire(min(workers, len(paths)))
        yield from crew.marked()
    finally:
        crew.dismiss()
    yield from map(marker.marked, unread)


@dataclass(slots=True, kw_only=True)
class _Worker:
    """A process, the file that it is at, and those that it takes next.

    Every second one begins at the end of the list: the files of a student stand
    together, and whoever marks them opens the records of that student.
    """

    process: SpawnProcess
    connection: Connection
    is_from_end: bool
    paths: deque[Path] = field(default_factory=deque)
    # Sent once it is there: to start with so much, it would have to be waited for.
    has_marker: bool = False
    # Until it asks for a file it is only starting.
    heard_at: float = math.inf


@dataclass(slots=True, kw_only=True)
class _Crew:
    """All processes, and the files that none has taken yet."""

    marker: Marker
    folder: Path
    patience_s: float
    paths: deque[Path]
    workers: dict[Connection, _Worker] = field(default_factory=dict)

    def hire(self, count: int) -> None:
        for _ in range(count):
            ours, theirs = _SPAWN.Pipe()
            process = _SPAWN.Process(
                target=_serve, args=(theirs, self.folder), daemon=True
            )
            process.start()
            theirs.close()
            is_second = len(self.workers) % 2 == 1
            self.workers[ours] = _Worker(
                process=process, connection=ours, is_from_end=is_second
            )

    def dismiss(self) -> None:
        for worker in self.workers.values():
            _end(worker)
        self.workers.clear()

    def marked(self) -> Iterator[Marked]:
        while self.workers:
            oldest = min(worker.heard_at for worker in self.workers.values())
            left_s = max(0.0, oldest + self.patience_s - monotonic())
            ready = wait(list(self.workers), None if left_s == math.inf else left_s)
            for worker in [w for c, w in self.workers.items() if c in ready]:
                yield from self._heard(worker)
            for worker in list(self.workers.values()):
                if monotonic() - worker.heard_at > self.patience_s:
                    took = f"Reading took over {self.patience_s:g} s, and was stopped."
                    yield self._lost(worker, took)

    def _heard(self, worker: _Worker) -> Iterator[Marked]:
        """Take one answer, or note that none will come."""
        try:
            answer = worker.connection.recv_bytes()
        except (EOFError, OSError):
            yield self._lost(worker, "The reader broke down on this file.")
            return
        if not worker.has_marker:
            worker.has_marker = True
            with suppress(OSError):
                worker.connection.send(self.marker)
            return
        worker.heard_at = monotonic()
        if answer != _DONE:
            yield _MARKED.decode(answer)
            return
        if worker.paths:
            worker.paths.popleft()
        self._give(worker)

    def _give(self, worker: _Worker) -> None:
        """Tell a worker of its next files, or let it go."""
        while self.paths and len(worker.paths) < _AHEAD:
            take = self.paths.pop if worker.is_from_end else self.paths.popleft
            worker.paths.append(take())
            # A worker that has died in the meantime shows when it is heard.
            with suppress(OSError):
                worker.connection.send_bytes(os.fsencode(worker.paths[-1]))
        if not worker.paths:
            del self.workers[worker.connection]
            _end(worker)

    def _lost(self, worker: _Worker, reason: str) -> Marked:
        """Account for the file that a worker was lost at, and go on with another."""
        del self.workers[worker.connection]
        _end(worker)
        if not worker.paths:
            raise AnswerKeysError("The process that reads what came back cannot start.")
        name = shown_name(self.folder, worker.paths.popleft())
        self.paths.extendleft(worker.paths)
        if self.paths:
            self.hire(1)
        return self.marker.marked(Found(name=name, refusal=reason))


def _end(worker: _Worker) -> None:
    worker.connection.close()
    worker.process.kill()
    worker.process.join()


def _serve(connection: Connection, folder: Path) -> None:
    """Mark the files that are named until no more are; runs in the other process."""
    with suppress(EOFError, OSError):
        connection.send_bytes(_DONE)
        marker: Marker = connection.recv()
        _limit()
        # Marks hold no circles: garbage need be looked for but rarely.
        gc.freeze()
        gc.set_threshold(50_000)
        connection.send_bytes(_DONE)
        while True:
            path = Path(os.fsdecode(connection.recv_bytes()))
            for one in marker.marked_at(folder, path):
                connection.send_bytes(msgpack.encode(one))
            connection.send_bytes(_DONE)


def _limit() -> None:
    """Let this process have only so much memory, and write no file."""
    try:
        import resource
    except ModuleNotFoundError:  # Windows has limits of time alone
        return
    memory = resource.RLIMIT_AS
    _, most = resource.getrlimit(memory)
    if most == resource.RLIM_INFINITY or most > MAX_READER_BYTES:
        resource.setrlimit(memory, (MAX_READER_BYTES, MAX_READER_BYTES))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
