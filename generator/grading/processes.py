"""Mark returned files in processes of their own, with limits of time and memory.

What comes back is hostile, and a fault of a reader or of a library below it must not
take the class with it. A process that says nothing for too long, or dies, costs the one
file that it was at. Processes answer in plain bytes, which are checked again here.
"""

from __future__ import annotations

import math
import multiprocessing
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from pathlib import Path
from time import monotonic

from msgspec import msgpack

from answer_keys.errors import AnswerKeysError
from answer_keys.hand_ins.limits import MAX_READER_BYTES, MAX_SILENT_S
from answer_keys.hand_ins.returned_files import Found, returned_names
from answer_keys.marking.marked import Marked
from answer_keys.marking.marker import Marker
from answer_keys.visible_text import visible
from generator.workers import processes_for
from workbook.texts import _, figure

# A process takes about a second to begin: as long as it takes to mark so many.
_FILES_EACH = 50
_SPAWN = multiprocessing.get_context("spawn")
_MARKED = msgpack.Decoder(Marked)
_DONE = b""


def mark_in_processes(
    marker: Marker,
    folder: Path,
    *,
    workers: int | None = 1,
    patience_s: float = MAX_SILENT_S,
) -> Iterator[Marked]:
    """Mark every file below a folder.

    Parameters
    ----------
    workers : int or None
        Processes at a time; None is as many as are worth their start.
    patience_s : float
        How long a process may say nothing before it is ended [s].

    Yields
    ------
    Marked
        One for each file and each member of an archive, as they are ready.
    """
    names, unread = returned_names(folder)
    crew = _Crew(marker=marker, folder=folder, patience_s=patience_s)
    # The files of a student stand together, and whoever marks one has opened what all
    # of them need: each process takes neighbours.
    processes = processes_for(workers, len(names), _FILES_EACH)
    share = math.ceil(len(names) / processes) or 1
    try:
        for start in range(0, len(names), share):
            crew.hire(names[start : start + share])
        yield from crew.marked()
    finally:
        crew.dismiss()
    yield from map(marker.marked, unread)


@dataclass(slots=True, kw_only=True)
class _Worker:
    """A process, and the files that it has not done; it is at the first of them."""

    process: SpawnProcess
    connection: Connection
    names: deque[str]
    # Until it has begun it is only starting.
    heard_at: float = math.inf


@dataclass(slots=True, kw_only=True)
class _Crew:
    """All processes that are at work."""

    marker: Marker
    folder: Path
    patience_s: float
    workers: dict[Connection, _Worker] = field(default_factory=dict)

    def hire(self, names: Sequence[str]) -> None:
        ours, theirs = _SPAWN.Pipe(duplex=False)
        process = _SPAWN.Process(
            target=_serve, args=(theirs, self.marker, self.folder, names), daemon=True
        )
        # One that breaks down while it takes its files shows when it is heard.
        with suppress(BrokenPipeError):
            process.start()
        # While it were open here, the end of that process would never show on ours.
        theirs.close()
        self.workers[ours] = _Worker(
            process=process, connection=ours, names=deque(names)
        )

    def dismiss(self) -> None:
        for worker in list(self.workers.values()):
            self._end(worker)

    def _end(self, worker: _Worker) -> None:
        del self.workers[worker.connection]
        worker.connection.close()
        # Not asked to end: it may be in a library that hears nothing any more.
        worker.process.kill()
        worker.process.join()

    def marked(self) -> Iterator[Marked]:
        while self.workers:
            oldest = min(worker.heard_at for worker in self.workers.values())
            left_s = max(0.0, oldest + self.patience_s - monotonic())
            ready = wait(list(self.workers), None if left_s == math.inf else left_s)
            for worker in list(self.workers.values()):
                if worker.connection in ready:
                    yield from self._heard(worker)
                elif monotonic() - worker.heard_at > self.patience_s:
                    took = _(
                        "Reading took over {patience_s} s, and was stopped."
                    ).format(patience_s=figure(self.patience_s))
                    yield self._lost(worker, took)

    def _heard(self, worker: _Worker) -> Iterator[Marked]:
        """Take one answer, or note that none will come."""
        try:
            answer = worker.connection.recv_bytes()
        except (EOFError, OSError):
            yield self._lost(worker, _("The reader broke down on this file."))
            return
        # The first sign says that it has begun, each later one that a file is done.
        has_begun = worker.heard_at < math.inf
        worker.heard_at = monotonic()
        if answer != _DONE:
            yield _MARKED.decode(answer)
        elif has_begun:
            worker.names.popleft()
            if not worker.names:
                self._end(worker)

    def _lost(self, worker: _Worker, reason: str) -> Marked:
        """Account for the file that a worker was lost at, and go on with another."""
        self._end(worker)
        if worker.heard_at == math.inf:
            raise AnswerKeysError(
                _("The process that reads what came back cannot start.")
            )
        name = visible(worker.names.popleft())
        if worker.names:
            self.hire(worker.names)
        return self.marker.marked(Found(name=name, refusal=reason))


def _serve(
    connection: Connection, marker: Marker, folder: Path, names: Sequence[str]
) -> None:
    """Mark files; runs in the other process."""
    _limit()
    with suppress(OSError):
        connection.send_bytes(_DONE)
        for name in names:
            for one in marker.marked_at(folder, name):
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
    # A dump of its memory would leave students' work on the disk.
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
