"""Class sets that the command's tests share; each test that writes gets a copy."""

import shutil

import pytest

from generator.sets import set_writing
from tests.answer_keys.pictures import drawn_once
from tests.cli.command import run
from tests.drawn import OTHER_SECRET, SECRET
from tests.kept import kept_folder


def _generated(folder, secret, *arguments):
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CLAMPBOOK_PASSPHRASE", raising=False)
        patch.setattr(set_writing, "new_class_secret", lambda: secret)
        run("generate", "--out", folder, *arguments)


@pytest.fixture(scope="session")
def graded_set(tmp_path_factory):
    """A graded set of two students with two exercises each, handed in."""

    def fill(folder):
        asked = "--students=2", "--exercises=2", "--mode=graded"
        _generated(folder, SECRET, *asked, "--lessons=control-side,mixed-diagnosis")
        run("simulate", folder, "--kinds=novice")

    return kept_folder("week-3", fill, tmp_path_factory.mktemp("graded"))


@pytest.fixture(scope="session")
def practice_set(tmp_path_factory):
    """A practice set of another secret: one student with three exercises."""

    def fill(folder):
        asked = "--students=1", "--exercises=3"
        _generated(folder, OTHER_SECRET, *asked, "--lessons=turn-off,mixed-diagnosis")

    return kept_folder("week-1", fill, tmp_path_factory.mktemp("practice"))


@pytest.fixture
def own(graded_set, tmp_path):
    """A copy of the graded set to work in."""
    return shutil.copytree(graded_set, tmp_path / "own")


@pytest.fixture(scope="session")
def graded_once(graded_set, tmp_path_factory):
    """The graded set, its hand-ins graded."""

    def fill(folder):
        shutil.copytree(graded_set, folder)
        run("grade", folder, env={"CLAMPBOOK_PASSPHRASE": None})

    return kept_folder("week-3-graded", fill, tmp_path_factory.mktemp("once"))


@pytest.fixture
def graded(graded_once, tmp_path):
    """A copy of it to work in."""
    return shutil.copytree(graded_once, tmp_path / "graded")


@pytest.fixture(autouse=True)
def known_secret(monkeypatch):
    """Draw the same at every run; what has to be of chance says so."""
    monkeypatch.setattr(set_writing, "new_class_secret", lambda: SECRET)


@pytest.fixture(scope="module", autouse=True)
def pictures_once():
    """Draw no picture of a report twice."""
    with drawn_once():
        yield


@pytest.fixture
def readers():
    """Let other processes read what was handed in, as grading does."""


@pytest.fixture(autouse=True)
def read_here(request):
    """Read what was handed in in this process: each other one takes a second.

    That both give the same, `tests/grading/test_processes.py` shows.
    """
    with pytest.MonkeyPatch.context() as patch:
        if "readers" not in request.fixturenames:
            patch.setattr("generator.week.marking.mark_in_processes", _marked_here)
        yield


def _marked_here(marker, folder, *, workers):  # noqa: ARG001 - of the others
    return marker.marked_in(folder)


@pytest.fixture(autouse=True)
def no_passphrase(monkeypatch):
    """Keep a passphrase of the person who runs the tests out of them."""
    monkeypatch.delenv("CLAMPBOOK_PASSPHRASE", raising=False)
