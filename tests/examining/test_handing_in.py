"""What the room has written is the hand-in; a student's file is compared with it."""

import pytest

from generator.errors import RoomError
from generator.week.collecting import put_in
from generator.week.marking import grade
from generator.week.opened import opened_set
from tests.examining.desk_work import whole_work
from workbook.record.journal import Owner, hand_in_bytes


@pytest.fixture
def worked(hall):
    """A student who has done an exercise, all of it sent."""
    page = hall.page()
    for group in whole_work(hall.record()):
        page.record(*group)
        page.send(hall.exchange())
    return page


def handed_in(hall, page):
    """The student's own file, as the page makes it."""
    owner = Owner(set_id=hall.key.set_id, student="s01", edition=1)
    return hand_in_bytes(owner, "examination", page.lines)


def test_record_of_the_room_is_graded(hall, worked):
    """With the marks that the same work gets from a file; equal files say so."""
    put_in(hall.class_set, "upload/mine.jsonl", handed_in(hall, worked))
    summary = grade(opened_set(hall.folder)).summary
    one, mine = summary["files"]
    assert (one["name"].split("/")[0], one["status"]) == ("examination", "graded")
    assert (mine["status"], mine["student"]) == ("superseded", "s01")
    assert "The same bytes as examination/hand-in-" in mine["reason"]
    again = grade(opened_set(hall.folder)).summary
    assert again["students"] == summary["students"]
    assert again["gradings_added"] == 0


def test_file_with_other_lines_does_not_count_by_itself(hall, worked):
    """It says how many the room has not; the instructor may take it."""
    worked.record(*whole_work(hall.record(number=2))[0])
    data = handed_in(hall, worked)
    put_in(hall.class_set, "upload/mine.jsonl", data)
    summary = grade(opened_set(hall.folder)).summary
    one, mine = summary["files"]
    assert (one["status"], mine["status"]) == ("graded", "undecided")
    room = hall.folder / "handed-in" / one["name"]
    new = data.count(b"\n") - room.read_bytes().count(b"\n")
    assert f"It has {new} entries that the room has not" in mine["reason"]
    assert "--take s01" in mine["reason"]


def test_file_alone_counts_where_the_room_has_nothing(hall, worked):
    """As when the network was gone from the first minute."""
    for path in hall.room.folder.glob("journal-*.jsonl"):
        path.unlink()
    put_in(hall.class_set, "mine.jsonl", handed_in(hall, worked))
    [mine] = grade(opened_set(hall.folder)).summary["files"]
    assert mine["status"] == "graded"
    assert "not what the examination's room has written" in mine["reason"]


def test_record_that_was_changed_after_the_seal_is_not_graded(hall, worked):
    """It says which file."""
    assert worked.reply["phase"] == "running"
    hall.room.stop()
    hall.room.seal()
    [journal] = hall.room.folder.glob("journal-*.jsonl")
    journal.write_bytes(journal.read_bytes() + b"\n")
    with pytest.raises(RoomError, match=f"after it was sealed .{journal.name}"):
        grade(opened_set(hall.folder))
