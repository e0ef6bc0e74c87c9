"""A class of invented students works a class set and hands in.

Only such misconceptions are planted as can show often enough in a student's own
exercises: nobody can see a wrong rule that nothing asks for.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict, replace

from answer_keys.headway import Progress
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.class_secret import ClassSecret
from answer_keys.keys.key_questions import QuestionKey
from answer_keys.keys.key_record import KeyRecord
from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.mistakes import MISTAKES
from answer_keys.written_files import write_private
from generator.drawing.stream import Stream
from generator.errors import ClassSetError
from generator.invented.cohort import hand_in_of
from generator.invented.kinds import (
    KINDS,
    RELAY_HABIT,
    InventedStudent,
    invented_students,
    new_bench,
)
from generator.sets.class_set import ClassSet

# Shown once or twice, no report could tell a habit from a slip.
_ENOUGH = 3


def with_misconceptions(
    student: InventedStudent, records: Sequence[KeyRecord], stream: Stream
) -> InventedStudent:
    """Let a student hold as many misconceptions as the kind may, of several sorts.

    Parameters
    ----------
    records : sequence of KeyRecord
        The student's key records.
    """
    chances = chances_of(student.kind, records, stream)
    could = [id_ for id_, count in chances.items() if count >= _ENOUGH]
    held = list[str]()
    for _ in range(KINDS[student.kind].misconceptions):
        # Two rules for the same number would hide each other.
        sorts = {MISCONCEPTIONS[id_].kind for id_ in held}
        left = [id_ for id_ in could if MISCONCEPTIONS[id_].kind not in sorts]
        if left:
            held.append(stream.choice(left))
    is_habit = student.kind == "relay-replacer" and RELAY_HABIT not in held
    if is_habit and chances[RELAY_HABIT] >= _ENOUGH:
        held.append(RELAY_HABIT)
    return replace(student, misconceptions=tuple(held))


def chances_of(kind: str, records: Sequence[KeyRecord], stream: Stream) -> Counter[str]:
    """Count how often each misconception can show in some exercises, at the least."""
    return Counter(
        id_ for record in records for id_ in sorted(_chances(kind, record, stream))
    )


def _chances(kind: str, record: KeyRecord, stream: Stream) -> set[str]:
    found = set(_in_questions(record.questions))
    if not record.questions:
        for asked in (*record.predictions, record.verification):
            found |= {rule.id for rule in asked.misconceptions}
        found |= set(_in_tests(kind, record, stream))
    return found - {""}


def _in_questions(questions: Sequence[QuestionKey]) -> Iterator[str]:
    for question in questions:
        yield from (option.misconception for option in question.options)
        if question.number:
            yield from (rule.id for rule in question.number.misconceptions)


def _in_tests(kind: str, record: KeyRecord, stream: Stream) -> Iterator[str]:
    """Of findings count those of the first test: later readings may clear them."""
    names = record.reasoning.tests
    yield from (MISTAKES[name] for name in names if name in MISTAKES)
    bench = new_bench(record)
    first = KINDS[kind].choose(bench, stream)
    if first is not None:
        yield from (each.misconception for each in record.tests[first].statements)
        if kind == "relay-replacer" and record.plan.best_test(bench.state) != first:
            yield RELAY_HABIT


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
            "handed-in/ holds files already. Move them elsewhere, so that no "
            "student's work is mixed with invented work.",
        )
    secret, key = opened
    stream = Stream(secret.value, "cohort")
    ids = [student.id for student in class_set.request.students]
    cohort = [
        with_misconceptions(student, [*key.of_student(student.id).values()], stream)
        for student in invented_students(ids, kinds, stream)
    ]
    text = json.dumps({"students": [asdict(student) for student in cohort]}, indent=2)
    write_private(class_set.invented_file, f"{text}\n".encode())
    header = {"set_id": key.set_id, "edition": key.edition, "mode": key.mode}
    written = []
    for number, student in enumerate(cohort, 1):
        own = key.whole_of(student.id)
        name, data = hand_in_of(student, own, header, stream)
        write_private(class_set.handed_in / name, data)
        written.append(name)
        progress("working", number, len(ids))
    return written
