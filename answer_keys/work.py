"""What one student did in one exercise beside its key, and the share of a mark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from msgspec import Struct

from answer_keys.reading_path import Visit, visits

if TYPE_CHECKING:
    from answer_keys.key_record import KeyRecord
    from workbook.progress import ExerciseProgress

__all__ = ["Share", "Work", "no_test", "work_of"]


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


class Share(Struct, frozen=True, kw_only=True):
    """The share of an item's mark that was earned, with the reason.

    ``weight`` is the item's part of its step beside the other items.
    """

    item: str
    title: str
    share: float
    reason: str
    misconception: str = ""
    minutes_wasted: float = 0.0
    answer: str = ""
    hints: int = 0
    weight: float = 1.0


def work_of(record: KeyRecord, progress: ExerciseProgress) -> Work:
    """Lay a student's progress beside the key."""
    return Work(record=record, progress=progress, path=visits(record, progress))


def no_test(step: str, title: str) -> Share:
    """Give nothing for a step that needs tests where none was done."""
    return Share(item=step, title=title, share=0.0, reason="No test was done.")
