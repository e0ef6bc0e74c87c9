"""A class set whose writing is killed: none under its name, and no secret for long."""

import os

import pytest

from generator.drawing.request import Request, Student
from generator.sets.class_set import open_key, read_class_set
from generator.sets.set_writing import write_class_set
from tests.drawn import SECRET
from tests.killed import changes_of, kill, places

REQUEST = Request(
    lessons=("mixed-diagnosis",),
    students=(Student(id="ada", name="Ada"),),
    exercises=1,
    mode="graded",
)
WRITE = """
from pathlib import Path
from generator.sets.set_writing import write_class_set
from tests.drawn import SECRET
from tests.sets.test_kills import REQUEST
write_class_set(Path({folder!r}), REQUEST, secret=SECRET)
"""


def killed_in(folder, at):
    """Where the draft of a set lies that was killed at a change; none if whole."""
    folder.mkdir()
    made = folder / f"week {at}"
    kill(WRITE.format(folder=str(made)), folder, at)
    if made.exists():
        open_key(read_class_set(made))
    return next(folder.glob(f".{made.name}.part-*"), None)


@pytest.mark.nightly
def test_next_set_removes_what_killed_runs_left(tmp_path):
    """No secret and no class list stays hidden; a draft in work and others' do."""
    place, first = tmp_path / "place", tmp_path / "first"
    place.mkdir()
    first.mkdir()
    (place / f".other.part-{os.getppid()}" / "for-instructor").mkdir(parents=True)
    (place / ".mine.part-99999999" / "thesis").mkdir(parents=True)
    kept = {path.name for path in place.iterdir()}
    changes = changes_of(WRITE.format(folder=str(first / "SET")), first)
    drafts = [killed_in(tmp_path / str(at), at) for at in places(changes)]
    left = [draft.rename(place / draft.name) for draft in drafts if draft]
    assert any((path / "for-instructor" / "class-secret.txt").exists() for path in left)
    write_class_set(place / "next", REQUEST, secret=SECRET)
    assert {path.name for path in place.glob(".*")} == kept


def test_folder_of_a_killed_run_stops_no_other(tmp_path):
    """Where numbers of processes come again, as in a container."""
    (tmp_path / f".SET.part-{os.getpid()}" / "for-instructor").mkdir(parents=True)
    write_class_set(tmp_path / "SET", REQUEST, secret=SECRET)
    assert [path.name for path in tmp_path.iterdir()] == ["SET"]
