"""Files are marked in processes of their own, and a bad one costs itself alone."""

import os
import signal
from dataclasses import dataclass
from threading import Event

import pytest

from answer_keys.errors import AnswerKeysError
from answer_keys.hand_ins.limits import MAX_READER_BYTES
from answer_keys.marking.marker import Marker
from answer_keys.marking.rubric import rubric_from_text, rubric_text
from generator.grading.processes import mark_in_processes
from tests.answer_keys.samples import TEST_IDS, Writer, sample_key, work_through

KEY = sample_key()
RUBRIC = rubric_from_text(rubric_text())
MARKER = Marker(key=KEY, rubric=RUBRIC, students=frozenset({"s01", "s02", "s03"}))


@dataclass(frozen=True)
class Bewitched:
    """Marks as it should, save files that make it break down as their names say."""

    marker: Marker

    def marked(self, found):
        return self.marker.marked(found)

    def marked_at(self, folder, name):
        match name.removesuffix(".jsonl"):
            case "endless":
                Event().wait()  # as silent as work without an end, and cheaper
            case "killed":
                os.kill(os.getpid(), signal.SIGKILL)
            case "greedy":
                bytearray(2 * MAX_READER_BYTES)
            case "writing":
                (folder / "written").write_bytes(b"x")
        return self.marker.marked_at(folder, name)


@pytest.fixture
def folder(tmp_path):
    """A folder with work of three students and a broken file."""
    for student in ("s01", "s02", "s03"):
        writer = Writer(student=student)
        work_through(writer, KEY.of_student(student)[1], TEST_IDS[:2])
        (tmp_path / f"{student}.jsonl").write_bytes(writer.bytes())
    (tmp_path / "broken.jsonl").write_bytes(b"\xff\x00")
    return tmp_path


def by_name(marked):
    """What was marked, by the name of the file."""
    return {one.name: one for one in marked}


@pytest.mark.parametrize("workers", [1, 3])
def test_other_processes_mark_as_this_one_does(folder, workers):
    """Marks, reasons, journals and refusals come across whole."""
    here = by_name(MARKER.marked_in(folder))
    there = by_name(mark_in_processes(MARKER, folder, workers=workers))
    assert there == here
    assert sum(one.work is not None for one in there.values()) == 3


def test_nothing_handed_in_starts_nothing(tmp_path):
    """An empty folder gives nothing."""
    assert list(mark_in_processes(MARKER, tmp_path)) == []


@pytest.mark.skipif(os.name == "nt", reason="Windows has limits of time alone")
def test_file_that_breaks_its_reader_costs_itself_alone(folder):
    """Endless, greedy, killed, writing: each is named, and the others are marked."""
    bad = ("endless", "greedy", "killed", "writing")
    for name in bad:
        (folder / f"{name}.jsonl").write_bytes(b"x")
    marked = by_name(
        mark_in_processes(Bewitched(MARKER), folder, workers=2, patience_s=4.0)
    )
    assert {name for name, one in marked.items() if one.work} == {
        "s01.jsonl",
        "s02.jsonl",
        "s03.jsonl",
    }
    assert "took over 4 s" in marked["endless.jsonl"].refusal
    for name in ("greedy", "killed", "writing"):
        assert "broke down" in marked[f"{name}.jsonl"].refusal
    # The place is made, and not a byte comes into it.
    assert (folder / "written").read_bytes() == b""


class Unstartable(Bewitched):
    """Breaks down before it marks anything."""

    def __setstate__(self, _):
        os.kill(os.getpid(), signal.SIGKILL)


def test_process_that_cannot_start_is_told(folder):
    """One text, and no endless hiring."""
    with pytest.raises(AnswerKeysError, match="cannot start"):
        list(mark_in_processes(Unstartable(MARKER), folder))
