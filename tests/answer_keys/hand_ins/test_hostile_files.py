"""What is made to hurt the reader is refused at once, in little memory."""

import io
import struct
import time
import tracemalloc
import zipfile
import zlib

import pytest

from tests.answer_keys.hand_ins.returned import hand_ins_in
from tests.answer_keys.samples import Writer, sample_key

KEY, GOOD = sample_key(), Writer().bytes()
MEMORY_BYTES, WORK_S = 30_000_000, 1.0
FIRST = GOOD.split(b"\n", 1)[0]


def archive(*members):
    """A zip archive of (name, bytes) pairs."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in members:
            packed.writestr(name, data)
    return file.getvalue()


def overlapping(count, size):
    """Many names for one member that unpacks to much."""
    data = archive(("a", bytes(size)))
    directory = data.index(b"PK\x01\x02")
    end = data.index(b"PK\x05\x06")
    entry, tail = data[directory:end], bytearray(data[end:])
    names = [entry[:46] + bytes([97 + n % 26]) + entry[47:] for n in range(count)]
    tail[8:12] = struct.pack("<HH", count, count)
    tail[12:16] = struct.pack("<I", len(entry) * count)
    return data[:directory] + b"".join(names) + bytes(tail)


def claiming(size):
    """A member that says it is of another size than it is."""
    data = bytearray(archive(("a.jsonl", GOOD)))
    for signature, place in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        start = data.index(signature) + place
        data[start : start + 4] = struct.pack("<I", size)
    return bytes(data)


def nested(depth):
    """Archives in archives."""
    data = archive(("a.jsonl", GOOD))
    for _ in range(depth):
        data = archive(("in.zip", data))
    return data


def recursive():
    """Deflated data that goes on for ever, as far as its reader can tell."""
    work = zlib.compressobj(9, zlib.DEFLATED, -15)
    return work.compress(bytes(3_000_000)) + work.flush()


HOSTILE = {
    "bomb of a thousand to one": archive(("a.jsonl", bytes(60_000_000))),
    "names for one bomb": overlapping(500, 60_000_000),
    "claim of nothing": claiming(0),
    "archives ten deep": nested(10),
    "ten thousand lists deep": b"[" * 10_000,
    "ten thousand objects deep": FIRST
    + b"\n"
    + b'{"a":' * 10_000
    + b"1"
    + b"}" * 10_000,
    "ten thousand deep in one line": FIRST + b"\n" + b"[" * 3_999 + b"]" * 3_999,
    "number of a million digits": b'{"kind":' + b"9" * 1_000_000 + b"}",
    "number of many digits": b'{"kind":' + b"9" * 7_000 + b"}",
    "a million lines": b"{}\n" * 1_000_000,
    "a line of two megabytes": b'{"kind":"' + b"x" * 1_900_000 + b'"}',
    "two megabytes of nothing": bytes(2_000_000),
    "raw deflated data": recursive(),
    "directory of a million": b"PK\x05\x06" + b"PK\x01\x02" * 1_000_000,
    "keys without end": b"{" + b'"a":1,' * 1_300 + b'"a":1}',
    "escapes without end": b'{"kind":"' + b"\\ud800" * 1_300 + b'"}',
    "quotes of a table": b"set,student\n" + b'"' * 1_900_000,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_file_is_refused_at_once(tmp_path, name):
    """In under a second of work and little memory, with its reason."""
    ending = ".csv" if "table" in name else ".jsonl"
    (tmp_path / f"a{ending}").write_bytes(HOSTILE[name])
    tracemalloc.start()
    start = time.process_time()
    found = list(hand_ins_in(tmp_path, KEY))
    spent = time.process_time() - start
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert found
    for one in found:
        assert one.hand_in is None, name
        assert one.refusal.strip()
        assert "report it" not in one.refusal
    # Far above what they take, which is milliseconds: a bomb would take minutes.
    assert spent < WORK_S
    assert peak < MEMORY_BYTES + len(HOSTILE[name])


def test_claim_of_a_gigabyte_is_not_believed(tmp_path):
    """What a member really holds is read, and costs what it is."""
    (tmp_path / "a.zip").write_bytes(claiming(1 << 30))
    tracemalloc.start()
    (found,) = hand_ins_in(tmp_path, KEY)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert found.hand_in.student == "s01"
    assert peak < MEMORY_BYTES


def test_huge_file_is_never_read(tmp_path):
    """A file of ten gigabytes is refused by its size alone."""
    with (tmp_path / "huge.jsonl").open("wb") as file:
        file.truncate(10_000_000_000)
    (found,) = hand_ins_in(tmp_path, KEY)
    assert "larger than" in found.refusal
