"""Commands in messages work as they are printed, wherever the user stands."""

import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from answer_keys.own_command import extra_hint, typed


@pytest.fixture
def program(tmp_path, monkeypatch):
    """A program of our name in an environment below the folder where the user is."""
    path = tmp_path / "my env" / "bin" / "clampbook"
    path.parent.mkdir(parents=True)
    path.write_text("#!/bin/sh\necho called with $*\n")
    path.chmod(0o755)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", "/usr/bin:/bin")
    monkeypatch.setattr(sys, "argv", [str(path), "demo"])
    return path


def shell(line):
    """What a shell says to a line that was copied from a message."""
    done = subprocess.run(["/bin/sh", "-c", line], capture_output=True, text=True)
    return done.stdout.strip()


@pytest.mark.usefixtures("program")
def test_program_off_the_path_is_named_with_its_place():
    """Who has not activated the environment can copy the line all the same."""
    assert typed("show week-3") == "'my env/bin/clampbook' show week-3"
    assert shell(typed("show week-3")) == "called with show week-3"


def test_program_of_another_folder_has_its_whole_path(program, tmp_path, monkeypatch):
    """From elsewhere a short path would lead nowhere."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    assert shlex.split(typed("doctor")) == [str(program), "doctor"]
    assert shell(typed("doctor")) == "called with doctor"


def test_program_on_the_path_has_its_bare_name(program, tmp_path, monkeypatch):
    """An activated environment, or an installed tool that is linked from the path."""
    links = tmp_path / "links"
    links.mkdir()
    (links / "clampbook").symlink_to(program)
    monkeypatch.setenv("PATH", f"{links}:/usr/bin:/bin")
    assert typed("doctor") == "clampbook doctor"
    assert shell(typed("doctor")) == "called with doctor"


@pytest.mark.usefixtures("program")
def test_another_program_of_our_name_is_not_ours(tmp_path, monkeypatch):
    """A second installation that the shell would take does not hide the running one."""
    other = tmp_path / "other" / "clampbook"
    other.parent.mkdir()
    other.write_text("#!/bin/sh\n")
    other.chmod(0o755)
    monkeypatch.setenv("PATH", f"{other.parent}:/usr/bin:/bin")
    assert typed("doctor").startswith("'my env/bin/")


def test_caller_of_another_name_gets_the_bare_name():
    """Tests and other programs have typed nothing that could be repeated."""
    assert Path(sys.argv[0]).stem != "clampbook"
    assert typed() == "clampbook"


def test_extra_is_installed_by_the_python_that_runs(monkeypatch):
    """Nothing of our name is in an index: the extra comes from the project's folder."""
    monkeypatch.setattr(sys, "executable", "/opt/my env/bin/python")
    assert extra_hint("print") == (
        "in the folder that Clampbook was installed from, type: "
        "'/opt/my env/bin/python' -m pip install '.[print]'"
    )
