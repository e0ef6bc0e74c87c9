"""What is wrong with an instructor's lesson: all faults at once."""

from __future__ import annotations

from answer_keys.errors import FileError


class LessonError(FileError):
    """A lesson or component family has faults."""
