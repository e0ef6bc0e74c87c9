"""Finding the workbook's own notebook."""

import json

import pytest

from tests.workbook.sample import SET_ID, exercise, write_workbook
from workbook.errors import NotebookError, SealError
from workbook.page.finder import find_notebook
from workbook.record.payload import exercises_from_payload
from workbook.record.sealed import seal


def test_only_workbook_is_found(tmp_path):
    """Without a session name, the folder's only workbook is taken."""
    path = write_workbook(tmp_path)
    (tmp_path / "scratch.ipynb").write_text('{"metadata": {}}')
    (tmp_path / "broken.ipynb").write_text("{")
    found = find_notebook(tmp_path, {})
    assert (found.path, found.set_id, found.mode) == (path, SET_ID, "practice")
    assert sorted(found.exercises) == [1, 2]


def test_student_may_be_called_by_an_address(tmp_path):
    """Every id that a class list may hold opens its workbook."""
    write_workbook(tmp_path, student="ada+shop@class.example")
    assert find_notebook(tmp_path, {}).student == "ada+shop@class.example"


@pytest.mark.parametrize("where", ["", "/srv/elsewhere/", "lesson/"])
def test_session_name_decides_between_workbooks(tmp_path, where):
    """The server's session name picks one of several, whatever its folder part."""
    write_workbook(tmp_path, student="s01")
    path = write_workbook(tmp_path, student="s02")
    found = find_notebook(tmp_path, {"JPY_SESSION_NAME": f"{where}{path.name}"})
    assert found.student == "s02"


@pytest.mark.parametrize("name", ["scratch.ipynb", "gone.ipynb", "console-1-abc"])
def test_session_name_that_is_no_workbook_is_passed_over(tmp_path, name):
    """A session of another notebook still finds the folder's only workbook."""
    write_workbook(tmp_path)
    (tmp_path / "scratch.ipynb").write_text('{"metadata": {}}')
    assert find_notebook(tmp_path, {"JPY_SESSION_NAME": name}).student == "s01"


def test_several_workbooks_are_an_error(tmp_path):
    """Several workbooks and no session name: the student is told what to do."""
    write_workbook(tmp_path, student="s01")
    write_workbook(tmp_path, student="s02")
    with pytest.raises(NotebookError, match="a folder of its own") as caught:
        find_notebook(tmp_path, {})
    assert len(caught.value.paths) == 2


def test_no_workbook_is_an_error(tmp_path):
    """No workbook: the student is told what to look for."""
    with pytest.raises(NotebookError, match="No workbook was found"):
        find_notebook(tmp_path, {})


def test_damaged_seal_names_the_file(tmp_path):
    """Damaged readings: the message names the file and says that answers are kept."""
    path = write_workbook(tmp_path, sealed="xx")
    with pytest.raises(SealError, match=f"{path.name}.*are kept"):
        find_notebook(tmp_path, {})


@pytest.mark.parametrize(
    ("key", "value"), [("format", 2), ("set_id", "../up"), ("student", None)]
)
def test_foreign_metadata_is_refused(tmp_path, key, value):
    """Another format, or an id that is no plain file name, is refused."""
    path = write_workbook(tmp_path)
    notebook = json.loads(path.read_text())
    notebook["metadata"]["clampbook"][key] = value
    path.write_text(json.dumps(notebook))
    with pytest.raises(NotebookError):
        find_notebook(tmp_path, {})


def test_payload_without_a_test_field_is_refused():
    """A payload that lacks something is refused, not half used."""
    broken = exercise(1)
    del broken["tests"][0]["display"]
    with pytest.raises(SealError, match="display"):
        exercises_from_payload({"format": 1, "exercises": [broken]})


def test_payload_without_feedback_to_a_test_is_refused():
    """Feedback covers every prediction and test, or there is none at all."""
    broken = exercise(1)
    del broken["feedback"]["tests"]["voltage_85"]
    with pytest.raises(SealError, match="every step of exercise 1"):
        exercises_from_payload({"format": 1, "exercises": [broken]})


def test_seal_of_a_list_of_nothing_is_refused(tmp_path):
    """A seal without exercises is told apart from one with none."""
    write_workbook(tmp_path, sealed=seal({"format": 1}))
    with pytest.raises(SealError, match="exercises"):
        find_notebook(tmp_path, {})
