"""Hand-ins that are marked far away: the same marks, and a bad one costs itself."""

import os

import pytest
from msgspec import msgpack

from answer_keys.marking.marker import Marker
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.classes.shipping import batches_of, keep_marks, marks_at_hand
from generator.classes.work import marking
from tests.answer_keys.samples import TEST_IDS, Writer, sample_key, work_through

KEY = sample_key()
MARKER = Marker(
    key=KEY,
    rubric=rubric_from_text(rubric_text()),
    students=frozenset({"s01", "s02"}),
)


@pytest.fixture
def folder(tmp_path):
    """Work of two students, one in a folder with a name that is no UTF-8, and more."""
    within = tmp_path / os.fsdecode(b"K\xf6rbe")
    within.mkdir()
    for student, place in (("s01", tmp_path), ("s02", within)):
        writer = Writer(student=student)
        work_through(writer, KEY.of_student(student)[1], TEST_IDS[:2])
        (place / f"{student}.jsonl").write_bytes(writer.bytes())
    (tmp_path / "broken.jsonl").write_bytes(b"\xff\x00")
    (tmp_path / "link.jsonl").symlink_to("s01.jsonl")
    return tmp_path


def test_far_machine_marks_as_this_one_does(folder, tmp_path_factory):
    """Names, times, marks and refusals come back whole; links are never followed."""
    batches = batches_of(MARKER, folder)
    (share,) = batches.shares
    marked = (batches.unread, marking.do(batches.shipment(share)))
    kept = [tmp_path_factory.mktemp("marks") / name for name in ("0", "1")]
    for path, share in zip(kept, marked, strict=True):
        keep_marks(path, share)
    there = {one.name: one for one in marks_at_hand(kept)(MARKER, folder)}
    here = {one.name: one for one in MARKER.marked_in(folder)}
    assert there == here
    assert len(here) == 4


def test_what_comes_back_is_checked_before_it_is_kept(tmp_path):
    """Bytes that are no marks are taken for none, and nothing is graded by them."""
    with pytest.raises(ValueError, match="Expected"):
        keep_marks(tmp_path / "share", msgpack.encode([{"name": 1}]))
    assert list(tmp_path.iterdir()) == []


def test_much_is_sent_in_shares(tmp_path):
    """A worker that is lost costs a share, and neighbours stay together."""
    for number in range(450):
        (tmp_path / f"{number:03}.jsonl").write_bytes(b"x")
    shares = batches_of(MARKER, tmp_path).shares
    assert [len(share) for share in shares] == [200, 200, 50]
    assert [name for share in shares for name in share] == sorted(
        path.name for path in tmp_path.iterdir()
    )
