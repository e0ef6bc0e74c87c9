import json
from datetime import UTC, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from answer_keys.errors import RefusedError
from answer_keys.hand_ins.hand_in import read_hand_in
from answer_keys.hand_ins.limits import MAX_HAND_IN_BYTES, MAX_LINE_BYTES, MAX_LINES
from tests.answer_keys.samples import Writer, sample_record, work_through
from workbook.record.entries import step_from
from workbook.record.journal import Journal, Owner, hand_in_bytes
from workbook.record.journal_reading import read_journals


def written(**values):
    """A hand-in with one prediction, whose values may be replaced."""
    writer = Writer()
    answer = {"raw": "0.165 A", "value": 0.165, "unit": "A"}
    writer.add(1, "prediction", "coil_current", **(answer | values))
    return writer


def test_hand_in_is_read_whole():
    """Header, entries and time of the newest entry come out."""
    writer = Writer()
    work_through(writer, sample_record(), ("load_current_bridged",))
    hand_in = read_hand_in("a.jsonl", writer.bytes())
    assert (hand_in.student, hand_in.set_id, hand_in.mode) == ("s01", "k7m2q", "graded")
    assert len(hand_in.entries) == 7
    assert hand_in.newest == datetime(2026, 11, 25, 7, 43, 30, 1, tzinfo=UTC)
    assert hand_in.is_unbroken
    assert hand_in.notices == ()


def test_hand_in_of_the_workbook_is_read(tmp_path):
    """What the workbook writes is what the reader takes, chain and all."""
    owner = Owner(set_id="k7m2q", student="s01", edition=1)
    for value in (0.165, 16.5):
        journal = Journal(tmp_path, owner)
        entry = {"exercise": 1, "kind": "prediction", "item": f"p{value}"}
        journal.append(
            step_from(entry | {"raw": f"{value} A", "value": value, "unit": "A"})
        )
        hint = {"exercise": 1, "kind": "hint", "item": "choice", "step": 1}
        journal.append(step_from(hint))
        conclusion = {"exercise": 1, "kind": "conclusion", "item": "conclusion"}
        journal.append(step_from(conclusion | {"cause": "c01", "correction": "r01"}))
    lines = read_journals(tmp_path, owner).lines
    hand_in = read_hand_in("a", hand_in_bytes(owner, "practice", lines))
    assert len(hand_in.entries) == 6
    assert hand_in.is_unbroken


def test_entries_are_in_order_of_time():
    """Rows of two sessions are merged by their times."""
    late, early = Writer(session="aa"), Writer(session="bb")
    late.start = datetime(2027, 1, 1, tzinfo=UTC)
    for writer in (late, early):
        writer.answer(1, "prediction", writer.session, 1.0)
    data = late.bytes() + b"\n".join(early.lines[1:])
    rows = read_hand_in("a", data).entries
    assert [row.item for row in rows] == ["bb", "aa"]


def test_empty_journal_is_a_hand_in():
    """A student who did nothing can hand in."""
    for data in (Writer().bytes(), Writer().lines[0]):
        hand_in = read_hand_in("a", data)
        assert hand_in.entries == ()
        assert hand_in.newest.year == 1


@pytest.mark.parametrize("torn", [b'{"exercise":1,"ki', b'{"raw":"1 \xce'])
def test_torn_last_line_is_left_out(torn):
    """A line cut short at the end costs nothing but itself."""
    hand_in = read_hand_in("a", written().bytes() + torn)
    assert len(hand_in.entries) == 1
    assert "cut short" in hand_in.notices[0]


def test_torn_line_before_the_next_journal_is_left_out():
    """Each journal may end in a torn line."""
    writer = written()
    second = writer.lines[1].replace(b"0a1b2c3d", b"deadbeef")
    data = writer.bytes() + b'{"torn\n' + second + b"\n"
    assert len(read_hand_in("a", data).entries) == 1


def test_torn_line_in_the_middle_is_refused():
    """A line that cannot be read between others is no accident of writing."""
    writer = written()
    writer.lines.insert(2, b"{torn")
    with pytest.raises(RefusedError, match="Line 3: it is not JSON"):
        read_hand_in("a", writer.bytes())


@pytest.mark.parametrize("cut", [2, 3])
def test_broken_chain_is_a_flag_only(cut):
    """A line that was lost is noticed, and the rest still counts."""
    writer = Writer()
    for value in (1.0, 2.0, 3.0):
        writer.answer(1, "prediction", f"p{value}", value)
    del writer.lines[cut]
    hand_in = read_hand_in("a", writer.bytes())
    assert not hand_in.is_unbroken
    assert len(hand_in.entries) == 2
    assert "not a proof" in hand_in.notices[0]


def test_line_ends_of_mail_and_a_mark_change_nothing():
    """CR LF line ends and a byte order mark keep the chain whole."""
    data = b"\xef\xbb\xbf" + written().bytes().replace(b"\n", b"\r\n")
    assert read_hand_in("a", data).is_unbroken


@pytest.mark.parametrize(
    ("values", "problem"),
    [
        ({"value": float("nan")}, "NaN is not a number"),
        ({"value": float("inf")}, "Infinity is not a number"),
        ({"value": 10**40}, "more than 15 digits"),
        ({"value": 1e300}, "far outside"),
        ({"value": 1e-300}, "far outside"),
        ({"value": "0.165"}, "value"),
        ({"value": True}, "value"),
        ({"raw": 3}, "raw"),
        ({"raw": "\ud800"}, "lone surrogate"),
        ({"\ud800": "raw"}, "lone surrogate"),
        ({"raw": "x" * 201}, "raw"),
        ({"unit": "A\u202e"}, "hidden characters"),
        ({"kind": "exec"}, "kind"),
        ({"seq": "1"}, "seq"),
        ({"time": "yesterday"}, "time"),
        ({"time": "2026-13-25T07:40:01Z"}, "time"),
        ({"time": "2026-11-25T07:40:01+01:00"}, "write it in UTC"),
        ({"prev": ["x"]}, "prev"),
        ({"exercise": 1.5}, "exercise"),
        ({"extra": 1}, "extra"),
        ({"raw": [[[[["deep"]]]]]}, "nested deeper"),
    ],
)
def test_wrong_values_are_refused(values, problem):
    """Each wrong value is named with its line."""
    writer = written()
    line = json.loads(writer.lines[-1]) | values
    writer.lines[-1] = json.dumps(line).encode()
    with pytest.raises(RefusedError, match=problem) as caught:
        read_hand_in("a", writer.bytes())
    assert "Line 3" in caught.value.reason


def test_note_is_read_as_it_was_written():
    """Over several lines; what does not show is written out."""
    writer = Writer()
    writer.add(1, "note", item="exercise", text="coil?\nF1\u202e")
    writer.add(1, "restart", item="exercise")
    note, restart = read_hand_in("a", writer.bytes()).entries
    assert (note.kind, note.text) == ("note", "coil?\nF1\\u202e")
    assert restart.kind == "restart"


@pytest.mark.parametrize(
    ("values", "problem"),
    [
        ({"step": 0}, "step"),
        ({"step": 4}, "step"),
        ({"step": 1.0}, "step"),
        ({"step": True}, "step"),
        ({"step": 1, "item": "load_current"}, "item"),
        ({"step": 1, "text": "x"}, "text"),
        ({}, "step"),
    ],
)
def test_wrong_hints_are_refused(values, problem):
    """A hint is one of three steps for a choice, and nothing else."""
    writer = Writer()
    writer.add(1, "hint", **({"item": "choice"} | values))
    with pytest.raises(RefusedError, match=f"Line 3: .*{problem}"):
        read_hand_in("a", writer.bytes())


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        (b'{"seq":1,"seq":2}', "a key comes twice"),
        (b"[" * 7_000, "nested deeper"),
        (b'{"a":' * 1000, "nested deeper"),
        (b'{"value":1e999}', "too large"),
        (b'{"value":0.' + b"1" * 100 + b"}", "too many digits"),
        (b'{"value":-Infinity}', "-Infinity is not a number"),
        (b'["kind"]', "not a JSON object"),
        (b'{"raw":"' + b"x" * MAX_LINE_BYTES + b'"}', "longer than"),
    ],
)
def test_hostile_lines_are_refused(line, problem):
    """Deep, ambiguous, endless and infinite JSON is refused before it does harm."""
    with pytest.raises(RefusedError, match=problem):
        read_hand_in("a", written().bytes() + line + b"\n")


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "empty"),
        (b"\n\n", "empty"),
        (b"hello", "is not a hand-in file. Hand in the"),
        ('{"kind":"hand-in"}'.encode("utf-16"), "is not a hand-in file. Hand in the"),
        (b'{"cells":[]}', "not a hand-in file"),
        (b'{"cells":[], "nbformat": 4}', "This is the workbook itself"),
        (Writer().lines[1], "one journal"),
        (b'{"kind":"hand-in","format":7}', "format 7; only format 1"),
        (b'{"kind":"hand-in","format":1}', "Line 1: .*set_id"),
        (
            b"\n".join([Writer().lines[0], written().lines[-1]]),
            "before the first journal",
        ),
        (b"x" * (MAX_HAND_IN_BYTES + 1), "larger than"),
        (b"\n" * (MAX_LINES + 1), "more than 10,000 lines"),
    ],
)
def test_what_is_no_hand_in_is_refused(data, problem):
    """Wrong files are refused with a reason that helps."""
    with pytest.raises(RefusedError, match=problem):
        read_hand_in("a", data)


@pytest.mark.parametrize("word", ["set_id", "student", "edition"])
def test_foreign_journal_in_a_hand_in_is_refused(word):
    """A hand-in holds journals of its own student and set only."""
    writer = written()
    header = json.loads(writer.lines[1])
    header[word] = 9 if word == "edition" else "other"
    writer.lines[1] = json.dumps(header).encode()
    with pytest.raises(RefusedError, match=f"another {word}"):
        read_hand_in("a", writer.bytes())


@pytest.mark.parametrize("sign", ["\u202e", "\u0007", "\u2028"])
def test_hidden_signs_in_what_was_typed_are_written_out(sign):
    """A stray sign costs no student the hand-in, and never reaches a page."""
    writer = written()
    line = json.loads(writer.lines[-1]) | {"raw": f"1{sign}2 A"}
    writer.lines[-1] = json.dumps(line).encode()
    entry = read_hand_in("a", writer.bytes()).entries[0]
    assert entry.raw == f"1\\u{ord(sign):04x}2 A"


def refusal_of(data):
    """Why some bytes are refused; empty where they are read."""
    try:
        read_hand_in("a", data)
    except RefusedError as error:
        return error.reason
    return ""


@example(b'""')
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data):
    """Whatever bytes follow the headers, the reader ends in one of two ways."""
    for start in (b"", Writer().bytes(), written().bytes()):
        assert refusal_of(start + data)[-1:] in {"", "."}


@given(st.integers(0, 600), st.integers(0, 255))
def test_any_changed_byte_is_read_or_refused(place, value):
    """A flipped byte never raises anything but a refusal."""
    data = bytearray(written().bytes())
    data[place % len(data)] = value
    assert refusal_of(bytes(data))[-1:] in {"", "."}
