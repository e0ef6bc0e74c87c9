from datetime import UTC, datetime

import pytest
import sqlalchemy as sa

from answer_keys.gradebook import Gradebook, Grading
from answer_keys.hand_in import read_hand_in
from answer_keys.marks import ExerciseMarks, StepMark
from answer_keys.receipts import Receipt
from tests.answer_keys.samples import SET_ID, Writer

NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
HAND_IN = read_hand_in("a.jsonl", Writer().bytes())


def grading(mark=5.0, rubric="r1", hand_in=HAND_IN, software="1"):
    """A grading of one exercise with one step."""
    step = StepMark(
        step="cause",
        item="cause",
        title="Cause",
        mark=mark,
        out_of=15.0,
        reason="“Fan motor seized” was the cause.",
    )
    return Grading(
        set_id=SET_ID,
        student="s01",
        hand_in_sha256=hand_in.sha256,
        rubric_sha256=rubric,
        software=software,
        exercises=(ExerciseMarks(exercise=1, steps=(step,)),),
    )


@pytest.fixture
def gradebook(tmp_path):
    """A gradebook that has received one hand-in."""
    with Gradebook(tmp_path / "gradebook.sqlite") as book:
        book.receive(HAND_IN, NOW)
        yield book


def test_grading_comes_back_whole(gradebook):
    """Marks and reasons are kept to the last bit."""
    assert gradebook.record(grading(mark=0.1 + 0.2), NOW)
    assert gradebook.gradings(SET_ID, "s01") == (grading(mark=0.1 + 0.2),)


def test_same_grading_adds_nothing(gradebook):
    """Grading the same hand-in again under the same rubric leaves one row."""
    assert gradebook.record(grading(), NOW)
    assert not gradebook.record(grading(), NOW)
    assert len(gradebook.gradings(SET_ID, "s01")) == 1


def test_changed_rubric_adds_a_row_and_keeps_the_old(gradebook):
    """The newest row counts; going back to the old rubric is a newer row again."""
    for rubric, mark in (("r1", 5.0), ("r2", 6.0), ("r1", 5.0)):
        assert gradebook.record(grading(mark=mark, rubric=rubric), NOW)
    rows = gradebook.gradings(SET_ID, "s01")
    assert [row.rubric_sha256 for row in rows] == ["r1", "r2", "r1"]


def test_newer_hand_in_or_software_adds_a_row(gradebook):
    """Whatever the marks came from is part of the record."""
    newer = read_hand_in("b.jsonl", Writer(session="bb").bytes())
    gradebook.receive(newer, NOW)
    assert gradebook.record(grading(), NOW)
    assert gradebook.record(grading(hand_in=newer), NOW)
    assert gradebook.record(grading(hand_in=newer, software="2"), NOW)


def test_grading_of_a_hand_in_never_received_is_refused(tmp_path):
    """Foreign keys are on: no marks without the file they came from."""
    with (
        Gradebook(tmp_path / "g.sqlite") as book,
        pytest.raises(sa.exc.IntegrityError),
    ):
        book.record(grading(), NOW)


def test_hand_in_received_twice_keeps_its_first_date(tmp_path):
    """The date of receipt is the first one."""
    path = tmp_path / "g.sqlite"
    with Gradebook(path) as book:
        book.receive(HAND_IN, NOW)
        book.receive(HAND_IN, NOW.replace(year=2027))
    engine = sa.create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        rows = connection.execute(sa.text("SELECT received_at FROM hand_in")).all()
        mode = connection.execute(sa.text("PRAGMA journal_mode")).scalar()
    engine.dispose()
    assert rows == [("2026-11-25T08:00:00+00:00",)]
    assert mode == "wal"


def test_gradebook_takes_the_address_of_a_database():
    """Any database that the library knows can hold the gradebook."""
    with Gradebook("sqlite://") as book:
        assert book.gradings(SET_ID, "s01") == ()


def test_newest_grading_counts_with_its_file(gradebook):
    """Of several gradings of a student the last one is given, by student."""
    assert gradebook.counted(SET_ID) == {}
    for mark in (5.0, 6.0):
        gradebook.record(grading(mark=mark), NOW)
    assert gradebook.counted("another set") == {}
    (counted,) = gradebook.counted(SET_ID).values()
    assert counted.file == "a.jsonl"
    assert counted.exercises == grading(mark=6.0).exercises


def test_returned_files_are_those_of_the_last_grading(gradebook):
    """What became of them is told in their order, in place of what was told before."""
    old = Receipt(name="x", status="refused", reason="No hand-in.")
    new = (
        Receipt(name="b", status="graded", student="s01"),
        Receipt(name="a", status="superseded", student="s01", reason="Older than b."),
    )
    for receipts in ([old], [], new):
        gradebook.account(SET_ID, receipts)
        assert gradebook.receipts(SET_ID) == tuple(receipts)
    assert gradebook.receipts("another set") == ()
