"""A reading is given when its line is written, and to nobody else."""

import hashlib
import json
import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from answer_keys.errors import RefusedError
from generator.errors import RoomError
from generator.examining import work_record
from generator.examining.room import MAX_WINDOWS, Room, UnknownCodeError
from generator.examining.seal import changed_since_seal, write_seal
from generator.examining.work_record import ConflictError
from tests.examining.desk_work import (
    choice_of,
    ending,
    finding,
    predictions,
    whole_work,
)
from workbook.record.entries import ChosenTest, Hint


def readings_of(reply):
    """Displays by exercise and test."""
    return {f"{r['exercise']}/{r['item']}": r["display"] for r in reply["readings"]}


@pytest.fixture
def chosen(hall):
    """A student who has predicted, and chosen the first planned test."""
    record = hall.record()
    page = hall.page().record(
        *predictions(record), choice_of(record, record.planned[0])
    )
    return page, record


def test_reading_is_given_once_its_line_is_on_the_disk(hall, chosen):
    """It is the one of the key, and the room's file holds the page's lines."""
    page, record = chosen
    test = record.test(record.planned[0])
    assert readings_of(page.send(hall.exchange())) == {f"1/{test.id}": test.display}
    [written] = hall.room.folder.glob("journal-*.jsonl")
    assert written.read_text("utf-8").split("\n")[:-1] == page.lines


def test_page_that_asks_again_gets_the_same(hall, chosen):
    """After a reload, after the machine went down, and in the same words."""
    page, _ = chosen
    first = page.send(hall.exchange())["readings"]
    page.readings.clear()
    assert page.send(hall.exchange())["readings"] == first
    assert page.send(hall.exchange())["readings"] == []
    hall.open()
    page.readings.clear()
    assert page.send(hall.exchange())["readings"] == first


def test_no_reading_before_all_predictions(hall):
    """A page that leaves one out gets nothing of that exercise, then or later."""
    record = hall.record()
    asked, test = predictions(record), choice_of(record, record.planned[0])
    page = hall.page().record(*asked[:-1], test)
    assert page.send(hall.exchange())["readings"] == []
    page.record(asked[-1])
    assert page.send(hall.exchange())["readings"] == []


def test_no_reading_while_a_finding_is_due_or_after_the_conclusion(hall, chosen):
    """Tests out of their turn are kept as lines, and tell nothing."""
    page, record = chosen
    page.send(hall.exchange())
    others = [test.id for test in record.tests if test.id != record.planned[0]]
    page.record(choice_of(record, others[0]))
    assert page.send(hall.exchange())["readings"] == []
    page.record(finding(record, record.planned[0]), *ending(record))
    page.record(choice_of(record, others[1]))
    assert page.send(hall.exchange())["readings"] == []


def test_whole_exercise_gives_its_planned_readings_only(hall):
    """Step by step, as a student works."""
    record, page = hall.record(), hall.page()
    for group in whole_work(record):
        page.record(*group)
        page.send(hall.exchange())
    assert list(page.readings) == [f"1/{test}" for test in record.planned]


def test_record_outlives_half_a_line(hall, chosen):
    """What a power cut left half written was never acknowledged, and is cut off."""
    page, _ = chosen
    page.send(hall.exchange())
    [written] = hall.room.folder.glob("journal-*.jsonl")
    whole = written.read_bytes()
    written.write_bytes(whole + b'{"exercise":1,"ki')
    with (hall.room.folder / "events.jsonl").open("ab") as file:
        file.write(b'{"at": "2026')
    hall.open()
    assert page.send(hall.exchange())["counts"] == {
        page.journal.session: len(page.lines)
    }
    assert written.read_bytes() == whole


def test_second_program_is_kept_out_of_an_open_room(hall):
    """Two would write one record; the room opens again when the first is gone."""
    folder = hall.class_set.examination
    with pytest.raises(RoomError, match="another program has this room open"):
        Room(folder, {}, hall.secret, hall.key)
    hall.open()
    assert hall.page().send(hall.exchange())["phase"] == "running"


def test_record_that_was_changed_is_told(hall, chosen):
    """By name, and the room does not go on from it."""
    page, _ = chosen
    page.send(hall.exchange())
    [written] = hall.room.folder.glob("journal-*.jsonl")
    written.write_bytes(written.read_bytes().replace(b'"exercise":1', b'"exercise":2'))
    hall.open()
    with pytest.raises(RoomError, match="was changed after it was written"):
        page.send(hall.exchange())


def test_full_disk_takes_no_line_and_gives_no_reading(hall, chosen, monkeypatch):
    """And the same lines are taken when there is room again."""
    page, _ = chosen

    def full(path, data):
        path.write_bytes(data[:10])
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("generator.examining.work_record.append_whole", full)
        with pytest.raises(RoomError, match="make room on the disk"):
            page.send(hall.exchange())
    assert len(page.send(hall.exchange())["readings"]) == 1


def test_seal_waits_for_the_line_that_is_being_written(hall, chosen, monkeypatch):
    """It came before the end: the record is no other than the one that was sealed."""
    page, _ = chosen
    room, sealed = hall.room, threading.Event()
    writing, append = threading.Event(), work_record.append_whole

    def slow(path, data):
        writing.set()
        assert not sealed.wait(0.2)
        append(path, data)

    def noted(*record):
        write_seal(*record)
        sealed.set()

    monkeypatch.setattr(work_record, "append_whole", slow)
    monkeypatch.setattr("generator.examining.room.write_seal", noted)
    with ThreadPoolExecutor(1) as other:
        sent = other.submit(page.send, hall.exchange())
        writing.wait()
        room.seal()
        assert sent.result()["counts"] == {page.journal.session: len(page.lines)}
    assert changed_since_seal(room.folder, hall.secret) == []


def two_sessions(page, other):
    """What two windows of one browser send at once, the later one first."""
    sent = [json.loads(one.body()) for one in (other, page)]
    sessions = {name: part for one in sent for name, part in one["sessions"].items()}
    return page.body(sessions=sessions)


def test_lines_of_two_windows_are_written_both_or_not_at_all(hall, monkeypatch):
    """A disk that is full at the second leaves nothing of the first, and no conflict.

    Killed between the two, the room has what was recorded first, and the rest follows.
    """
    record = hall.record()
    page, other = hall.page(), hall.page()
    page.record(*predictions(record)[:1])
    other.record(*predictions(record)[1:], choice_of(record, record.planned[0]))
    written = []

    def full(path, data):
        if written:
            raise OSError(28, "No space left on device")
        written.append(path)
        path.write_bytes(data)

    with monkeypatch.context() as patch:
        patch.setattr("generator.examining.work_record.append_whole", full)
        with pytest.raises(RoomError, match="make room on the disk"):
            hall.exchange()(two_sessions(page, other))
    assert [path.stem[-8:] for path in written] == [page.journal.session]
    assert not any(one.stat().st_size for one in written)
    reply = hall.exchange()(two_sessions(page, other))
    assert len(reply["readings"]) == 1
    assert hall.room.seats["s01"].record.progress[1].tests


def test_code_in_the_hands_of_a_script_fills_neither_disk_nor_memory(hall, chosen):
    """Of windows without end two hundred are kept, of refusals a hundred noted."""
    page, _ = chosen
    page.send(hall.exchange())
    for _ in range(150):
        with pytest.raises(ConflictError):
            hall.exchange()(forged(page, time="2026-01-01T00:00:00.000000+00:00"))
    kinds = Counter(event.kind for event in hall.room.log.events)
    assert kinds["refused"] == 100
    for number in range(MAX_WINDOWS - 1):
        hall.exchange()(page.body(window=f"w{number:05}"))
    assert hall.exchange()(page.body(window="another"))["phase"] == "running"
    assert len(hall.room.seats["s01"].windows) == MAX_WINDOWS
    # The page that was there goes on.
    assert page.send(hall.exchange())["phase"] == "running"


def test_student_goes_on_at_another_machine(hall, chosen):
    """It gets the lines of the first one, and every reading."""
    page, record = chosen
    page.send(hall.exchange())
    other = hall.page()
    reply = other.send(hall.exchange())
    session = page.journal.session
    assert reply["lines"] == {session: {"at": 0, "lines": tuple(page.lines)}}
    assert len(reply["readings"]) == 1
    assert reply["windows"] == 2
    other.record(finding(record, record.planned[0]))
    reply = other.send(hall.exchange())
    assert set(reply["counts"]) == {session, other.journal.session}


def forged(page, **changes):
    """The page's last line changed, its chain mended."""
    *before, last = page.lines
    line = json.loads(last) | changes
    line["prev"] = hashlib.sha256(before[-1].encode()).hexdigest()
    text = json.dumps(line, sort_keys=True, separators=(",", ":"))
    sessions = {page.journal.session: {"at": 0, "lines": [*before, text]}}
    return page.body(sessions=sessions)


def test_earlier_line_is_never_written_over(hall, chosen):
    """Another test in the place of one whose reading is known."""
    page, record = chosen
    page.send(hall.exchange())
    other = next(t.id for t in record.tests if t.id != record.planned[0])
    with pytest.raises(ConflictError, match="another line stands there"):
        hall.exchange()(forged(page, item=other))


def test_line_dated_before_a_reading_changes_nothing_of_it(hall, chosen):
    """A second journal, begun earlier, would take back a prediction."""
    page, record = chosen
    page.send(hall.exchange())
    hall.clock.ahead(-10)
    later = hall.page()
    better = predictions(record)[0]
    later.record(replace(better, raw="7 A", value=7.0, unit=better.unit))
    with pytest.raises(ConflictError, match="would change what was recorded"):
        later.send(hall.exchange())
    assert len(list(hall.room.folder.glob("journal-*.jsonl"))) == 1
    assert [e.kind for e in hall.room.log.events].count("refused") == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"prev": "0" * 64}, "chain is broken"),
        ({"seq": 9}, "a line is lacking"),
        ({"exercise": 7}, "do not hold"),
        ({"item": "no_such_test"}, "do not hold"),
        ({"expected": "plenty"}, "do not hold"),
        ({"extra": 1}, "does not belong there"),
        ({"time": "yesterday"}, "write it in UTC"),
    ],
)
def test_forged_line_is_refused(hall, chosen, change, said):
    """Nothing of what came with it is written."""
    page, _ = chosen
    *before, last = page.lines
    line = json.dumps(json.loads(last) | change)
    sessions = {page.journal.session: {"at": 0, "lines": [*before, line]}}
    with pytest.raises(RefusedError, match=said):
        hall.exchange()(page.body(sessions=sessions))
    assert list(hall.room.folder.glob("journal-*.jsonl")) == []


def test_hint_is_refused(hall):
    """An examination gives none."""
    page = hall.page().record(Hint(exercise=1, step=1))
    with pytest.raises(RefusedError, match="do not hold"):
        page.send(hall.exchange())


def test_lines_of_somebody_else_are_refused(hall, chosen):
    """A code takes its own student's journal, and gives out no other."""
    page, _ = chosen
    page.send(hall.exchange())
    stranger = hall.page("s02").record(*predictions(hall.record("s02")))
    with pytest.raises(RefusedError, match="somebody else's"):
        stranger.send(hall.exchange("s01"))
    neighbour = hall.page("s02").send(hall.exchange("s02"))
    assert neighbour["lines"] == {}
    assert neighbour["readings"] == []
    with pytest.raises(UnknownCodeError):
        hall.room.exchange("0" * 32, page.body())


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"[]",
        b'{"window": "abcd"}',
        b'{"window": "../x", "sessions": {}}',
        b'{"window": "abcd", "sessions": {}, "more": 1}',
        b'{"window": "abcd", "sessions": {"../../x": {"at": 0, "lines": ["{}"]}}}',
        b'{"window": "abcd", "sessions": {"0a1b2c3d": {"at": -1}}}',
        b'{"window": "abcd", "sessions": {"0a1b2c3d": {"at": 5, "lines": ["{}"]}}}',
        b" " * 400_001,
    ],
)
def test_what_is_no_request_is_refused(hall, body):
    """Whatever it is, and nothing is written."""
    with pytest.raises(RefusedError):
        hall.exchange()(body)
    assert list(hall.room.folder.glob("journal-*.jsonl")) == []


def test_student_cannot_fill_the_disk(hall, monkeypatch):
    """A record has an end."""
    monkeypatch.setattr("generator.examining.work_record.MAX_HAND_IN_BYTES", 2_000)
    record = hall.record()
    page = hall.page()
    for _ in range(20):
        page.record(ChosenTest(exercise=1, item=record.planned[0], expected="none"))
    with pytest.raises(RefusedError, match="is full"):
        page.send(hall.exchange())
