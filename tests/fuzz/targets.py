"""What is fuzzed: each takes any bytes, and may refuse them but never fail."""

import io
import json
import unicodedata
import zipfile

from answer_keys.errors import RefusedError
from answer_keys.gradebook.senders import Senders
from answer_keys.hand_ins.belonging import check_belongs
from answer_keys.hand_ins.continuation import goes_on_from, heads_of
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.hand_ins.typed_answers import typed_hand_ins
from answer_keys.hand_ins.typed_table import COLUMNS
from answer_keys.hand_ins.zip_members import Budget, members_of
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.marking.marked import entries_in, packed
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.visible_text import visible
from tests.answer_keys.samples import (
    ROSTER,
    SET_ID,
    TEST_IDS,
    Writer,
    sample_key,
    work_through,
)
from workbook.errors import QuantityError
from workbook.number_text import quantity_text
from workbook.quantities import Ambiguous, read_quantity
from workbook.record.progress import replay

KEY = sample_key()
RUBRIC = rubric_from_text(rubric_text())
SENDERS = Senders(dict(ROSTER))
PATHS = ("class.zip/Ferrant_Jonas_12/hand-in-k7m2q-s01.jsonl", "s03/Mira Aldeen/a")
RECORDS = KEY.of_student("s01")
NUMBERS = ("12.5 A", "0,165 A", "12 500 mA", "4k7", "1.2e-3 A", "1,234 A", "−16 mV")


def _check_told(reason):
    """A refusal says why, in signs that show, and spaces of any width."""
    assert reason.strip()
    signs = set(reason) - {"\n"}
    assert all(one.isprintable() or unicodedata.category(one) == "Zs" for one in signs)


def hand_in(data):
    """Read, check and grade one hand-in, as the command does."""
    try:
        read = read_hand_in("a.jsonl", data)
        check_belongs(read, KEY, {"s01"})
    except RefusedError as error:
        _check_told(error.reason)
        return
    heads = heads_of(read.trail)
    assert sum(count for count, _ in heads.values()) == len(read.entries)
    assert goes_on_from(read.trail, heads)
    assert entries_in(packed(read.entries)) == read.entries
    progress = replay(read.entries)
    for number, record in RECORDS.items():
        if number in progress:
            for step in grade_exercise(record, progress[number], RUBRIC).steps:
                assert 0 <= step.mark <= step.out_of + 1e-9
                json.dumps([step.reason, step.answer]).encode("ascii")


def archive(data):
    """Read every member of an archive."""
    budget = Budget(left=3_000_000)
    try:
        for member in members_of(data, budget):
            if member.refusal is None:
                hand_in(member.data)
    except RefusedError as error:
        _check_told(error.reason)
    assert budget.left >= 0


def table(data):
    """Read a table of typed answers."""
    try:
        typed_hand_ins("a.csv", data, KEY)
    except RefusedError as error:
        _check_told(error.reason)


def number(data):
    """Read a number, and what is echoed of it again: it means the same."""
    text = data.decode("utf-8", "surrogatepass" if len(data) % 2 else "replace")
    for unit in ("A", "V", "Ω"):
        try:
            read = read_quantity(text, unit)
            if isinstance(read, Ambiguous):
                for one in read.readings:
                    assert not isinstance(read_quantity(one, unit), Ambiguous)
                continue
            again = read_quantity(quantity_text(read.value, unit), unit)
        except QuantityError as error:
            # It quotes what was typed, for whom has typed it.
            _check_told(str(error).replace(text.strip(), ""))
            continue
        if not isinstance(again, Ambiguous):
            assert again.value == read.value


def path(data):
    """Look whom a path names: a part of it, and never the student."""
    text = visible(data.decode("utf-8", "replace"))
    sign = SENDERS.other_than("s01", text)
    if sign is not None:
        assert sign.part in text.split("/")
        assert sign.student != "s01"


TARGETS = (hand_in, archive, table, number, path)


def on(data):
    """Let the first byte choose the target."""
    if data:
        try:
            TARGETS[data[0] % len(TARGETS)](data[1:])
        except UnicodeDecodeError:
            if data[0] % len(TARGETS) != TARGETS.index(number):
                raise


def seeds():
    """Sound inputs of each target, to be bent."""
    writer = Writer()
    work_through(writer, RECORDS[1], TEST_IDS[:2])
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("a.jsonl", writer.bytes())
    row = f"{SET_ID},s01,1,prediction,1,16.5 A,\n{SET_ID},s01,1,test,2,yes,\n"
    lines = f"{','.join(COLUMNS)}\n{row}"
    yield b"\0" + writer.bytes()
    yield b"\0" + b"".join(line + b"\n" for line in writer.lines[:3])
    yield b"\1" + file.getvalue()
    yield b"\2" + lines.encode()
    for text in NUMBERS:
        yield b"\3" + text.encode()
    for text in PATHS:
        yield b"\4" + text.encode()
