"""What is slow and shown elsewhere: pictures are drawn once, hand-ins read here."""

import shutil

import pytest

from tests.answer_keys.pictures import drawn_once
from tests.classes.school import new_school, run_here
from tests.kept import kept_folder


@pytest.fixture(scope="session")
def whole(tmp_path_factory):
    """A school whose sets were written without a stop."""

    def fill(folder):
        new_school(folder)
        run_here(folder)

    return kept_folder("school", fill, tmp_path_factory.mktemp("whole"))


@pytest.fixture
def own(whole, tmp_path):
    """A copy of it to work in."""
    return shutil.copytree(whole, tmp_path / "own")


@pytest.fixture(scope="module", autouse=True)
def pictures_once():
    """Draw no picture of a report twice."""
    with drawn_once():
        yield


@pytest.fixture(autouse=True)
def read_here(monkeypatch):
    """Read what was handed in in this process: each other one takes a second."""

    def here(marker, folder, *, workers):  # noqa: ARG001 - of the others
        return marker.marked_in(folder)

    monkeypatch.setattr("generator.week.marking.mark_in_processes", here)
    monkeypatch.delenv("CLAMPBOOK_PASSPHRASE", raising=False)
