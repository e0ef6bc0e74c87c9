"""What is wrong with an instructor's files: all faults at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault of an instructor's file: where it is, and what is allowed.

    `line` is None where it is the whole file or folder.
    """

    path: Path
    line: int | None
    message: str

    def __str__(self) -> str:
        place = "" if self.line is None else f", line {self.line}"
        return f"{self.path}{place}: {self.message}"


class LessonError(Exception):
    """Faults in lesson files, all of them, each with file, line and what is allowed."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(map(str, problems)))
