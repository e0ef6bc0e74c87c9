"""The opened answer key of a class: each student's records packed by themselves.

Those of a large class are a gigabyte as JSON. So they stay packed, go packed to other
processes, and a student's are opened when somebody asks for them.
"""

from __future__ import annotations

import lzma
from collections.abc import Callable, Iterator, KeysView, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TypeVar

import msgspec

from answer_keys.keys.key_record import KeyRecord, content_error, records_read
from answer_keys.keys.offered import Offered, offered_read
from answer_keys.keys.whole_record import WholeRecord, whole_records_read
from workbook.record.readings import Reading
from workbook.texts import ENGLISH

_T = TypeVar("_T")
Readings = Mapping[int, Mapping[str, Reading]]
"""Of one student, by exercise and test."""
OPEN_STUDENTS = 4
"""Students whose records are kept open: grading goes through them one by one."""

# Exercises repeat each other's texts further apart than zlib looks back; higher
# presets take half as long again, and more, for a twentieth less.
_PRESET = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerKey:
    """The answer key of a class set.

    Attributes
    ----------
    packed : mapping of str to bytes
        Each student's records, as `pack` gives them.
    history : mapping
        Whether the last tries in earlier sets were right, by student and skill.
    has_own_causes : bool
        Whether students who are graded have causes of their own.
    readings : mapping of str to bytes
        Each student's readings in an examination, as `pack_readings` gives them: they
        stand in no file of theirs.
    language : str
        In which its texts are; reasons of marks and reports are in it, too.
    """

    set_id: str
    edition: int
    mode: str
    packed: Mapping[str, bytes]
    history: Mapping[str, Mapping[str, tuple[bool, ...]]] = field(default_factory=dict)
    readings: Mapping[str, bytes] = field(default_factory=dict)
    has_own_causes: bool = False
    language: str = ENGLISH

    @property
    def students(self) -> KeysView[str]:
        """Ids of the students; nothing is opened."""
        return self.packed.keys()

    def of_student(self, student: str) -> Mapping[int, KeyRecord]:
        """Return the records of one student by exercise.

        Raises
        ------
        KeyContentError
            Where something is missing or does not fit together.
        """
        packed = self.packed.get(student)
        return {} if packed is None else _opened(packed)

    def offered_to(self, student: str) -> Offered:
        """Give what the exercises of one student offer, and none of their answers.

        Raises
        ------
        KeyContentError
            Where something is missing.
        """
        return self._read(self.packed.get(student), offered_read)

    def readings_of(self, student: str) -> Readings:
        """Return the readings of one student by exercise and test; none elsewhere.

        Raises
        ------
        KeyContentError
            Where they are none.
        """
        return self._read(self.readings.get(student), _READINGS.decode)

    @staticmethod
    def _read(
        packed: bytes | None, read: Callable[[bytes], Mapping[int, _T]]
    ) -> Mapping[int, _T]:
        """Read what is packed of a student; empty where there is nothing."""
        try:
            return {} if packed is None else read(lzma.decompress(packed))
        except msgspec.DecodeError as error:
            raise content_error(error) from error

    @property
    def exercises(self) -> Iterator[KeyRecord]:
        """All records, opened student by student; raises as `of_student` does."""
        for student in self.packed:
            yield from self.of_student(student).values()

    def whole_of(self, student: str) -> tuple[WholeRecord, ...]:
        """Return the records of one student whole; raises likewise."""
        packed = self.packed.get(student)
        return () if packed is None else whole_records_read(lzma.decompress(packed))

    @property
    def whole(self) -> Iterator[WholeRecord]:
        """All records with all that they hold, opened student by student."""
        for student in self.packed:
            yield from self.whole_of(student)

    def writes(self) -> bytes:
        """Write the key, its records packed as they are; for sealing."""
        return msgspec.msgpack.encode(self)


# By the packed bytes: the same student of another set has others.
@lru_cache(maxsize=OPEN_STUDENTS)
def _opened(packed: bytes) -> dict[int, KeyRecord]:
    records = records_read(lzma.decompress(packed), _GRADED)
    return {one.exercise: one for one in records}


def pack(records: Sequence[WholeRecord]) -> bytes:
    """Pack the records of one student."""
    return lzma.compress(msgspec.json.encode(records), preset=_PRESET)


def pack_readings(readings: Readings) -> bytes:
    """Pack the readings of one student."""
    return lzma.compress(msgspec.json.encode(readings), preset=_PRESET)


_READINGS = msgspec.json.Decoder(dict[int, dict[str, Reading]])
# Built once: a decoder is made from the types, which takes longer than a small record.
_GRADED = msgspec.json.Decoder(tuple[KeyRecord, ...])
_PACKED = msgspec.msgpack.Decoder(AnswerKey)


def answer_key_from_packed(written: bytes) -> AnswerKey:
    """Read what `AnswerKey.writes` has written.

    Raises
    ------
    KeyContentError
        Where something is missing; of a student's records, when they are opened.
    """
    try:
        return _PACKED.decode(written)
    except msgspec.DecodeError as error:
        raise content_error(error) from error
