"""A table of answers that were written on paper, row by row, as a journal's entries.

One row a step, in the order in which the student went. Tests, predictions and questions
go by their number on the handout, which is their place in the answer key, and options
by their letter.
"""

from __future__ import annotations

import hashlib
import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

import msgspec

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import NEVER, HandIn
from answer_keys.hand_ins.hand_in_lines import entry_from
from answer_keys.hand_ins.typed_table import Row, rows_of
from answer_keys.keys.answer_key import AnswerKey
from answer_keys.keys.key_questions import NumberKey, QuestionKey
from answer_keys.keys.key_record import KeyRecord, TestKey
from answer_keys.keys.wording import letter_of
from answer_keys.visible_text import visible
from workbook.errors import QuantityError
from workbook.quantities import Ambiguous, read_quantity
from workbook.record.entries import Entry
from workbook.record.progress import MAX_LINE_LENGTH, ExerciseProgress, after
from workbook.texts import LANGUAGES, _, speaking

SOFTWARE = "typed answers"
_MOST_FAULTS = 50
_Asked = TypeVar("_Asked")
# Paper has no clock: rows keep their order by number, and hand-ins are newer.
_TIME = "2000-01-01T00:00:00Z"


def _in_table(row: Row) -> str:
    return _("Row {number}").format(number=row.number)


def typed_hand_ins(
    name: str, data: bytes, key: AnswerKey, place: Callable[[Row], str] = _in_table
) -> tuple[HandIn, ...]:
    """Read a table of typed answers, as one hand-in a student.

    Parameters
    ----------
    name : str
        Name of the file; each hand-in is called ``name/student``.
    data : bytes
        CSV in UTF-8, with commas or semicolons between.
    place : callable
        Says where a row's answer stands, for whoever typed it in.

    Returns
    -------
    tuple of HandIn
        In the order in which the students first come up.

    Raises
    ------
    RefusedError
        With every fault of the file, each with its row and what to write.
    """
    rows, faults = rows_of(data)
    reader = _Reader(key=key, faults=faults, place=place)
    for row in rows:
        reader.take(row)
    if reader.faults:
        raise RefusedError(_listed(reader.faults))
    if not reader.entries:
        raise RefusedError(_("The table holds no answer. Type in one or more."))
    return tuple(
        HandIn(
            name=visible(f"{name}/{student}"),
            # Of this student's answers: the rows of others change nothing.
            sha256=hashlib.sha256(msgspec.json.encode([student, entries])).hexdigest(),
            set_id=key.set_id,
            student=student,
            edition=key.edition,
            mode=key.mode,
            software=SOFTWARE,
            entries=tuple(entries),
            notices=(),
            is_unbroken=True,
            newest=NEVER,
            trail={},
        )
        for student, entries in reader.entries.items()
    )


def _listed(faults: Sequence[str]) -> str:
    more = len(faults) - _MOST_FAULTS
    tail = [_("And {more} more.").format(more=more)] if more > 0 else []
    return "\n".join([*faults[:_MOST_FAULTS], *tail])


class _Reader:
    """Takes rows one by one, and keeps what each student has done so far."""

    def __init__(
        self, *, key: AnswerKey, faults: list[str], place: Callable[[Row], str]
    ) -> None:
        self.key = key
        self.faults = faults
        self._place = place
        self.entries: defaultdict[str, list[Entry]] = defaultdict(list)
        self._progress: dict[tuple[str, int], ExerciseProgress] = {}
        # By student and exercise as they are typed: the test that was done last, and
        # where a fault makes more of them that are none.
        self._last_test: dict[tuple[str, str], str] = {}
        self._faulty: set[tuple[str, str]] = set()

    def take(self, row: Row) -> None:
        """Take one row; one without any answer was left empty."""
        if not (row.answer or row.second_answer):
            return
        place, step = (row.student, row.exercise), row.step.lower()
        if step == "test":
            self._last_test[place] = row.item
        elif step == "finding" and not row.item:
            row = replace(row, item=self._last_test.get(place, ""))
        try:
            self._add(row)
        except RowError as error:
            # Once a row is at fault, those behind it lack it: one mistake is told once.
            if not (isinstance(error, NotDueError) and place in self._faulty):
                self.faults.append(f"{self._place(row)}: {error}.")
            self._faulty.add(place)

    def _add(self, row: Row) -> None:
        record = self._record(row)
        fields = fields_of(row, record)
        entries = self.entries[record.student]
        common = {"seq": len(entries) + 1, "time": _TIME, "prev": "-"}
        entry = entry_from({**common, "exercise": record.exercise, **fields})
        place = record.student, record.exercise
        before = self._progress.get(place, record.start)
        progress = after(before, entry)
        if progress is before:
            raise NotDueError(
                _(
                    "the {kind} is not due here. Write predictions before the "
                    "first test, each test once with its finding after it, then "
                    "one conclusion and one verification, without what the "
                    "handout has done already; or each question once"
                ).format(kind=entry.kind)
            )
        self._progress[place] = progress
        entries.append(entry)

    def _record(self, row: Row) -> KeyRecord:
        one_of("set", row.set, [self.key.set_id])
        one_of("student", row.student, sorted(self.key.students))
        records = self.key.of_student(row.student)
        number = one_of("exercise", row.exercise, [str(n) for n in sorted(records)])
        return records[int(number)]


class RowError(Exception):
    """What is wrong with one row, and what to write."""


class NotDueError(RowError):
    """A step that does not follow on those before it."""


def fields_of(row: Row, record: KeyRecord) -> dict[str, Any]:
    """Read the step of a row, and what the entry of a journal holds of it.

    Parameters
    ----------
    record : KeyRecord
        Of the row's student and exercise.

    Raises
    ------
    RowError
        Where step, item or an answer is none that the exercise has.
    """
    steps = {"answer": _answer} if record.questions else _DIAGNOSIS
    step = one_of("step", row.step.lower(), list(steps))
    return {"kind": step, **steps[step](row, record)}


def one_of(column: str, found: str, known: Sequence[str]) -> str:
    """Return what was found in a column, or say what to write there."""
    if found not in known:
        shown = ", ".join(known[:30]) + (" ..." if len(known) > 30 else "")
        said = (
            _("{column} is “{found}”. Write one of {shown}")
            if len(known) > 1
            else _("{column} is “{found}”. Write {shown}")
        )
        raise RowError(
            said.format(column=column, found=visible(found, 60), shown=shown)
        )
    return found


def _item_of(row: Row, asked: Sequence[_Asked]) -> _Asked:
    """Find what a row is about by its number."""
    numbers = [str(number) for number in range(1, len(asked) + 1)]
    return asked[int(one_of("item", row.item, numbers)) - 1]


def _nothing(column: str, found: str) -> None:
    if found:
        one_of(column, found, [_("nothing")])


def _number(row: Row, asked: NumberKey) -> dict[str, Any]:
    _nothing("second_answer", row.second_answer)
    try:
        read = read_quantity(row.answer, asked.unit)
    except QuantityError as error:
        raise RowError(f"answer: {str(error).rstrip('.')}") from error
    if isinstance(read, Ambiguous):
        raise RowError(
            _("answer “{raw}” can be read in two ways. Write {readings}").format(
                raw=read.raw, readings=_(" or ").join(read.readings)
            )
        )
    return {
        "item": asked.id,
        "raw": read.raw,
        "value": read.value,
        "unit": read.unit,
    }


def _prediction(row: Row, record: KeyRecord) -> dict[str, Any]:
    return _number(row, _item_of(row, record.predictions))


def _verification(row: Row, record: KeyRecord) -> dict[str, Any]:
    _nothing("item", row.item)
    return _number(row, record.verification)


def _test(row: Row, record: KeyRecord) -> dict[str, Any]:
    test = _item_of(row, record.tests)
    _nothing("second_answer", row.second_answer)
    return {"item": test.id, "expected": _outcome(row, test)}


def _outcome(row: Row, test: TestKey) -> str:
    """Take the word of an outcome, in any language that a handout can be in."""
    words = {word: word for word in test.outcomes}
    for spoken in LANGUAGES:
        with speaking(spoken):
            words |= {_(word).lower(): word for word in test.outcomes}
    typed = row.answer.lower()
    return words.get(typed) or one_of("answer", typed, test.outcomes)


def _finding(row: Row, record: KeyRecord) -> dict[str, Any]:
    test = _item_of(row, record.tests)
    ids = [statement.id for statement in test.statements]
    statement = one_of("second_answer", row.second_answer.lower(), ids)
    return {"item": test.id, "outcome": _outcome(row, test), "statement": statement}


def _conclusion(row: Row, record: KeyRecord) -> dict[str, Any]:
    _nothing("item", row.item)
    causes = [cause.id for cause in record.causes]
    corrections = [option.id for option in record.corrections]
    return {
        "item": "conclusion",
        "cause": one_of("answer", row.answer.lower(), causes),
        "correction": one_of("second_answer", row.second_answer.lower(), corrections),
    }


def _answer(row: Row, record: KeyRecord) -> dict[str, Any]:
    """Take the answer to a question by its number."""
    question = _item_of(row, record.questions)
    if question.number is not None:
        return {**_number(row, question.number), "item": question.id}
    _nothing("second_answer", row.second_answer)
    if question.kind == "lines":
        return {"item": question.id, "lines": _lines(row.answer, question)}
    return {"item": question.id, **_lettered(row.answer.lower(), question)}


def _lines(answer: str, question: QuestionKey) -> list[str]:
    lines = [line.strip() for line in answer.split("|")]
    labels = [one.label for one in question.lines]
    is_short = all(0 < len(line) <= MAX_LINE_LENGTH for line in lines)
    if len(lines) != len(labels) or not is_short:
        raise RowError(
            _(
                "answer has {lines} lines. Write {labels}, each of 1 to {most} "
                "characters"
            ).format(lines=len(lines), labels=" | ".join(labels), most=MAX_LINE_LENGTH)
        )
    return lines


def _lettered(answer: str, question: QuestionKey) -> dict[str, Any]:
    """Read a letter, or all letters in their order, whatever stands between them."""
    ids = {letter_of(n): one.id for n, one in enumerate(question.options, start=1)}
    if question.kind == "choice":
        return {"choice": ids[one_of("answer", answer, list(ids))]}
    letters = re.findall(r"\w", answer)
    if sorted(letters) != list(ids):
        raise RowError(
            _(
                "answer is “{answer}”. Write each of {ids} once, in the student's order"
            ).format(answer=visible(answer, 60), ids=" ".join(ids))
        )
    return {"order": [ids[letter] for letter in letters]}


_DIAGNOSIS: Mapping[str, Callable[[Row, KeyRecord], dict[str, Any]]] = {
    "prediction": _prediction,
    "test": _test,
    "finding": _finding,
    "conclusion": _conclusion,
    "verification": _verification,
}
