"""Jobs done by processes of this machine."""

from __future__ import annotations

from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from functools import partial
from multiprocessing import get_context

from generator.classes.jobs import Answer, Hear, Job, broken, perform
from generator.workers import bind_to, deaf_at_birth
from workbook.version import __version__

_SPAWN = get_context("spawn")
_Done = Future[tuple[bytes, str]]


class Pool:
    """Some processes that do jobs; what one dies of costs the jobs under way.

    Parameters
    ----------
    processes : int
        At a time.
    hear : callable
        Takes each answer, in another thread.
    """

    def __init__(self, processes: int, hear: Hear) -> None:
        self._processes, self._hear = processes, hear
        # By their ids: a set of these is changed in one step, whichever thread does.
        self._under_way = set[int]()
        self._begin()

    def _begin(self) -> None:
        # The processes end as soon as this end is closed, be it that this one was
        # killed.
        self._theirs, self._alive = _SPAWN.Pipe(duplex=False)
        self._is_broken = False
        self._pool = ProcessPoolExecutor(
            self._processes, _SPAWN, initializer=bind_to, initargs=(self._theirs,)
        )

    @property
    def room(self) -> int:
        """How many more jobs are taken now: one waits for each process."""
        return 2 * self._processes - len(self._under_way)

    def start(self, job: Job) -> None:
        """Take a job."""
        self._under_way.add(id(job))
        try:
            with deaf_at_birth():
                done = self._pool.submit(perform, job.work, job.given, __version__)
        except BrokenProcessPool:
            self._lose(job)
        else:
            done.add_done_callback(partial(self._done, job))

    def _done(self, job: Job, future: _Done) -> None:
        error = None if future.cancelled() else future.exception()
        if future.cancelled() or isinstance(error, BrokenProcessPool):
            self._lose(job)
            return
        self._under_way.discard(id(job))
        if error is None:
            data, fault = future.result()
            self._hear(Answer(job=job, data=data, fault=fault))
        else:
            self._hear(broken(job, error))

    def _lose(self, job: Job) -> None:
        self._is_broken = True
        self._under_way.discard(id(job))
        self._hear(Answer(job=job, is_lost=True))

    def mend(self) -> bool:
        """Have new processes; any of the lost jobs may be what broke the old ones."""
        if self._is_broken:
            self.close()
            self._begin()
        return False

    def close(self) -> None:
        """End all processes, whatever they are at."""
        self._alive.close()
        self._theirs.close()
        with suppress(CancelledError):
            self._pool.shutdown(cancel_futures=True)
