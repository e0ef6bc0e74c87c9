"""The opened answer key of a class: each student's records packed by themselves.

Those of a large class are a gigabyte as JSON. So they stay packed, go packed to other
processes, and a student's are opened when somebody asks for them.
"""

from __future__ import annotations

import json
import lzma
from collections import defaultdict
from collections.abc import Iterator, KeysView, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import msgspec
from msgspec import Raw

from answer_keys.errors import KeyContentError
from answer_keys.keys.key_record import KeyRecord, content_error, records_from_json

OPEN_STUDENTS = 4
"""Students whose records are kept open: grading goes through them one by one."""

_FORMAT = 1
# Exercises repeat each other's texts further apart than zlib looks back; higher
# presets take five times as long for a tenth less.
_PRESET = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerKey:
    """The answer key of a class set.

    Attributes
    ----------
    set_id : str
    edition : int
    mode : str
    packed : mapping of str to bytes
        Each student's records, as `pack` gives them.
    history : mapping
        Whether the last tries in earlier sets were right, by student and skill.
    """

    set_id: str
    edition: int
    mode: str
    packed: Mapping[str, bytes]
    history: Mapping[str, Mapping[str, tuple[bool, ...]]] = field(default_factory=dict)

    @property
    def students(self) -> KeysView[str]:
        """Ids of the students; nothing is opened."""
        return self.packed.keys()

    def of_student(self, student: str) -> Mapping[int, KeyRecord]:
        """Give the records of one student by exercise.

        Raises
        ------
        KeyContentError
            Where something is missing or does not fit together.
        """
        packed = self.packed.get(student)
        return {} if packed is None else _opened(packed)

    @property
    def exercises(self) -> Iterator[KeyRecord]:
        """All records, opened student by student; raises as `of_student` does."""
        for student in self.packed:
            yield from self.of_student(student).values()

    def content_of(self, student: str) -> list[dict[str, Any]]:
        """Give the records of one student whole, as JSON holds them."""
        packed = self.packed.get(student)
        return [] if packed is None else json.loads(lzma.decompress(packed))

    @property
    def content(self) -> Iterator[dict[str, Any]]:
        """All records as JSON holds them, opened student by student."""
        for student in self.packed:
            yield from self.content_of(student)

    def writes(self) -> bytes:
        """Write the key, its records packed as they are; for sealing."""
        return msgspec.msgpack.encode(self)


@lru_cache(maxsize=OPEN_STUDENTS)
def _opened(packed: bytes) -> dict[int, KeyRecord]:
    return {one.exercise: one for one in records_from_json(lzma.decompress(packed))}


def pack(records: Sequence[Mapping[str, Any]]) -> bytes:
    """Pack the records of one student, given as JSON holds them."""
    text = json.dumps(
        records,
        sort_keys=True,
        ensure_ascii=False,
        allow_nan=False,
        separators=(",", ":"),
    )
    return lzma.compress(text.encode(), preset=_PRESET)


class _Owner(msgspec.Struct, frozen=True):
    student: str


class _Owners(msgspec.Struct, frozen=True):
    """Whose the exercises of a table are."""

    exercises: list[_Owner]


class _Table(msgspec.Struct, frozen=True, kw_only=True):
    """A key as one table: all exercises of all students in a row."""

    format: int
    set_id: str
    edition: int
    mode: str
    exercises: list[Raw]
    history: dict[str, dict[str, tuple[bool, ...]]] = {}


_PACKED = msgspec.msgpack.Decoder(AnswerKey)
_TABLE = msgspec.json.Decoder(_Table)
_OWNERS = msgspec.json.Decoder(_Owners)


def answer_key_from_packed(written: bytes) -> AnswerKey:
    """Read what `AnswerKey.writes` has written; raises as `answer_key_from_json`."""
    try:
        return _PACKED.decode(written)
    except msgspec.DecodeError as error:
        raise content_error(error) from error


def answer_key_from_json(text: bytes) -> AnswerKey:
    """Read a key that is one table with all its ``exercises``, as in older sets.

    Raises
    ------
    KeyContentError
        Where something is missing; of a student's records, when they are opened.
    """
    try:
        table, owners = _TABLE.decode(text), _OWNERS.decode(text).exercises
    except msgspec.DecodeError as error:
        raise content_error(error) from error
    if table.format != _FORMAT:
        raise KeyContentError(
            f"The answer key's content has format {table.format}; "
            f"only format {_FORMAT} is known here."
        )
    by_student: defaultdict[str, list[Raw]] = defaultdict(list)
    for owner, record in zip(owners, table.exercises, strict=True):
        by_student[owner.student].append(record)
    return AnswerKey(
        set_id=table.set_id,
        edition=table.edition,
        mode=table.mode,
        packed={
            id_: lzma.compress(b"[%b]" % b",".join(own), preset=_PRESET)
            for id_, own in by_student.items()
        },
        history=table.history,
    )


def answer_key_from_content(content: Mapping[str, Any]) -> AnswerKey:
    """Build a key from such a table as JSON holds it; raises as its reader does."""
    return answer_key_from_json(json.dumps(content).encode())
