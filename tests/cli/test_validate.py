"""Validation of a set by the command: what it says, and its exit code."""

import json
import shutil
from xml.sax.saxutils import quoteattr

import pytest

from tests.cli.command import run


@pytest.fixture
def own_practice(practice_set, tmp_path):
    """A copy of the practice set, and the name of its one workbook."""
    folder = shutil.copytree(practice_set, tmp_path / "set")
    (path,) = folder.glob("for-students/*/*.ipynb")
    return folder, path.relative_to(folder).as_posix()


def test_sound_set_is_said_to_be_sound(own_practice):
    """A set as it was written passes, every workbook run by a kernel."""
    folder, name = own_practice
    result = run("validate", folder, "--json")
    exercises = {f"s01 exercise {number}": [] for number in (1, 2, 3)}
    assert json.loads(result.stdout) == {
        "sound": True,
        "workbooks": {name: []},
        "paper": {},
        "exercises": exercises,
        "class": {},
    }
    assert "1 of 1 workbooks are sound." in result.stderr
    assert "3 of 3 exercises are sound." in result.stderr


def test_faults_are_named_by_file_and_exit_with_1(own_practice):
    """A changed workbook and a stray file are both named."""
    folder, name = own_practice
    path = folder / name
    path.write_text(path.read_text("utf-8").replace("voltage", "tension"), "utf-8")
    path.with_name("key [copy].txt").write_text("x", encoding="utf-8")
    stray = f"{name.rpartition('/')[0]}/key [copy].txt"
    report = folder.parent / "report.xml"
    result = run("validate", folder, "--json", "--junit", report, code=1)
    told = json.loads(result.stdout)
    assert not told["sound"]
    assert sorted(told["workbooks"]) == sorted([name, stray])
    assert f"{name}: is not what its secret gives" in result.stderr
    assert f"{stray}: is no file of this set" in result.stderr
    assert "0 of 2 workbooks are sound." in result.stderr
    assert f"<testcase name={quoteattr(stray)}" in report.read_text("utf-8")
