"""What one student did in one exercise beside its key."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from answer_keys.reading_path import Visit, visits

if TYPE_CHECKING:
    from answer_keys.key_record import KeyRecord
    from workbook.progress import ExerciseProgress

__all__ = ["Work", "work_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What one student did in one exercise, beside its key."""

    record: KeyRecord
    progress: ExerciseProgress
    path: tuple[Visit, ...]

    @property
    def own_path(self) -> tuple[Visit, ...]:
        """The tests that the student did, without those done beforehand."""
        return tuple(visit for visit in self.path if not visit.is_given)

    @property
    def left(self) -> tuple[int, ...]:
        """Candidates that fit every real reading so far."""
        return self.path[-1].after if self.path else self.record.everything


def work_of(record: KeyRecord, progress: ExerciseProgress) -> Work:
    """Lay a student's progress beside the key."""
    return Work(record=record, progress=progress, path=visits(record, progress))
