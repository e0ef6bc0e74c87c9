"""What can be wrong on the student's side, in words a student can act on.

::

    WorkbookError
    ├── QuantityError    a typed number cannot be read
    ├── SealError        the sealed part of a notebook is damaged
    ├── NotebookError    the workbook's own notebook cannot be found or read
    ├── JournalError     the journal cannot be written
    └── RefusedError     an action that is not due, or not known
"""

from __future__ import annotations

from pathlib import Path


class WorkbookError(Exception):
    """Base of everything that this package raises on purpose."""


class QuantityError(WorkbookError):
    """A typed number cannot be read.

    Parameters
    ----------
    message : str
        What was given and what to write, for the student.
    raw : str
        The text exactly as typed.
    """

    def __init__(self, message: str, *, raw: str) -> None:
        super().__init__(message)
        self.raw = raw


class SealError(WorkbookError):
    """The sealed part of a notebook is damaged or not ours."""


class NotebookError(WorkbookError):
    """The workbook's own notebook cannot be found or read.

    Parameters
    ----------
    message : str
        What was looked for and what the student can do.
    paths : tuple of Path
        The notebooks it is about.
    """

    def __init__(self, message: str, *, paths: tuple[Path, ...] = ()) -> None:
        super().__init__(message)
        self.paths = paths


class JournalError(WorkbookError):
    """The journal cannot be written.

    Parameters
    ----------
    message : str
        What failed.
    path : Path
        The file or folder that refused.
    """

    def __init__(self, message: str, *, path: Path) -> None:
        super().__init__(message)
        self.path = path


class RefusedError(WorkbookError):
    """An action that is not due, or not known; nothing was recorded."""
