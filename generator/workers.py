"""Our own work shared out over the cores of this machine, its results in order.

Only for what we have written ourselves: what students hand in is marked by the crew of
`generator.grading.processes`, with limits of time and memory.
"""

from __future__ import annotations

import os
import signal
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import islice
from multiprocessing import get_context
from multiprocessing.connection import Connection
from threading import Thread, current_thread, main_thread
from types import FrameType
from typing import Any, TypeVar

from generator.errors import WorkerError
from workbook.texts import language, use

_Task = TypeVar("_Task")
_Result = TypeVar("_Result")

MOST_WORKERS = 60
"""Windows waits for no more processes at once."""

# Tasks that wait for each process, so that none stands idle while results are written.
_AHEAD = 3
_SPAWN = get_context("spawn")


def cores() -> int:
    """Return how many cores this process may use."""
    # Systems without a choice of cores have no such call.
    chosen = getattr(os, "sched_getaffinity", None)
    count = len(chosen(0)) if chosen else os.cpu_count() or 1
    return min(count, MOST_WORKERS)


def processes_for(workers: int | None, count: int, at_least: int) -> int:
    """Tell how many processes are worth their start.

    Parameters
    ----------
    workers : int or None
        As many as are asked for; None is as many as there are cores, where each has
        ``at_least`` so many tasks.
    count : int
        Tasks.

    Examples
    --------
    >>> processes_for(3, 2, 8), processes_for(None, 7, 8)
    (2, 1)
    """
    worth = min(cores(), count // at_least) if workers is None else workers
    return max(1, min(worth, count))


def each_of(
    do: Callable[[_Task], _Result], tasks: Sequence[_Task], processes: int
) -> Generator[_Result, None, None]:
    """Do all tasks; with one process in this one.

    Parameters
    ----------
    do : callable
        Goes to each process once, with all that it holds; what it needs besides, it
        finds in its task.
    processes : int
        As `processes_for` tells.

    Yields
    ------
    object
        What ``do`` gives for each task, in their order. What it raises is raised here.
        Closed before its end, it ends the processes at once.

    Raises
    ------
    WorkerError
        Where a process is ended from outside.

    Examples
    --------
    >>> list(each_of(abs, [1, -2], 1))
    [1, 2]
    """
    if processes == 1:
        yield from map(do, tasks)
        return
    left, waiting = iter(tasks), deque[Future[_Result]]()
    with _pool(do, processes) as (pool, end):
        try:
            with _stopped_by(end), deaf_at_birth():
                for task in islice(left, processes * _AHEAD):
                    waiting.append(pool.submit(_done, task))
            while waiting:
                with _stopped_by(end):
                    result = waiting.popleft().result()
                    for task in islice(left, 1):
                        waiting.append(pool.submit(_done, task))
                yield result
        except BrokenProcessPool as error:
            raise WorkerError(
                f"one of {processes} processes that worked for this one was ended, as "
                "when memory runs out; run it again with fewer --workers"
            ) from error


@dataclass(frozen=True, slots=True)
class Sharing:
    """Does the same for each of several things, on as many processes as that pays.

    Attributes
    ----------
    workers : int or None
    at_least : int
        As `processes_for` takes them.
    """

    workers: int | None
    at_least: int

    def __call__(
        self, do: Callable[[_Task], _Result], tasks: Sequence[_Task], /
    ) -> Generator[_Result, None, None]:
        """Do all tasks, as `each_of` does."""
        processes = processes_for(self.workers, len(tasks), self.at_least)
        return each_of(do, tasks, processes)


@contextmanager
def _pool(
    do: Callable[[_Task], _Result], processes: int
) -> Iterator[tuple[ProcessPoolExecutor, Callable[[], None]]]:
    """Have processes, and what ends them: this block does, however it is left."""
    theirs, ours = _SPAWN.Pipe(duplex=False)
    pool = ProcessPoolExecutor(
        processes, _SPAWN, initializer=_begin, initargs=(theirs, do, language())
    )
    try:
        yield pool, ours.close
        with _stopped_by(ours.close):
            pool.shutdown()
    finally:
        # Nobody waits for what is still at work: each ends as its pipe does.
        ours.close()
        theirs.close()
        pool.shutdown(cancel_futures=True)


@contextmanager
def _stopped_by(end: Callable[[], None]) -> Iterator[None]:
    """Have a Ctrl-C end all processes, and raise it once the pool has told of that.

    Python raises it wherever it is: within a lock of the pool, that would stay closed
    for good, and the pool would wait for it.
    """
    is_main = current_thread() is main_thread()
    if not is_main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    heard = list[int]()

    def hear(number: int, _frame: FrameType | None) -> None:
        heard.append(number)
        end()

    signal.signal(signal.SIGINT, hear)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        if heard:
            raise KeyboardInterrupt from None


@contextmanager
def deaf_at_birth() -> Iterator[None]:
    """Start processes that hear no Ctrl-C, which is for this one: it ends them."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


# What this process does, where it is one of a pool.
_own: dict[str, Callable[[Any], Any]] = {}


def _begin(alive: Connection, do: Callable[[Any], Any], spoken: str) -> None:
    bind_to(alive)
    use(spoken)
    _own["do"] = do


def bind_to(alive: Connection) -> None:
    """Let this process hear no Ctrl-C, and end with the one that it works for."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with, args=(alive,), daemon=True).start()


def _end_with(alive: Connection) -> None:
    """End this process as soon as the one that it works for wants no more, or is gone.

    Without it, those of a process that was killed would wait for work for ever.
    """
    with suppress(EOFError, OSError):
        alive.recv_bytes()
    os._exit(1)


def _done(task: Any) -> Any:  # noqa: ANN401 - of any work
    return _own["do"](task)
