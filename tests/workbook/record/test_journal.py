"""Journal files on disk."""

import hashlib
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.workbook.strategies import entries
from workbook.errors import JournalError
from workbook.record.entries import ChosenTest
from workbook.record.journal import (
    Journal,
    Owner,
    check_writable,
    hand_in_bytes,
)
from workbook.record.journal_reading import read_journals
from workbook.record.progress import replay

OWNER = Owner(set_id="set", student="s1", edition=1)
STEP = ChosenTest(exercise=1, item="t1", expected="none")
LINE = {"exercise": 1, "kind": "test", "item": "t1", "expected": "none"}
START = datetime(2026, 11, 25, 7, 40, tzinfo=UTC)


class Clock:
    """Gives a second later at every look."""

    def __init__(self):
        self.moment = START

    def __call__(self):
        self.moment += timedelta(seconds=1)
        return self.moment


def test_lines_are_chained_and_numbered(tmp_path):
    """Each line holds the hash of the line before, the header's first."""
    journal = Journal(tmp_path, OWNER, Clock())
    for _ in range(3):
        journal.append(STEP)
    lines = journal.path.read_bytes().splitlines()
    header, *written = [json.loads(line) for line in lines]
    assert (header["kind"], header["session"]) == ("journal", journal.session)
    assert [entry["seq"] for entry in written] == [1, 2, 3]
    assert written[0]["time"] == "2026-11-25T07:40:01.000000Z"
    for before, entry in zip(lines, written, strict=False):
        assert entry["prev"] == hashlib.sha256(before).hexdigest()


def test_no_file_before_the_first_entry(tmp_path):
    """Looking at a workbook leaves nothing behind."""
    Journal(tmp_path, OWNER)
    check_writable(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_clock_set_back_keeps_the_order(tmp_path):
    """An entry is never dated before the newest entry known."""
    newest = "2027-01-01T00:00:00.000000Z"
    written = Journal(tmp_path, OWNER, Clock()).append(STEP, not_before=newest)
    assert written.time == "2027-01-01T00:00:00.000001Z"


def test_torn_last_line_is_dropped_with_a_notice(tmp_path):
    """Half a line at the end, as after a power cut, costs only itself."""
    journal = Journal(tmp_path, OWNER, Clock())
    journal.append(STEP)
    with journal.path.open("ab") as file:
        file.write(b'{"exercise":1,"ki')
    read = read_journals(tmp_path, OWNER)
    assert len(read.entries) == 1
    assert "cut short" in read.notices[0]


@pytest.mark.parametrize(
    "line",
    [
        b"\xff\xfe",
        b"[]",
        b'{"kind":"test"}',
        json.dumps({**LINE, "seq": True, "time": "now", "prev": ""}).encode(),
        b"[" * 100_000,
    ],
)
def test_damaged_line_is_left_out_with_a_notice(tmp_path, line):
    """A damaged line in the middle costs only itself, and is not handed in."""
    journal = Journal(tmp_path, OWNER, Clock())
    journal.append(STEP)
    with journal.path.open("ab") as file:
        file.write(line + b"\n")
    journal.append(STEP)
    read = read_journals(tmp_path, OWNER)
    assert [entry.seq for entry in read.entries] == [1, 2]
    assert "Line 3" in read.notices[0]
    assert line not in hand_in_bytes(OWNER, "graded", read.lines)


def test_journal_that_has_not_grown_is_not_read_again(tmp_path, monkeypatch):
    """Each session leaves a file, and in a browser every look at one takes time."""
    old, own = Journal(tmp_path, OWNER, Clock()), Journal(tmp_path, OWNER, Clock())
    old.append(STEP)
    own.append(STEP)
    known = {}
    read_journals(tmp_path, OWNER, known)
    opened = []
    read_bytes = Path.read_bytes
    monkeypatch.setattr(
        Path, "read_bytes", lambda path: opened.append(path) or read_bytes(path)
    )
    own.append(STEP)
    assert len(read_journals(tmp_path, OWNER, known).entries) == 3
    assert opened == [own.path]


def test_foreign_files_are_passed_over(tmp_path):
    """Journals of others, other editions and other things are not used."""
    Journal(tmp_path, Owner(set_id="set", student="s1-x", edition=1)).append(STEP)
    Journal(tmp_path, Owner(set_id="set", student="s1", edition=2)).append(STEP)
    (tmp_path / "journal-set-s1-note.jsonl").write_text("hello\n")
    (tmp_path / "journal-set-s1-empty.jsonl").write_text("")
    read = read_journals(tmp_path, OWNER)
    assert read.files == ()
    assert [notice for notice in read.notices if "edition" not in notice] == []


def test_unwritable_folder_is_told(tmp_path):
    """Where nothing can be written, both the check and the entry say so."""
    gone = tmp_path / "gone"
    with pytest.raises(JournalError, match="cannot be written"):
        check_writable(gone)
    with pytest.raises(JournalError) as caught:
        Journal(gone, OWNER).append(STEP)
    assert caught.value.path.parent == gone


def test_failed_write_goes_on_in_a_new_file(tmp_path):
    """After a failure nothing is written behind what may be half a line."""
    folder = tmp_path / "folder"
    journal = Journal(folder, OWNER, Clock())
    first = journal.path
    with pytest.raises(JournalError):
        journal.append(STEP)
    folder.mkdir()
    first.write_bytes(b'{"half')
    journal.append(STEP)
    assert journal.path != first
    assert len(read_journals(folder, OWNER).entries) == 1


@given(steps=st.lists(st.tuples(st.booleans(), entries), max_size=12))
def test_two_interleaved_sessions_lose_nothing(tmp_path_factory, steps):
    """Two windows writing in turn give the state of one that wrote it all."""
    folder = tmp_path_factory.mktemp("two")
    clock = Clock()
    windows = Journal(folder, OWNER, clock), Journal(folder, OWNER, clock)
    for is_second, step in steps:
        windows[is_second].append(step)
    read = read_journals(folder, OWNER)
    assert len(read.entries) == len(steps)
    assert replay(read.entries) == replay(step for _, step in steps)
    lines = hand_in_bytes(OWNER, "graded", read.lines).splitlines()
    assert len(lines) == 1 + len(read.files) + len(steps)
