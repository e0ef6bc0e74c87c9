"""What was written on paper and typed in afterwards is read strictly, and graded."""

import csv
import io

import pytest

from answer_keys.errors import RefusedError
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.hand_ins.typed_answers import typed_hand_ins
from answer_keys.hand_ins.typed_table import COLUMNS
from answer_keys.marking.exercise_marks import grade_exercise
from answer_keys.reports.report import class_in
from generator.grading.class_grading import grade_into
from tests.answer_keys.samples import (
    ROSTER,
    RUBRIC,
    SET_ID,
    TEST_IDS,
    Writer,
    sample_key,
    work_through,
)
from workbook.record.progress import replay
from workbook.texts import _, speaking

KEY = sample_key()
RECORD = KEY.of_student("s01")[1]


def steps_of(record, student="s01", place=1):
    """One test, then the right conclusion, as rows from the exercise on."""
    test = record.tests[place]
    cause = next(c.id for c in record.causes if c.fault == record.fault.id)
    repair = next(c.id for c in record.corrections if c.repair == record.fault.repair)
    numbers = [("prediction", n, "0,165 A", "") for n in (1,)]
    steps = [
        *numbers,
        ("test", place + 1, test.sound_outcome, ""),
        ("finding", place + 1, test.outcome.upper(), test.statement),
        ("conclusion", "", cause, repair),
        ("verification", "", "16.5 A", ""),
    ]
    return [(SET_ID, student, record.exercise, *step) for step in steps]


def table(rows, separator=",", encoding="utf-8"):
    """The bytes of a table."""
    file = io.StringIO()
    csv.writer(file, delimiter=separator).writerows([COLUMNS, *rows])
    return file.getvalue().encode(encoding)


def refusal(data, key=KEY):
    """Why a table is refused."""
    with pytest.raises(RefusedError) as caught:
        typed_hand_ins("typed.csv", data, key)
    return caught.value.reason


@pytest.mark.parametrize("separator", [",", ";"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_table_of_any_spreadsheet_is_read(separator, encoding):
    """Comma or semicolon, byte order mark or none, decimal comma: the same work."""
    data = table(steps_of(RECORD), separator, encoding)
    (hand_in,) = typed_hand_ins("typed.csv", data, KEY)
    progress = replay(hand_in.entries)[1]
    (predicted,) = progress.predictions.values()
    assert (predicted.raw, predicted.value) == ("0,165 A", 0.165)
    assert progress.tests[0].item == RECORD.tests[1].id
    assert progress.tests[0].outcome == RECORD.tests[1].outcome
    assert progress.cause
    assert progress.verification.value == 16.5


def test_typed_work_gets_the_marks_of_the_workbook():
    """The same steps on paper and on the page are worth the same."""
    writer = Writer()
    work_through(writer, RECORD, TEST_IDS[:3])
    work = replay(read_hand_in("page.jsonl", writer.bytes()).entries)[1]
    rows = []
    places = {test.id: n for n, test in enumerate(RECORD.tests, 1)}
    for n, asked in enumerate(RECORD.predictions, 1):
        rows.append(("prediction", n, work.predictions[asked.id].raw, ""))
    for done in work.tests:
        rows.append(("test", places[done.item], done.expected, ""))
        rows.append(("finding", places[done.item], done.outcome, done.statement))
    rows.append(("conclusion", "", work.cause, work.correction))
    rows.append(("verification", "", work.verification.raw, ""))
    data = table([(SET_ID, "s01", 1, *row) for row in rows])
    (hand_in,) = typed_hand_ins("typed.csv", data, KEY)
    progress = replay(hand_in.entries)[1]
    assert progress == work
    marks = [grade_exercise(RECORD, each, RUBRIC) for each in (progress, work)]
    assert marks[0] == marks[1]


def test_sum_on_paper_is_worked_out_as_on_the_page():
    """One grammar for both."""
    rows = [list(row) for row in steps_of(RECORD)]
    rows[0][5] = "13,2 V / 80 Ω"
    (hand_in,) = typed_hand_ins("typed.csv", table(rows), KEY)
    (predicted,) = replay(hand_in.entries)[1].predictions.values()
    assert (predicted.raw, predicted.value) == ("13,2 V / 80 Ω", 0.165)


def test_finding_without_a_number_is_of_the_test_before_it():
    """The printed table leaves it empty: a test and its finding stand together."""
    rows = [list(row) for row in steps_of(RECORD)]
    assert rows[2][3] == "finding"
    blank = [[*row[:4], "", *row[5:]] if row[3] == "finding" else row for row in rows]
    read, own = (
        typed_hand_ins("typed.csv", table(each), KEY)[0].sha256
        for each in (blank, rows)
    )
    assert read == own


def test_one_fault_is_told_once():
    """What follows on a step that is at fault is no fault of its own."""
    rows = [list(row) for row in steps_of(RECORD)]
    rows[1][5] = "sideways"
    with pytest.raises(RefusedError) as caught:
        typed_hand_ins("typed.csv", table(rows), KEY)
    assert caught.value.reason.count("Row ") == 1
    assert "Row 3: answer is “sideways”" in caught.value.reason


def test_outcomes_are_read_in_the_language_of_the_handout():
    """Whoever was given German paper writes German words, and typed are those."""
    german = list(map(list, steps_of(RECORD)))
    with speaking("de"):
        for row in german[1:3]:
            row[5] = _(row[5].lower()).upper()
    assert german != list(map(list, steps_of(RECORD)))
    read, own = (
        typed_hand_ins("typed.csv", table(rows), KEY)[0].sha256
        for rows in (german, steps_of(RECORD))
    )
    assert read == own


def test_each_student_of_a_table_is_accounted_for(tmp_path):
    """One table holds a class; a workbook's hand-in counts before typed answers."""
    rows = steps_of(RECORD) + steps_of(KEY.of_student("s02")[1], "s02")
    (tmp_path / "typed.csv").write_bytes(table(rows))
    writer = Writer()
    work_through(writer, RECORD, TEST_IDS[:1])
    (tmp_path / "page.jsonl").write_bytes(writer.bytes())
    with Gradebook("sqlite://") as book:
        grade_into(book, KEY, dict(ROSTER), RUBRIC, tmp_path)
        result = class_in(book, KEY, ROSTER)
    became = {one.name: one.status for one in result.receipts}
    assert became == {
        "page.jsonl": "graded",
        "typed.csv/s01": "superseded",
        "typed.csv/s02": "graded",
    }
    assert result.students[1].exercises[0].named_cause


def test_hand_in_of_a_student_hangs_on_own_rows_only():
    """What others get typed later makes no second grading."""
    rows = steps_of(RECORD)
    (alone,) = typed_hand_ins("a.csv", table(rows), KEY)
    more = table(rows + steps_of(KEY.of_student("s02")[1], "s02"))
    assert typed_hand_ins("a.csv", more, KEY)[0].sha256 == alone.sha256


def test_rows_without_an_answer_are_left_out():
    """The empty table that is given out may be filled in part."""
    rows = [(SET_ID, "s01", 1, "prediction", 1, "", ""), *steps_of(RECORD)[:1], ()]
    (hand_in,) = typed_hand_ins("typed.csv", table(rows), KEY)
    assert len(hand_in.entries) == 1
    assert "holds no answer" in refusal(table(rows[:1]))


@pytest.mark.parametrize(
    ("step", "said"),
    [
        (("zzzz", "s01", 1, "test", 1, "yes", ""), f"set is “zzzz”. Write {SET_ID}"),
        (
            (SET_ID, "s09", 1, "test", 1, "yes", ""),
            "“s09”. Write one of s01",
        ),
        ((SET_ID, "s01", 7, "test", 1, "yes", ""), "exercise is “7”. Write one of 1"),
        ((SET_ID, "s01", 1, "guess", 1, "yes", ""), "Write one of prediction, test"),
        (
            (SET_ID, "s01", 1, "test", 99, "yes", ""),
            "“99”. Write one of 1, 2, 3",
        ),
        (
            (SET_ID, "s01", 1, "test", 1, "maybe", ""),
            "“maybe”. Write one of yes",
        ),
        ((SET_ID, "s01", 1, "finding", 1, "yes", "x9"), "second_answer is “x9”"),
        ((SET_ID, "s01", 1, "finding", 1, "yes", "nothing"), "is not due here"),
        ((SET_ID, "s01", 1, "conclusion", "", "c99", "r01"), "answer is “c99”"),
        ((SET_ID, "s01", 1, "prediction", 1, "12", ""), "Write the unit too"),
        ((SET_ID, "s01", 1, "prediction", 1, "1,234 A", ""), "1.2340 A or 1234 A"),
        ((SET_ID, "s01", 1, "prediction", 1, "170 MA", ""), "170 mA or 170000000 A"),
        ((SET_ID, "s01", 1, "prediction", 1, "1 A", "2"), "“2”. Write nothing"),
        ((SET_ID, "s01", 1, "prediction", 1, "1\u202e A", ""), "hidden characters"),
        ((SET_ID, "s01", 1, "prediction", 1, "0", "165 A", ""), "into quotes"),
    ],
)
def test_row_at_fault_is_told_with_what_to_write(step, said):
    """Row 3 of the file is named, and nothing of the file counts."""
    reason = refusal(table([steps_of(RECORD)[0], step]))
    assert reason.startswith("Row 3: ")
    assert said in reason


def test_all_rows_at_fault_are_told():
    """One look at the refusal is enough to mend the file."""
    bad = (SET_ID, "s01", 1, "guess", 1, "yes", "")
    reason = refusal(table([bad] * 70))
    assert [line.split(":")[0] for line in reason.split("\n")[:2]] == ["Row 2", "Row 3"]
    assert reason.endswith("And 20 more.")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "Row 1: the columns are not those"),
        (b"name,mark\nx,1\n", "Write set, student, exercise, step, item"),
        (
            b"\x89PNG\r\n\0\xff",
            "Save the table as CSV",
        ),
        (table([]) + b'a,"b' + b"\n", "cannot be split into columns"),
        (table([]) + b"," * 9_000, "longer than 8,000 bytes"),
        (table([]) + b"\n" * 60_000, "more than 50,000 rows"),
        (b"x" * 2_000_001, "larger than 2,000,000 bytes"),
    ],
)
def test_file_that_is_no_such_table_is_refused(data, said):
    """The reason says what to do."""
    assert said in refusal(data)
