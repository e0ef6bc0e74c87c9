"""Typed answers: a table of what students wrote on paper, read as strictly as hand-ins.

One row a step, in the order in which the student went. Tests and predictions go by
their number on the handout, which is their place in the answer key.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from answer_keys.errors import RefusedError
from answer_keys.hand_in import NEVER, HandIn
from answer_keys.hand_in_lines import Answered, Chosen, Concluded, Entry, Finding
from answer_keys.limits import MAX_HAND_IN_BYTES, MAX_LINE_BYTES, MAX_TYPED_ROWS
from answer_keys.visible_text import has_hidden_signs, visible
from workbook.errors import QuantityError
from workbook.progress import ExerciseProgress, after
from workbook.quantities import Ambiguous, read_quantity

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from answer_keys.key_record import AnswerKey, KeyRecord, NumberKey, TestKey

__all__ = ["COLUMNS", "SOFTWARE", "is_typed", "typed_hand_ins"]

COLUMNS = (
    "set",
    "student",
    "exercise",
    "step",
    "item",
    "answer",
    "second_answer",
)
SOFTWARE = "typed answers"
_STEPS = ("prediction", "test", "finding", "conclusion", "verification")
_MOST_FAULTS = 50
# Paper has no clock: rows keep their order by number, and hand-ins are newer.
_TIME = "2000-01-01T00:00:00Z"


def is_typed(name: str) -> bool:
    """Tell whether a returned file is to be read as typed answers."""
    return name.lower().endswith(".csv")


def typed_hand_ins(name: str, data: bytes, key: AnswerKey) -> tuple[HandIn, ...]:
    """Read a table of typed answers, as one hand-in a student.

    Parameters
    ----------
    name : str
        Name of the file; each hand-in is called ``name/student``.
    data : bytes
        CSV in UTF-8, with commas or semicolons between.
    key : AnswerKey

    Returns
    -------
    tuple of HandIn
        In the order in which the students first come up.

    Raises
    ------
    RefusedError
        With every fault of the file, each with its row and what is allowed.
    """
    rows, faults = _rows(_text(data))
    reader = _Reader(key=key, faults=faults)
    for row in rows:
        reader.take(row)
    if reader.faults:
        raise RefusedError(_listed(reader.faults))
    if not reader.entries:
        raise RefusedError("The table holds no answer; allowed is one or more.")
    return tuple(
        HandIn(
            name=visible(f"{name}/{student}"),
            sha256=_digest(student, entries),
            set_id=key.set_id,
            student=student,
            edition=key.edition,
            mode=key.mode,
            software=SOFTWARE,
            entries=tuple((SOFTWARE, entry) for entry in entries),
            notices=(),
            is_unbroken=True,
            newest=NEVER,
        )
        for student, entries in reader.entries.items()
    )


def _digest(student: str, entries: Sequence[Entry]) -> str:
    """Hash one student's answers: the rows of others change nothing."""
    text = "\n".join([student, *(entry.model_dump_json() for entry in entries)])
    return hashlib.sha256(text.encode()).hexdigest()


def _listed(faults: Sequence[str]) -> str:
    more = len(faults) - _MOST_FAULTS
    tail = [f"And {more} more."] if more > 0 else []
    return "\n".join([*faults[:_MOST_FAULTS], *tail])


def _text(data: bytes) -> str:
    if len(data) > MAX_HAND_IN_BYTES:
        raise RefusedError(
            f"The file is larger than {MAX_HAND_IN_BYTES:,} bytes; allowed are typed "
            "answers of one class."
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise RefusedError(
            f"Byte {error.start} is not UTF-8; allowed is a table saved as “CSV UTF-8”."
        ) from error
    lines = text.splitlines()
    if len(lines) > MAX_TYPED_ROWS:
        raise RefusedError(f"The file has more than {MAX_TYPED_ROWS:,} rows.")
    if any(len(line) > MAX_LINE_BYTES for line in lines):
        raise RefusedError(f"A row is longer than {MAX_LINE_BYTES:,} characters.")
    return text


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One row of the table; ``number`` is its line in the file."""

    number: int
    set: str
    student: str
    exercise: str
    step: str
    item: str
    answer: str
    second_answer: str


def _rows(text: str) -> tuple[list[_Row], list[str]]:
    """Part the table into rows, and say what is no row."""
    head = text.partition("\n")[0]
    separator = ";" if head.count(";") > head.count(",") else ","
    lines = csv.reader(io.StringIO(text), delimiter=separator, strict=True)
    rows, faults = list[_Row](), list[str]()
    try:
        names = [name.strip().lower() for name in next(lines, [])]
        if names != list(COLUMNS):
            raise RefusedError(
                "Row 1: the columns are not those of typed answers; allowed are "
                f"{separator.join(COLUMNS)}, in this order."
            )
        for cells in lines:
            if len(cells) != len(COLUMNS):
                faults += _miscounted(lines.line_num, cells, separator)
            elif any(has_hidden_signs(cell) for cell in cells):
                faults.append(
                    f"Row {lines.line_num}: holds control or hidden characters; "
                    "allowed are letters, digits and signs that show."
                )
            else:
                texts = dict(zip(COLUMNS, map(str.strip, cells), strict=True))
                rows.append(_Row(number=lines.line_num, **texts))
    except csv.Error as error:
        faults.append(
            f"Row {lines.line_num}: cannot be parted into columns ({error}); allowed "
            "are quotes in pairs."
        )
    return rows, faults


def _miscounted(number: int, cells: Sequence[str], separator: str) -> list[str]:
    if not any(cells):
        return []
    hint = "; a number with a comma needs quotes" if separator == "," else ""
    return [
        f"Row {number}: has {len(cells)} columns; allowed are {len(COLUMNS)}{hint}."
    ]


class _RowError(Exception):
    """What is wrong with one row, and what is allowed."""


class _Reader:
    """Takes rows one by one, and keeps what each student has done so far."""

    def __init__(self, *, key: AnswerKey, faults: list[str]) -> None:
        self.key = key
        self.faults = faults
        self.entries: defaultdict[str, list[Entry]] = defaultdict(list)
        self._students = {one.student for one in key.exercises}
        self._progress: defaultdict[tuple[str, int], ExerciseProgress] = defaultdict(
            ExerciseProgress
        )

    def take(self, row: _Row) -> None:
        """Take one row; one without any answer was left empty."""
        if not (row.answer or row.second_answer):
            return
        try:
            self._add(row)
        except _RowError as error:
            self.faults.append(f"Row {row.number}: {error}.")

    def _add(self, row: _Row) -> None:
        record = self._record(row)
        step = _one_of("step", row.step.lower(), _STEPS)
        fields = _ENTRY_OF[step](row, record)
        entries = self.entries[record.student]
        common = {"seq": len(entries) + 1, "time": _TIME, "prev": "-"}
        entry = _built({**common, "exercise": record.exercise, "kind": step, **fields})
        place = record.student, record.exercise
        progress = after(self._progress[place], entry.model_dump())
        if progress is self._progress[place]:
            raise _RowError(
                f"the {step} is not due here; allowed are predictions before the first "
                "test, each test once with its finding after it, then one conclusion "
                "and one verification"
            )
        self._progress[place] = progress
        entries.append(entry)

    def _record(self, row: _Row) -> KeyRecord:
        _one_of("set", row.set, [self.key.set_id])
        _one_of("student", row.student, sorted(self._students))
        # Answers to questions have no columns here: only a diagnosis has these steps.
        records = {
            n: record
            for n, record in self.key.of_student(row.student).items()
            if not record.questions
        }
        number = _one_of("exercise", row.exercise, [str(n) for n in sorted(records)])
        return records[int(number)]


def _one_of(column: str, found: str, allowed: Sequence[str]) -> str:
    if found not in allowed:
        shown = ", ".join(allowed[:30]) + (" ..." if len(allowed) > 30 else "")
        raise _RowError(f"{column} is “{visible(found, 60)}”; allowed: {shown}")
    return found


def _built(fields: Mapping[str, Any]) -> Entry:
    kinds: dict[str, type[Entry]] = {
        "prediction": Answered,
        "verification": Answered,
        "test": Chosen,
        "finding": Finding,
        "conclusion": Concluded,
    }
    return kinds[fields["kind"]].model_validate(fields)


def _numbers(count: int) -> list[str]:
    return [str(number) for number in range(1, count + 1)]


def _without_second(row: _Row) -> None:
    if row.second_answer:
        _one_of("second_answer", row.second_answer, ["nothing"])


def _number(row: _Row, asked: NumberKey) -> dict[str, Any]:
    _without_second(row)
    try:
        read = read_quantity(row.answer, asked.unit)
    except QuantityError as error:
        raise _RowError(f"answer: {str(error).rstrip('.')}") from error
    if isinstance(read, Ambiguous):
        raise _RowError(
            f"answer “{read.raw}” can be read in two ways; allowed: "
            f"{' or '.join(read.readings)}"
        )
    return {
        "item": asked.id,
        "raw": read.raw,
        "value": read.value,
        "unit": read.unit,
    }


def _prediction(row: _Row, record: KeyRecord) -> dict[str, Any]:
    number = _one_of("item", row.item, _numbers(len(record.predictions)))
    return _number(row, record.predictions[int(number) - 1])


def _verification(row: _Row, record: KeyRecord) -> dict[str, Any]:
    if row.item:
        _one_of("item", row.item, ["nothing"])
    return _number(row, record.verification)


def _test_of(row: _Row, record: KeyRecord) -> TestKey:
    number = _one_of("item", row.item, _numbers(len(record.tests)))
    return record.tests[int(number) - 1]


def _test(row: _Row, record: KeyRecord) -> dict[str, Any]:
    test = _test_of(row, record)
    _without_second(row)
    expected = _one_of("answer", row.answer.lower(), test.outcomes)
    return {"item": test.id, "expected": expected}


def _finding(row: _Row, record: KeyRecord) -> dict[str, Any]:
    test = _test_of(row, record)
    return {
        "item": test.id,
        "outcome": _one_of("answer", row.answer.lower(), test.outcomes),
        "statement": _one_of(
            "second_answer",
            row.second_answer.lower(),
            [statement.id for statement in test.statements],
        ),
    }


def _conclusion(row: _Row, record: KeyRecord) -> dict[str, Any]:
    if row.item:
        _one_of("item", row.item, ["nothing"])
    causes = [cause.id for cause in record.causes]
    corrections = [option.id for option in record.corrections]
    return {
        "item": "conclusion",
        "cause": _one_of("answer", row.answer.lower(), causes),
        "correction": _one_of("second_answer", row.second_answer.lower(), corrections),
    }


_ENTRY_OF = {
    "prediction": _prediction,
    "test": _test,
    "finding": _finding,
    "conclusion": _conclusion,
    "verification": _verification,
}
