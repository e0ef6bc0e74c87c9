"""Errors of what is written for a class, in words for the instructor.

::

    WritingError
    ├── DrawError       an exercise that cannot be drawn
    ├── ClassDrawError  a lesson of which nothing can be drawn for a class
    ├── ClassSetError   a folder that cannot be used as a class set
    ├── SiteError       a site that cannot be built or served
    ├── WorkerError     a process that worked for this one and was ended
    ├── ClusterError    machines that cannot work together
    └── RoomError       an examination's record that cannot be kept

and `RosterError`, with the faults of a class list, and `PlanError`, with those of a
plan for many classes and of all that it names.
"""

from __future__ import annotations

from pathlib import Path

from answer_keys.errors import ContentError, FileError
from workbook.texts import _


def told(error: BaseException) -> str:
    """Say what is wrong, and of what the disk refuses, with which file."""
    if isinstance(error, OSError) and error.filename is not None:
        return _("{filename}: cannot be read or written ({strerror}).").format(
            filename=error.filename, strerror=error.strerror
        )
    return str(error)


class WritingError(ContentError):
    """Something that cannot be written or read, and what to do."""


class RosterError(FileError):
    """A class list has faults."""


class PlanError(FileError):
    """A plan for many classes has faults, or something that it names has."""


class DrawError(WritingError):
    """A fault of a family for which no draw passed the proof."""

    def __init__(self, family: str, fault: str, attempts: int, reason: str) -> None:
        self.family, self.fault, self.reason = family, fault, reason
        super().__init__(
            f"{family} with {fault}: {attempts} draws failed, the last because {reason}"
        )


class ClassDrawError(WritingError):
    """A lesson whose causes were tried one after the other, and none can be drawn."""

    def __init__(self, lesson: str, last: DrawError) -> None:
        self.lesson, self.last = lesson, last
        super().__init__(
            f"lesson {lesson}: no circuit with one of its faults can be drawn so that "
            f"tests prove the cause ({last}); give its lesson.toml more faults, tests "
            "or component families, or leave the lesson out"
        )


class ClassSetError(WritingError):
    """A folder that cannot be used as a class set, and what to do."""

    def __init__(self, folder: Path, message: str) -> None:
        self.folder = folder
        super().__init__(f"{folder}: {message}")


class SiteError(WritingError):
    """A site that cannot be built or served: what is missing and what to do."""


class WorkerError(WritingError):
    """A process that worked for this one and was ended before its work."""


class RoomError(WritingError):
    """The record of an examination that cannot be read or written, and what to do."""

    def __init__(self, path: Path, message: str) -> None:
        self.path = path
        super().__init__(f"{path}: {message}")


class ClusterError(WritingError):
    """Machines that cannot work together: what is missing and what to do."""
