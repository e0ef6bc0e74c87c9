"""Which misconceptions an invented student holds: the truth to check reports by.

Only such are planted as can show often enough in the student's own exercises: nobody
can see a wrong rule that nothing asks for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from answer_keys.key_record import plan_of
from answer_keys.misconceptions import MISCONCEPTIONS
from answer_keys.mistakes import MISTAKES
from generator.writing.kinds import KINDS, RELAY_HABIT, new_bench

if TYPE_CHECKING:
    from generator.writing.kinds import InventedStudent
    from generator.writing.stream import Stream

__all__ = ["chances_of", "with_misconceptions"]

_ENOUGH = 3

Record = Mapping[str, Any]


def with_misconceptions(
    student: InventedStudent, records: Sequence[Record], stream: Stream
) -> InventedStudent:
    """Let a student hold as many misconceptions as the kind may, of several sorts.

    Parameters
    ----------
    student : InventedStudent
    records : sequence of mapping
        The student's key records.
    stream : Stream
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
    if student.kind == "relay-replacer" and chances[RELAY_HABIT] >= _ENOUGH:
        held.append(RELAY_HABIT)
    return replace(student, misconceptions=tuple(held))


def chances_of(kind: str, records: Sequence[Record], stream: Stream) -> Counter[str]:
    """Count how often each misconception can show in some exercises, at the least."""
    return Counter(
        id_ for record in records for id_ in sorted(_chances(kind, record, stream))
    )


def _chances(kind: str, record: Record, stream: Stream) -> set[str]:
    found = set(_in_questions(record["questions"]))
    if not record["questions"]:
        for asked in (*record["predictions"], record["verification"]):
            found |= {rule["id"] for rule in asked["misconceptions"]}
        found |= set(_in_tests(kind, record, stream))
    return found - {""}


def _in_questions(questions: Sequence[Record]) -> Iterator[str]:
    for question in questions:
        yield from (option["misconception"] for option in question["options"])
        if question["number"]:
            yield from (rule["id"] for rule in question["number"]["misconceptions"])


def _in_tests(kind: str, record: Record, stream: Stream) -> Iterator[str]:
    """Of findings count those of the first test: later readings may clear them."""
    plan, names = plan_of(record["reasoning"]), record["reasoning"]["tests"]
    yield from (MISTAKES[name] for name in names if name in MISTAKES)
    bench = new_bench(record, plan)
    first = KINDS[kind].choose(bench, stream)
    if first is not None:
        test = record["tests"][first]
        yield from (each["misconception"] for each in test["statements"])
        if kind == "relay-replacer" and plan.best_test(bench.left) != first:
            yield RELAY_HABIT
