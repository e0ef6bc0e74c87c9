"""Errors as the page gets them: data, with the file and line of every fault."""

from __future__ import annotations

from typing import Any

from answer_keys.errors import (
    AnswerKeysError,
    FileError,
    PassphraseNeededError,
    WrongPassphraseError,
)
from generator.desk.line import LostError
from generator.errors import WritingError
from workbook.texts import _

CONTENT_ERRORS = (AnswerKeysError, WritingError, OSError)
"""What an instructor can mend; anything else is a fault of ours."""


def as_error(error: BaseException) -> dict[str, Any]:
    """Return an error as JSON: its kind, what to say, and the faults of files."""
    return {
        "kind": _kind(error),
        "message": _message(error),
        "problems": [
            {"file": one.path.name, "line": one.line, "message": one.message}
            for one in getattr(error, "problems", ())
        ]
        if isinstance(error, FileError)
        else [],
    }


def _kind(error: BaseException) -> str:
    if isinstance(error, PassphraseNeededError):
        return "passphrase needed"
    if isinstance(error, WrongPassphraseError):
        return "passphrase wrong"
    if isinstance(error, LostError):
        return "lost"
    return "content" if isinstance(error, CONTENT_ERRORS) else "fault"


def _message(error: BaseException) -> str:
    if isinstance(error, OSError) and error.filename is not None:
        return _("{filename}: cannot be read or written ({strerror})").format(
            filename=error.filename, strerror=error.strerror
        )
    if isinstance(error, CONTENT_ERRORS):
        return str(error)
    return f"{type(error).__name__}: {error}"
