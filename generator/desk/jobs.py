"""Long work in processes of their own: how far it is, its end, and how it is stopped.

A job lives as long as the desk, not as long as the page that began it. Its process is
the only one that opens a class secret; what comes back from it is JSON.
"""

from __future__ import annotations

import json
import secrets
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from hashlib import sha256
from importlib import import_module
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Literal

from generator.desk.line import Line, LostError, Stopped
from generator.desk.told_errors import as_error
from generator.sets.drafts import drop_abandoned

State = Literal["waiting", "working", "done", "failed", "stopped"]
_LIVING = ("waiting", "working")
_PATIENCE_S = 8.0  # for work that was told to stop, before its process is ended
_KEPT = 200  # jobs that are remembered


@dataclass(slots=True, kw_only=True)
class Job:
    """One piece of work and how far it is.

    Attributes
    ----------
    id : str
        For the page to ask by.
    work : str
        What is done, as `generator.desk.work` names it.
    about : str
        Name of the set it works on; empty where it is none.
    digest : bytes
        Of all that was asked for.
    steps : dict
        By the id of a step, how much of it is done and of how much.
    told : dict
        What the page is told while the work goes on.
    result : object
        What came out, as JSON has it.
    kept : object
        What is told to a later job alone, and never to a page.
    error : dict or None
        What went wrong: `kind`, `message` and, of files, `problems`.
    stopping : threading.Event
        Set to have it stopped.
    """

    id: str
    work: str
    about: str
    digest: bytes
    state: State = "waiting"
    steps: dict[str, tuple[int, int]] = field(default_factory=dict)
    told: dict[str, Any] = field(default_factory=dict)
    result: Any = None
    kept: Any = None
    error: dict[str, Any] | None = None
    stopping: threading.Event = field(default_factory=threading.Event)

    @property
    def is_living(self) -> bool:
        """Whether it waits or works."""
        return self.state in _LIVING

    def named(self) -> dict[str, Any]:
        """Return which job it is and whether it goes on."""
        return {
            "id": self.id,
            "work": self.work,
            "set": self.about,
            "state": self.state,
        }

    def shown(self) -> dict[str, Any]:
        """Return the job as the page gets it."""
        steps = [
            {"id": step, "done": done, "total": total}
            for step, (done, total) in self.steps.items()
        ]
        return {
            **self.named(),
            "steps": steps,
            "told": self.told,
            "result": self.result,
            "error": self.error,
        }


class Jobs:
    """All jobs of a desk. Those about one set are done one after the other."""

    def __init__(self) -> None:
        self._jobs: dict[str, Job] = {}
        self._turns: dict[str, threading.Lock] = defaultdict(threading.Lock)
        self._starting = threading.Lock()
        self._spare: _Worker | None = None

    def start(self, work: str, about: str, asked: Mapping[str, Any]) -> Job:
        """Begin a piece of work; gives the same job where just that is under way.

        So two clicks on a button are one.

        Parameters
        ----------
        asked : mapping
            What the page asks for, as JSON has it; may hold a passphrase, which is
            told to the process and kept nowhere.
        """
        text = json.dumps([work, about, dict(asked)], sort_keys=True)
        digest = sha256(text.encode()).digest()
        with self._starting:
            for job in self._jobs.values():
                if job.is_living and job.digest == digest:
                    return job
            job = Job(id=secrets.token_hex(8), work=work, about=about, digest=digest)
            self._jobs[job.id] = job
            self._drop_oldest()
        threading.Thread(target=self._do, args=(job, asked), daemon=True).start()
        return job

    def prepare(self) -> None:
        """Have a process ready for the next work: to load takes it a second or two."""
        with self._starting:
            if self._spare is None:
                self._spare = _Worker()

    def get(self, job_id: str) -> Job | None:
        """Return a job by its id."""
        return self._jobs.get(job_id)

    def all(self) -> list[Job]:
        """Return every job that is remembered, the oldest first."""
        return list(self._jobs.values())

    @property
    def is_at_work(self) -> bool:
        """Whether any job is under way."""
        return any(job.is_living for job in self.all())

    def stop_all(self) -> None:
        """Stop everything that is under way, and wait for its end."""
        living = [job for job in self.all() if job.is_living]
        for job in living:
            job.stopping.set()
        # A little longer than each job is given before its process is ended.
        end = time.monotonic() + _PATIENCE_S + 2
        while any(job.is_living for job in living) and time.monotonic() < end:
            time.sleep(0.05)
        with self._starting:
            if self._spare is not None:
                self._spare.end()
            self._spare = None

    def _worker(self) -> _Worker:
        with self._starting:
            worker, self._spare = self._spare, None
        return worker or _Worker()

    def _drop_oldest(self) -> None:
        over = [job.id for job in self._jobs.values() if not job.is_living]
        for job_id in over[: max(len(self._jobs) - _KEPT, 0)]:
            del self._jobs[job_id]

    def _do(self, job: Job, asked: Mapping[str, Any]) -> None:
        """Wait for the set's turn, then follow the work's process to its end."""
        # Work of no set, such as a preview, waits for nobody.
        turn = self._turns[job.about] if job.about else threading.Lock()
        # Looked at again and again, because a lock cannot be waited for and a stop
        # heard.
        while not turn.acquire(timeout=0.2):
            if job.stopping.is_set():
                job.state = "stopped"
                return
        with ExitStack() as having_the_turn:
            having_the_turn.callback(turn.release)
            job.state = "working"
            try:
                worker = self._worker()
            except OSError as error:
                # As where the system starts no more processes: a page waits for it.
                job.error, job.state = as_error(error), "failed"
                return
            _follow(job, asked, worker, having_the_turn.close)


def _follow(
    job: Job, asked: Mapping[str, Any], worker: _Worker, give_turn: Callable[[], None]
) -> None:
    """Have a process do a job; it ends with the job, whatever happens.

    What tells the page something while it goes on, as what serves students does, has
    written all that it will: it gives the turn to others of its set.
    """
    stop_at: float | None = None
    try:
        worker.pipe.send_bytes(json.dumps([job.work, dict(asked)]).encode())
        while True:
            if job.stopping.is_set() and stop_at is None:
                stop_at = time.monotonic() + _PATIENCE_S
                worker.pipe.send_bytes(b"stop")
            if stop_at is not None and time.monotonic() > stop_at:
                worker.process.kill()
            if worker.pipe.poll(0.1) and not _heard(job, worker.pipe.recv_bytes()):
                break
            if job.told:
                give_turn()
    except (EOFError, OSError):
        # The process is gone without a word, and has cleared nothing away.
        worker.process.join(_PATIENCE_S)
        if "sets" in asked:
            drop_abandoned(Path(asked["sets"]))
        job.error = None if job.stopping.is_set() else as_error(LostError())
        job.state = "stopped" if job.stopping.is_set() else "failed"
    finally:
        worker.end()


def _heard(job: Job, data: bytes) -> bool:
    """Note what a process says; gives whether more will come."""
    said = json.loads(data)
    match said:
        case {"step": step, "done": done, "total": total}:
            job.steps[step] = (done, total)
            return True
        case {"told": told}:
            job.told |= told
            return True
        case {"result": result}:
            job.result, job.kept, job.state = result, said.get("kept"), "done"
        case {"error": error}:
            job.error, job.state = error, "failed"
        case _:
            job.state = "stopped"
    return False


class _Worker:
    """A process that has loaded what work needs, and waits for one piece of it."""

    def __init__(self) -> None:
        context = get_context("spawn")
        self.pipe, theirs = context.Pipe()
        # No daemon, which could start no processes, and drawing and marking have
        # theirs.
        self.process = context.Process(target=_work, args=(theirs,), daemon=False)
        self.process.start()
        # Open here, too, it would never tell that the process is gone.
        theirs.close()

    def end(self) -> None:
        """End the process; it has had its time."""
        self.pipe.close()
        self.process.join(_PATIENCE_S)
        if self.process.is_alive():
            self.process.kill()
            self.process.join()
        self.process.close()


def _work(connection: Connection) -> None:
    """Do one piece of work in this process; the last thing said is its end."""
    # Loaded here alone: solver, database and drawing take memory and seconds.
    do = import_module("generator.desk.work.named").do
    line = Line(connection)
    try:
        work, asked = json.loads(connection.recv_bytes())
        line.say(**do(work, asked, line))
    except Stopped:
        line.say(stopped=True)
    except (EOFError, OSError):
        # The desk is gone: nobody is left to tell.
        return
