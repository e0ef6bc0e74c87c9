"""Errors of this room, and `ContentError`, which all of ours begin from.

::

    AnswerKeysError
    ├── SecretError            the class secret cannot be written or read
    │   ├── PassphraseNeededError
    │   └── WrongPassphraseError
    ├── SealError              the answer key cannot be opened
    │   ├── OtherSetError      it belongs to another class set
    │   └── WrongSecretError   it was sealed with another class secret
    ├── KeyContentError        the opened key does not hold what grading needs
    ├── GradebookError         the gradebook cannot be used, and what helps
    ├── ChoiceError            no hand-in is meant by what the instructor takes
    ├── FileError              faults of the instructor's files, all of them
    │   ├── OverridesError     of a table of marks set by hand
    │   └── RubricError        of a rubric file
    ├── ExportError            results that a format cannot hold, or a column cannot
    └── RefusedError           a returned file is not graded, with the reason
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any


class ContentError(Exception):
    """Bad content, told in one sentence: the same in whatever process it shows."""

    def __reduce__(self) -> tuple[Any, ...]:
        # Each kind is made from things of its own, and is one text in the end.
        return _once_more, (type(self), self.args, self.__dict__)


def _once_more(
    kind: type[ContentError], args: tuple[object, ...], state: dict[str, Any]
) -> ContentError:
    # This keeps the args without `__init__`, which of each kind asks for other things.
    error = kind.__new__(kind, *args)
    error.__dict__.update(state)
    return error


class AnswerKeysError(ContentError):
    """Anything that this room reports as bad content."""


class SecretError(AnswerKeysError):
    """The class secret cannot be written or read.

    Attributes
    ----------
    path : pathlib.Path
        The file in question.
    """

    def __init__(self, path: Path, problem: str) -> None:
        super().__init__(f"{path}: {problem}")
        self.path = path


class PassphraseNeededError(SecretError):
    """The class secret is under a passphrase and none was given."""


class WrongPassphraseError(SecretError):
    """The passphrase does not open the class secret."""


class SealError(AnswerKeysError):
    """The answer key is damaged or of a version that is not known here."""


class OtherSetError(SealError):
    """The answer key belongs to another class set.

    Attributes
    ----------
    expected, found : str
        The set id asked for and the one of the key.
    """

    def __init__(self, problem: str, *, expected: str, found: str) -> None:
        super().__init__(problem)
        self.expected = expected
        self.found = found


class WrongSecretError(SealError):
    """The answer key was sealed with another class secret."""


class GradebookError(AnswerKeysError):
    """The gradebook cannot be used: locked, full, away, damaged, or not what it was."""


class ChoiceError(AnswerKeysError):
    """What the instructor takes is no hand-in, or several could be meant."""


class KeyContentError(AnswerKeysError):
    """The opened answer key does not hold what grading needs."""


class ExportError(AnswerKeysError):
    """Results that cannot be written for another program, and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault of an instructor's file: where it is, what it is and what to do.

    `line` is None where it is the whole file or folder.
    """

    path: Path
    line: int | None
    message: str

    def __str__(self) -> str:
        place = "" if self.line is None else f", line {self.line}"
        return f"{self.path}{place}: {self.message}"


class FileError(AnswerKeysError):
    """Files of the instructor's have faults: all of them, each with file and line."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = tuple(problems)


class RubricError(FileError):
    """A rubric file has faults."""


class OverridesError(FileError):
    """A table of marks set by hand has faults."""


class RefusedError(AnswerKeysError):
    """A returned file is not graded.

    Attributes
    ----------
    reason : str
        Why, as a sentence for the instructor.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason
