"""The demo: a class from nothing to a report, in a folder of its own."""

import json
import subprocess
from pathlib import Path

import pytest

from generator.commands import demo
from generator.week.class_list import invented_list
from tests.cli.command import error_of, run


@pytest.fixture(autouse=True)
def small_class(tmp_path, monkeypatch):
    """Work in an empty folder, with one student where the demo has twelve."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(demo, "invented_list", lambda _: invented_list(1))


def test_demo_takes_a_free_name_and_says_what_to_open(tmp_path):
    """An older demo stays; every path that is named is there."""
    (tmp_path / "clampbook-demo").mkdir()
    result = run("demo", "--json")
    told = json.loads(result.stdout)
    assert told["folder"] == "clampbook-demo-2"
    assert [student["status"] for student in told["graded"]] == ["graded"]
    named = [w for w in result.stderr.split() if w.startswith("clampbook-demo-2/")]
    assert len(named) == 3
    assert all(Path(name).exists() for name in named)
    assert list((tmp_path / "clampbook-demo").iterdir()) == []


def test_demo_opens_a_workbook_where_it_lies(tmp_path, monkeypatch):
    """Jupyter is started in the folder of the workbook, on that workbook alone."""
    started = []
    monkeypatch.setattr(subprocess, "run", lambda *a, **k: started.append((*a, k)))
    run("demo", "--open", "--out=mine")
    ((command, options),) = started
    (workbook,) = (tmp_path / "mine").glob("for-students/s01/*.ipynb")
    assert command[1:4] == ["-m", "notebook", workbook.name]
    assert options["cwd"].resolve() == workbook.parent


def test_demo_refuses_a_name_that_is_taken(tmp_path):
    """A folder that was named and exists is not touched."""
    (tmp_path / "mine").mkdir()
    assert "exists already" in error_of("demo", "--out=mine")
