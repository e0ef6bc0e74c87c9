"""Which hand-in counts, what a late one loses, and marks set by hand."""

import os
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
from markupsafe import escape

from answer_keys.errors import OverridesError, RubricError
from answer_keys.gradebook.gradebook import Gradebook
from answer_keys.gradebook.overrides import read_overrides
from answer_keys.gradebook.standings import Override, with_overrides
from answer_keys.marking.marks import ExerciseMarks, StepMark
from answer_keys.marking.policy import POLICY_TEXT
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from answer_keys.reports.report import class_in
from answer_keys.reports.sheet import student_sheet
from generator.grading.class_grading import grade_into
from tests.answer_keys.samples import (
    ROSTER,
    SET_ID,
    TEST_IDS,
    Writer,
    sample_key,
    work_through,
)
from workbook.no_break import keep_units

KEY = sample_key()
NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
AFTER = NOON + timedelta(days=60)
DEADLINE = "deadline = 2026-12-01T13:00:00+01:00\n"


def rubric(text=""):
    """The rubric with a table about hand-ins."""
    return rubric_from_text(f"{rubric_text()}\n[hand_ins]\n{text}")


def hand_in(folder, name, *, care=1.0, exercises=1, began=NOON, came=NOON):
    """Hand in work that began at one time and came at another."""
    writer = Writer(start=began)
    for number in range(1, exercises + 1):
        record = KEY.of_student("s01")[number]
        work_through(writer, record, TEST_IDS[2:3], care=care)
    path = folder / name
    path.write_bytes(writer.bytes())
    os.utime(path, (came.timestamp(), came.timestamp()))


def graded(folder, rules, book=None, at=AFTER):
    """Receipts by name, and the result of the first student."""
    with book or Gradebook("sqlite://") as book:
        grade_into(book, KEY, dict(ROSTER), rules, folder, at=at)
        result = class_in(book, KEY, ROSTER)
    return {one.name: one for one in result.receipts}, result


def counting(receipts):
    """Name of the file that counts."""
    return [name for name, one in receipts.items() if one.status == "graded"]


@pytest.fixture
def several(tmp_path):
    """One work, handed in early, once more, and with more of it after the deadline."""
    began, late = NOON - timedelta(days=2), NOON + timedelta(days=1, hours=1)
    hand_in(tmp_path, "1-early", exercises=1, began=began)
    hand_in(tmp_path, "2-later", exercises=2, began=began)
    hand_in(tmp_path, "3-late", exercises=3, began=began, came=late)
    return tmp_path


@pytest.mark.parametrize(
    ("rules", "counts", "why"),
    [
        ("", "3-late", {"1-early": "Older than", "2-later": "Older than"}),
        (DEADLINE, "2-later", {"3-late": "Came after the deadline, unlike"}),
        ('counts = "first"\n', "1-early", {"3-late": "Newer than"}),
        (
            f'counts = "best"\nlate_percent_per_day = 50\n{DEADLINE}',
            "2-later",
            {"1-early": "Not better than", "3-late": "Not better than"},
        ),
    ],
)
def test_rule_chooses_and_says_why(several, rules, counts, why):
    """The last in time, the first, or the best; the others are told why not."""
    receipts, _ = graded(several, rubric(rules))
    assert counting(receipts) == [counts]
    for name, words in why.items():
        assert receipts[name].reason == f"{words} {counts}."


@pytest.mark.parametrize(
    ("after", "at_most", "days", "percent"),
    [
        (timedelta(0), 50, 0, 0),
        (timedelta(seconds=1), 50, 1, 10),
        (timedelta(days=1), 50, 1, 10),
        (timedelta(days=2, seconds=1), 50, 3, 30),
        (timedelta(days=30), 50, 30, 50),
    ],
)
def test_late_work_loses_for_each_day_begun(tmp_path, after, at_most, days, percent):
    """Up to a limit; the deduction is on the total alone, and is told."""
    hand_in(tmp_path, "a", came=NOON + after)
    text = f"late_percent_per_day = 10\nlate_percent_at_most = {at_most}\n"
    receipts, result = graded(tmp_path, rubric(DEADLINE + text))
    student = result.students[0]
    assert (student.late_days, student.deducted_percent) == (days, percent)
    marks = sum(one.marks.mark for one in student.exercises)
    assert student.total == pytest.approx(marks * (1 - percent / 100))
    assert (f"minus {percent} %" in receipts["a"].reason) == bool(days)


def test_file_fetched_again_came_no_later(tmp_path):
    """The first time that a hand-in was seen holds, whatever its file says later."""
    place = tmp_path / "book.sqlite"
    folder = tmp_path / "handed-in"
    folder.mkdir()
    for came in (NOON, NOON + timedelta(days=9)):
        hand_in(folder, "a", came=came)
        receipts, _ = graded(folder, rubric(DEADLINE), Gradebook(place))
        assert receipts["a"].reason == ""


@pytest.mark.parametrize(
    ("clock", "is_late"), [("file", True), ("archive", False), ("student", True)]
)
def test_clock_is_the_one_that_the_instructor_names(tmp_path, clock, is_late):
    """By default the file's; a platform's stamp or the student's only where said."""
    began = NOON + timedelta(days=2)
    writer = Writer(start=began)
    work_through(writer, KEY.of_student("s01")[1], TEST_IDS[:1])
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as packed:
        # Times in archives have no zone: they are this machine's.
        stamp = (NOON - timedelta(hours=1)).astimezone()
        packed.writestr(
            zipfile.ZipInfo("a.jsonl", stamp.timetuple()[:6]), writer.bytes()
        )
    came = NOON + timedelta(days=1)
    os.utime(tmp_path / "a.zip", (came.timestamp(), came.timestamp()))
    _, result = graded(tmp_path, rubric(f'{DEADLINE}clock = "{clock}"\n'))
    assert bool(result.students[0].late_days) == is_late


def test_stamp_in_a_students_own_archive_is_not_the_platforms(tmp_path):
    """Of archives in archives the outermost tells the time."""
    inner = tmp_path / "in.zip"
    with zipfile.ZipFile(inner, "w") as packed:
        packed.writestr(
            zipfile.ZipInfo("a.jsonl", (2000, 1, 1, 0, 0, 0)), Writer().bytes()
        )
    folder = tmp_path / "handed-in"
    folder.mkdir()
    with zipfile.ZipFile(folder / "class.zip", "w") as packed:
        stamp = (NOON + timedelta(days=1)).astimezone().timetuple()[:6]
        packed.writestr(zipfile.ZipInfo("in.zip", stamp), inner.read_bytes())
    _, result = graded(folder, rubric(f'{DEADLINE}clock = "archive"\n'))
    assert result.students[0].late_days == 1


def test_deadline_without_an_offset_is_this_machines_time():
    """As the clock on the instructor's wall."""
    rules = rubric("deadline = 2026-12-01T18:00:00\n").policy
    assert rules.deadline == datetime(2026, 12, 1, 18).astimezone()


def test_every_fault_of_the_rules_is_told_with_its_line():
    """What stands there and what to write."""
    text = (
        'counts = "newest"\ndeadline = 2026-12-01\nlate_percent_per_day = -1\n'
        "late_percent_at_most = true\nclock = 3\ngrace = 1\n"
    )
    with pytest.raises(RubricError) as caught:
        rubric_from_text(f"[hand_ins]\n{text}{rubric_text()}")
    told = str(caught.value)
    for line, word in enumerate(text.splitlines(), 2):
        assert f"line {line}: " in told
        assert repr(word.split(" ")[0]) in told or word.split(" ")[0] in told
    with pytest.raises(RubricError, match="hand_ins: 1 is no table"):
        rubric_from_text(f"hand_ins = 1\n{rubric_text()}")


def test_rules_that_a_new_set_shows_can_be_taken_as_they_are():
    """With the # taken away they are allowed, and without they change nothing."""
    own = POLICY_TEXT.replace("# ", "", 2).splitlines()
    text = "\n".join(
        line.removeprefix("# ") for line in own if line.startswith("# ") and "=" in line
    )
    assert rubric(text).policy.late_percent_per_day == 10
    plain = rubric_from_text(f"{rubric_text()}\n{POLICY_TEXT}")
    assert plain == rubric_from_text(rubric_text())


def table(folder, text):
    """A table of marks set by hand."""
    path = folder / "overrides.csv"
    path.write_text(f"student,exercise,step,mark,reason\n{text}", encoding="utf-8")
    return path


def test_mark_set_by_hand_stands_beside_the_one_computed(tmp_path):
    """The sheet has both, with the reason; taking it back brings the old mark."""
    folder = tmp_path / "handed-in"
    folder.mkdir()
    hand_in(folder, "a", care=0.5)
    place = tmp_path / "book.sqlite"
    rules = rubric()
    _, before = graded(folder, rules, Gradebook(place))
    path = table(tmp_path, "s01,1,cause,12.5,told me at the bench\n")
    (override,) = read_overrides(path, KEY, rules)
    with Gradebook(place) as book:
        book.override(SET_ID, [override], NOON)
    _, after = graded(folder, rules, Gradebook(place))
    student = after.students[0]
    computed = sum(m.mark for m in before.students[0].exercises[0].of_step("cause"))
    assert student.total == pytest.approx(before.students[0].total + 12.5 - computed)
    sheet = student_sheet(after, student, KEY.of_student("s01"))
    assert "told me at the bench" in sheet
    assert sheet.count("Set by your instructor") == 1
    (cause, _) = student.exercises[0].of_step("cause")
    assert sheet.count(f"<td>{keep_units(escape(cause.reason))}</td>") == 1
    with Gradebook(place) as book:
        (taken_back,) = read_overrides(table(tmp_path, "s01,1,cause,,no\n"), KEY, rules)
        book.override(SET_ID, [taken_back], NOON)
    _, again = graded(folder, rules, Gradebook(place))
    assert again.students[0].total == before.students[0].total


def test_table_of_marks_is_read_as_spreadsheets_write_it(tmp_path):
    """Semicolons, decimal commas, a byte order mark, empty rows."""
    path = tmp_path / "o.csv"
    text = "\ufeffStudent;Exercise;Step;Mark;Reason\n s01 ;1;Cause;7,5;oral; \n;;;;\n"
    path.write_text(text.replace("oral; ", "oral"), encoding="utf-8")
    assert read_overrides(path, KEY, rubric()) == (
        Override(
            student="s01",
            exercise=1,
            step="cause",
            mark=7.5,
            out_of=20.0,
            reason="oral",
        ),
    )


def test_written_lines_get_the_marks_that_the_instructor_gives():
    """Nothing marks them by itself, so that what they carry comes with the mark."""
    line = StepMark(
        step="questions",
        item="note.cause",
        title="Cause",
        mark=0.0,
        out_of=0.0,
        reason="Compare.",
    )
    exercise = ExerciseMarks(exercise=2, steps=(line,))
    override = Override(
        student="s01",
        exercise=2,
        step="questions",
        mark=70.0,
        out_of=100.0,
        reason="names the part",
    )
    (marked,) = with_overrides([exercise], [override])
    assert (marked.mark, marked.out_of) == (70.0, 100.0)


def test_every_fault_of_a_table_of_marks_is_told(tmp_path):
    """With its row and what to write; nothing of it is taken."""
    path = table(
        tmp_path,
        "s99,1,cause,1,x\ns01,9,cause,1,x\ns01,1,charm,1,x\ns01,1,cause,21,x\n"
        "s01,1,cause,nan,x\ns01,1,cause,1,\ns01,1\n",
    )
    with pytest.raises(OverridesError) as caught:
        read_overrides(path, KEY, rubric())
    told = str(caught.value)
    for words in (
        "line 2: student “s99” is not in the answer key",
        "line 3: there is no exercise “9”. Write one of 1, 2, 3",
        "line 4: there is no step “charm”. Write one of predictions",
        "line 5: “21” cannot be the mark. Write a number from 0 to 20",
        "line 6: “nan” cannot be the mark",
        "line 7: write a reason of 1 to 300",
        "line 8: has 2 columns. Write 5",
    ):
        assert words in told
    path.write_bytes(b"\xff\x00")
    with pytest.raises(OverridesError, match="is no text"):
        read_overrides(path, KEY, rubric())
    path.write_text("a,b\n")
    with pytest.raises(OverridesError, match="line 1: write the columns student"):
        read_overrides(path, KEY, rubric())
    path = table(tmp_path, 's01,1,cause,1,"x" y\n')
    with pytest.raises(OverridesError, match="Close every quotation mark"):
        read_overrides(path, KEY, rubric())
