"""A class of invented students works a class set and hands in."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from generator.writing.cohort import hand_in_of
from generator.writing.errors import ClassSetError
from generator.writing.kinds import invented_students
from generator.writing.planting import with_misconceptions
from generator.writing.stream import Stream

if TYPE_CHECKING:
    from answer_keys.class_secret import ClassSecret
    from generator.writing.class_set import ClassSet

__all__ = ["simulate_class"]

Progress = Callable[[str, int, int], None]


def simulate_class(
    class_set: ClassSet,
    kinds: Sequence[str],
    opened: tuple[ClassSecret, Mapping[str, Any]],
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
    opened : pair of ClassSecret and mapping
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
    own = {id_: [r for r in key["exercises"] if r["student"] == id_] for id_ in ids}
    cohort = [
        with_misconceptions(student, own[student.id], stream)
        for student in invented_students(ids, kinds, stream)
    ]
    text = json.dumps({"students": [asdict(student) for student in cohort]}, indent=2)
    class_set.invented_file.write_text(text + "\n", encoding="utf-8")
    written = []
    for number, student in enumerate(cohort, 1):
        name, data = hand_in_of(student, own[student.id], key, stream)
        (class_set.handed_in / name).write_bytes(data)
        written.append(name)
        progress("working exercises", number, len(ids))
    return written
