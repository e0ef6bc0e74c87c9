"""What is older than a day is kept no longer."""

import json
import shutil
from datetime import UTC, datetime, timedelta

import pytest

from generator.sets.class_set import read_class_set
from tests.cli.command import error_of, json_of, run

TOMORROW = f"{datetime.now(UTC) + timedelta(days=2):%Y-%m-%d}"


@pytest.fixture
def graded(graded_once, tmp_path):
    """A copy of the graded set to work in."""
    return shutil.copytree(graded_once, tmp_path / "week-3")


def test_old_work_and_its_pages_go(graded):
    """Rows and pages; hand-ins stay, and what else to look at is told."""
    set_id = read_class_set(graded).set_id
    result = run("forget", graded, "--before", TOMORROW, "--json")
    told = json.loads(result.stdout)
    assert told["students"] == {set_id: ["s01", "s02"]}
    assert told["rows"]["hand_in"] == 2
    assert str(graded / "results" / "class-report.html") in told["deleted"]
    assert f"about 2 students (sets: {set_id}), and" in result.stderr
    left = {path.name for path in (graded / "results").rglob("*") if path.is_file()}
    assert left == {"gradebook.sqlite"}
    assert len(list((graded / "handed-in").iterdir())) == 2
    assert json_of("grade", graded)["gradings_added"] == 2


def test_no_page_outlives_the_rows_that_name_its_student(graded, monkeypatch):
    """Pages go first, so that what is left after a fault is found the next time."""

    def fail(*_):
        raise OSError(28, "No space left on device", "gradebook.sqlite")

    with monkeypatch.context() as faulty:
        faulty.setattr("answer_keys.gradebook.gradebook_persons.forget_old", fail)
        assert run("forget", graded, "--before", TOMORROW, code=1).exit_code == 1
    left = {path.name for path in (graded / "results").rglob("*") if path.is_file()}
    assert left == {"gradebook.sqlite"}
    assert json_of("forget", graded, "--before", TOMORROW)["rows"]["hand_in"] == 2


def test_what_is_new_stays(graded):
    """A day before the grading is older than nobody's work."""
    before = sorted((graded / "results").rglob("*"))
    said = run("forget", graded, "--before", "2020-01-31").stderr
    assert "Nobody's work is older than 2020-01-31; nothing was deleted." in said
    assert sorted((graded / "results").rglob("*")) == before


def test_database_of_a_school_is_cleared_without_its_folders(graded, tmp_path):
    """By its address alone; a set that was never in it is none of it."""
    address = f"sqlite:///{graded / 'results' / 'gradebook.sqlite'}"
    told = json_of("forget", "--gradebook", address, "--before", TOMORROW)
    assert [len(ids) for ids in told["students"].values()] == [2]
    assert told["deleted"] == []
    said = error_of("forget", "--before", TOMORROW, code=2)
    assert "nothing is named. Name sets, or give --gradebook" in said
    said = error_of("forget", tmp_path / "none", "--before", TOMORROW)
    assert "there is no such folder" in said
