"""A supervisor starts, pauses, stops and seals, and sees who is where."""

from dataclasses import replace
from datetime import timedelta

import pytest

from generator.errors import RoomError
from generator.examining.protocol import protocol_text
from generator.examining.seal import changed_since_seal
from generator.examining.supervision import state_of
from tests.examining.desk_work import choice_of, ending, finding, predictions
from workbook.texts import speaking


@pytest.fixture
def chosen(hall):
    """A student who has predicted, and chosen the first planned test."""
    record = hall.record()
    page = hall.page().record(
        *predictions(record), choice_of(record, record.planned[0])
    )
    return page, record


def seat(hall, student="s01"):
    """How a student stands."""
    return next(s for s in state_of(hall.room).seats if s.student == student)


def test_nothing_is_taken_or_given_before_the_start(hall, chosen):
    """The page keeps its lines, and sends them then."""
    page, _ = chosen
    (hall.room.folder / "events.jsonl").unlink()
    hall.open()
    reply = page.send(hall.exchange())
    assert (reply["phase"], reply["counts"], reply["readings"]) == ("waiting", {}, [])
    hall.room.start()
    assert len(page.send(hall.exchange())["readings"]) == 1


def test_pause_gives_no_new_reading_and_lengthens_the_time(hall, chosen):
    """What was recorded is taken, and readings given before are given again."""
    page, record = chosen
    (hall.room.folder / "events.jsonl").unlink()
    hall.open()
    hall.room.start(60)
    page.send(hall.exchange())
    first = record.planned[0]
    others = [t.id for t in record.tests if t.id != first and not t.mistake]
    hall.clock.ahead(10)
    hall.room.pause()
    page.record(finding(record, first), choice_of(record, others[0]))
    assert page.send(hall.exchange())["readings"] == []
    assert page.reply["counts"] == {page.journal.session: len(page.lines)}
    assert [r["item"] for r in hall.page().send(hall.exchange())["readings"]] == [first]
    hall.clock.ahead(30)
    hall.room.resume()
    assert [r["item"] for r in page.send(hall.exchange())["readings"]] == [others[0]]
    schedule = hall.room.log.schedule
    ends = schedule.ends_at("s01", hall.clock())
    assert round((ends - schedule.started) / timedelta(minutes=1)) == 90


def test_more_time_is_one_students(hall, chosen):
    """Also when the end has passed: then it counts from now."""
    page, _ = chosen
    hall.room.stop()
    hall.clock.ahead(5)
    assert page.send(hall.exchange())["phase"] == "over"
    assert page.reply["counts"] == {}
    hall.room.more("s01", 10)
    assert page.send(hall.exchange())["phase"] == "running"
    assert page.reply["left_s"] == pytest.approx(600)
    assert hall.page("s02").send(hall.exchange("s02"))["phase"] == "over"
    hall.clock.ahead(11)
    assert page.send(hall.exchange())["phase"] == "over"
    with pytest.raises(RoomError, match="there is no student 's99'"):
        hall.room.more("s99", 5)


def test_supervisor_sees_who_is_where(hall, chosen):
    """Since when, what is open, and two windows with one code."""
    page, record = chosen
    assert seat(hall).seen_at is None
    page.send(hall.exchange())
    hall.exchange()(page.body(exercise=1))
    there = seat(hall)
    assert (there.is_here, there.windows, there.exercise) == (True, 1, 1)
    title = record.test(record.planned[0]).title
    assert there.steps == (f"finding open: {title}", "not begun")
    hall.page().send(hall.exchange())
    assert seat(hall).windows == 2
    page.record(finding(record, record.planned[0]), *ending(record))
    page.send(hall.exchange())
    assert (seat(hall).steps[0], seat(hall).done) == ("done", 1)
    hall.clock.ahead(2)
    assert not seat(hall).is_here
    assert not seat(hall, "s02").is_here


def test_what_the_supervisor_did_outlives_the_machine(hall):
    """It is on the disk before it holds."""
    hall.room.pause()
    hall.room.more("s02", 7)
    hall.open()
    assert hall.room.phase() == "paused"
    assert seat(hall, "s02").more_minutes == 7


def test_sealed_record_takes_nothing_and_shows_a_change(hall, chosen):
    """A changed file, one that is gone, and one that was put there."""
    page, record = chosen
    page.send(hall.exchange())
    assert changed_since_seal(hall.room.folder, hall.secret) is None
    hall.room.stop()
    hall.room.seal()
    page.record(finding(record, record.planned[0]))
    assert page.send(hall.exchange())["phase"] == "sealed"
    assert changed_since_seal(hall.room.folder, hall.secret) == []
    [written] = hall.room.folder.glob("journal-*.jsonl")
    whole = written.read_bytes()
    written.write_bytes(whole.replace(b"A", b"B", 1))
    assert changed_since_seal(hall.room.folder, hall.secret) == [written.name]
    written.write_bytes(whole)
    (hall.room.folder / "journal-more.jsonl").write_bytes(b"")
    assert changed_since_seal(hall.room.folder, hall.secret) == ["journal-more.jsonl"]
    other = replace(hall.secret, value=bytes(32))
    assert changed_since_seal(hall.room.folder, other) == ["sealed.json"]


def test_protocol_tells_what_happened(hall, chosen):
    """In the language spoken, with every reading that was given."""
    page, record = chosen
    page.send(hall.exchange())
    hall.room.more("s01", 5)
    text = protocol_text(hall.room)
    assert f"reading given, exercise 1, {record.planned[0]}" in text
    assert "5 more minutes" in text
    with speaking("de"):
        assert "Protokoll" in protocol_text(hall.room)
