"""A class of invented students works a class set and hands in."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING

from answer_keys.written_files import write_private
from generator.writing.cohort import hand_in_of
from generator.writing.errors import ClassSetError
from generator.writing.kinds import invented_students
from generator.writing.planting import with_misconceptions
from generator.writing.stream import Stream

if TYPE_CHECKING:
    from answer_keys.answer_key import AnswerKey
    from answer_keys.class_secret import ClassSecret
    from generator.writing.class_set import ClassSet

__all__ = ["simulate_class"]

Progress = Callable[[str, int, int], None]


def simulate_class(
    class_set: ClassSet,
    kinds: Sequence[str],
    opened: tuple[ClassSecret, AnswerKey],
    progress: Progress = lambda *_: None,
) -> list[str]:
    """Let a class of several kinds of students work a set; give the hand-ins' names.

    Who is of which kind and holds which misconceptions is written to the instructor's
    part.

    Parameters
    ----------
    class_set : ClassSet
    kinds : sequence of str
        Names of `KINDS`, dealt out in turn.
    opened : pair of ClassSecret and AnswerKey
        The secret and the answer key.
    progress : callable

    Raises
    ------
    ClassSetError
        Where somebody has handed in already.
    """
    # Programs that pack or sync folders tend to drop empty ones.
    class_set.handed_in.mkdir(exist_ok=True)
    if any(class_set.handed_in.iterdir()):
        raise ClassSetError(
            class_set.folder,
            "handed-in/ holds files already; allowed is an empty folder, so that no "
            "student's work is mixed with invented work",
        )
    secret, key = opened
    stream = Stream(secret.value, "cohort")
    ids = [student.id for student in class_set.request.students]
    cohort = [
        with_misconceptions(student, key.content_of(student.id), stream)
        for student in invented_students(ids, kinds, stream)
    ]
    text = json.dumps({"students": [asdict(student) for student in cohort]}, indent=2)
    write_private(class_set.invented_file, f"{text}\n".encode())
    header = {"set_id": key.set_id, "edition": key.edition, "mode": key.mode}
    written = []
    for number, student in enumerate(cohort, 1):
        own = key.content_of(student.id)
        name, data = hand_in_of(student, own, header, stream)
        write_private(class_set.handed_in / name, data)
        written.append(name)
        progress("working exercises", number, len(ids))
    return written
