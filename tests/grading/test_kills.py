"""Grading and reporting that are killed: the next run has it all, and nothing twice."""

import os
import shutil
import sqlite3

import pytest

from answer_keys.reports.report import drafts_below
from generator.sets import set_writing
from tests.cli.command import files_below, json_of, run
from tests.drawn import SECRET
from tests.killed import changes_of, kill, places

RUN = """
from generator.cli import main
main([{command!r}, {own!r}], standalone_mode=False)
"""


@pytest.fixture(scope="module")
def handed_in(tmp_path_factory):
    """A set whose class has handed in, and nothing of it is graded."""
    own = tmp_path_factory.mktemp("killed") / "week"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(set_writing, "new_class_secret", lambda: SECRET)
        asked = "--students=2", "--exercises=1", "--mode=graded"
        run("generate", *asked, "--out", own)
    run("simulate", own)
    shutil.rmtree(own / "results", ignore_errors=True)
    return own


def counted(own):
    """How many hand-ins a gradebook has, and how often they were graded."""
    with sqlite3.connect(own / "results" / "gradebook.sqlite") as database:
        count = "select count(*) from"
        rows = [database.execute(f"{count} {one}") for one in ("grading", "hand_in")]
        return [row.fetchone() for row in rows]


@pytest.mark.nightly
@pytest.mark.parametrize(
    "command", ["grade", pytest.param("report", marks=pytest.mark.release)]
)
def test_killed_run_loses_and_doubles_nothing(handed_in, tmp_path, command):
    """Killed before any change of a file, run again: as if never killed."""
    begun = shutil.copytree(handed_in, tmp_path / "begun")
    if command == "report":
        run("grade", begun)
    whole = shutil.copytree(begun, tmp_path / "whole" / "week")
    totals = json_of("grade", whole)["students"]
    own = tmp_path / "week"
    code = RUN.format(command=command, own=str(own))
    shutil.copytree(begun, own)
    for at in places(changes_of(code, own)):
        shutil.rmtree(own)
        shutil.copytree(begun, own)
        kill(code, own, at)
        assert json_of("grade", own)["students"] == totals, at
        assert counted(own) == counted(whole), at
        for draft in drafts_below(own / "results"):
            os.utime(draft, (0, 0))  # as long ago as the next grading mostly is
        run("report", own)
        assert files_below(own).keys() == files_below(whole).keys(), at
