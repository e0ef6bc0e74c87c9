"""Class sets that the command's tests share; each test that writes gets a copy."""

import shutil

import pytest

from generator.writing import set_writing
from tests.cli.command import run
from tests.writing.drawn import OTHER_SECRET, SECRET


def _generated(folder, secret, *arguments):
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("CLAMPBOOK_PASSPHRASE", raising=False)
        patch.setattr(set_writing, "new_class_secret", lambda: secret)
        run("generate", "--out", folder, *arguments)
    return folder


@pytest.fixture(scope="session")
def graded_set(tmp_path_factory):
    """A graded set of two students with two exercises each, handed in."""
    folder = tmp_path_factory.mktemp("graded") / "week-3"
    _generated(folder, SECRET, "--students=2", "--exercises=2", "--mode=graded")
    run("simulate", folder, "--kinds=novice")
    return folder


@pytest.fixture(scope="session")
def practice_set(tmp_path_factory):
    """A practice set of another secret: one student with three exercises."""
    folder = tmp_path_factory.mktemp("practice") / "week-1"
    return _generated(folder, OTHER_SECRET, "--students=1", "--exercises=3")


@pytest.fixture
def own(graded_set, tmp_path):
    """A copy of the graded set to work in."""
    return shutil.copytree(graded_set, tmp_path / "own")


@pytest.fixture(scope="session")
def graded_once(graded_set, tmp_path_factory):
    """The graded set, its hand-ins graded."""
    folder = shutil.copytree(graded_set, tmp_path_factory.mktemp("once") / "week-3")
    run("grade", folder, env={"CLAMPBOOK_PASSPHRASE": None})
    return folder


@pytest.fixture
def graded(graded_once, tmp_path):
    """A copy of it to work in."""
    return shutil.copytree(graded_once, tmp_path / "graded")


@pytest.fixture(autouse=True)
def no_passphrase(monkeypatch):
    """Keep a passphrase of the person who runs the tests out of them."""
    monkeypatch.delenv("CLAMPBOOK_PASSPHRASE", raising=False)
