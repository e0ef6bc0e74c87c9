"""What is done in another process, and what comes back: bytes, or a sentence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from threading import Lock
from typing import Any, Literal, Protocol

from answer_keys.errors import ContentError
from workbook.version import __version__

Work = Literal["drawing", "marking", "grading"]
"""A module of `generator.classes.work`, whose `do` takes what a job holds."""

# The language spoken is one for a process, so that it does one job at a time.
_ALONE = Lock()


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Something to be done for a class.

    Attributes
    ----------
    name : str
        The class.
    given : tuple
        What the work takes, as our own processes pickle it: it comes from here.
    """

    name: str
    work: Work
    given: tuple[Any, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What came of a job.

    Attributes
    ----------
    data : bytes
        MessagePack, to be checked by whoever decodes it.
    fault : str
        Why there is no data, as a sentence for the instructor.
    is_lost : bool
        Whether whoever was at it is gone, so that nothing is known of the job.
    """

    job: Job
    data: bytes = b""
    fault: str = ""
    is_lost: bool = False


Hear = Callable[[Answer], None]
"""Takes an answer, in whatever thread it comes."""


class Engine(Protocol):
    """Does jobs elsewhere, some at a time, and tells of each when it is done."""

    @property
    def room(self) -> int:
        """How many more jobs it takes now: few wait, since each holds its data."""

    def start(self, job: Job) -> None:
        """Take a job; its answer is heard later."""

    def mend(self) -> bool:
        """Be ready again after a loss.

        Returns
        -------
        bool
            Whether a lost job is innocent of it.
        """

    def close(self) -> None:
        """End, whatever is still under way."""


def perform(work: Work, given: tuple[Any, ...], version: str) -> tuple[bytes, str]:
    """Do a job in this process; give its data, or why there is none. Never raises.

    Parameters
    ----------
    version : str
        Of whoever asks: another one may draw other circuits from the same secret.
    """
    if version != __version__:
        return b"", (
            f"a worker runs Clampbook {__version__} and this machine {version}; "
            "install the same on all"
        )
    try:
        with _ALONE:
            done: bytes = import_module(f"generator.classes.work.{work}").do(*given)
            return done, ""
    except ContentError as error:
        return b"", str(error)
    except Exception as error:  # a cluster would log it with all that was given
        return b"", _told(work, error)


def broken(job: Job, error: BaseException) -> Answer:
    """Tell of a fault of ours, which costs its class alone."""
    return Answer(job=job, fault=_told(job.work, error))


def _told(work: Work, error: BaseException) -> str:
    told = f"{type(error).__name__}: {error}".replace("\n", " ")[:300]
    return f"{work} failed ({told}). Please report it."
