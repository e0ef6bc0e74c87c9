"""What a machine has and lacks is said in words, and decides the exit code."""

import builtins
import json
import os
import shutil
import sys
from importlib import metadata
from pathlib import Path

import pytest

from generator.week.machine import checks
from tests.cli.command import json_of, run


def found(name):
    """The check of a name."""
    return next(check for check in checks() if check.name == name)


@pytest.fixture
def kernel(tmp_path, monkeypatch):
    """Make up a kernel called python3 that starts a program."""

    def make(program):
        folder = tmp_path / "kernels" / "python3"
        folder.mkdir(parents=True)
        spec = {"argv": [str(program), "-m", "x"], "display_name": "", "language": ""}
        (folder / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")
        monkeypatch.setenv("JUPYTER_PATH", str(tmp_path))

    return make


def test_machine_that_runs_these_tests_is_ready():
    """Everything needed is there, each thing named once, in text and in JSON."""
    told = json_of("doctor")
    names = [check["name"] for check in told["checks"]]
    assert told["sound"]
    assert len(set(names)) == len(names)
    assert {"Python", "anywidget", "kernel python3", "this folder"} <= set(names)
    *lines, verdict = run("doctor").stderr.splitlines()
    assert verdict == "This machine is ready."
    assert len(lines) == len(names)
    assert all(line.startswith(("good  ", "none  ")) for line in lines)


def test_missing_package_is_named_and_fails(monkeypatch):
    """A package that is not installed makes the machine unfit."""

    def version(name):
        if name == "anywidget":
            raise metadata.PackageNotFoundError(name)
        return "1.0"

    monkeypatch.setattr(metadata, "version", version)
    result = run("doctor", code=1)
    assert "BAD   anywidget       not installed" in result.stderr
    assert not json_of("doctor", code=1)["sound"]


def test_kernel_without_the_workbook_package_is_found(kernel):
    """A kernel of another Python cannot open a workbook."""
    program = shutil.which("false")
    kernel(program)
    check = found("kernel python3")
    assert not check.is_sound
    assert check.found == f"{program} cannot import the workbook package"


def test_kernel_whose_program_is_gone_is_found(kernel, tmp_path):
    """A kernel that was left by an uninstalled Python is no kernel."""
    kernel(tmp_path / "gone")
    assert not found("kernel python3").is_sound


def test_kernel_with_a_bare_name_is_our_own_python(kernel):
    """Jupyter starts its own Python where the kernel only says python."""
    kernel("python")
    check = found("kernel python3")
    assert (check.is_sound, check.found) == (True, sys.executable)


def test_missing_jupyter_is_a_finding(monkeypatch):
    """Where Jupyter is not installed at all, doctor still tells the rest."""
    real = builtins.__import__

    def without(name, *rest):
        if name.startswith("jupyter_client"):
            raise ImportError(name)
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)
    assert found("kernel python3").found == "Jupyter is not installed"


def test_folder_that_cannot_be_written_is_found(monkeypatch):
    """The folder that a set would be written to is tried."""
    real, here = os.access, Path.cwd()
    monkeypatch.setattr(os, "access", lambda p, mode: p != here and real(p, mode))
    check = found("this folder")
    assert not check.is_sound
    assert check.found.endswith("cannot be written")


def test_what_only_some_commands_need_is_said_with_what_lacks(monkeypatch, tmp_path):
    """Without programs, extras and a built site the machine is fit for a class."""
    monkeypatch.setattr(shutil, "which", lambda _: None)
    monkeypatch.setattr("generator.week.machine.cache_folder", lambda: tmp_path)
    for module in ("weasyprint", "pypdfium2", "psycopg"):
        monkeypatch.setitem(sys.modules, module, None)
    told = json_of("doctor")
    assert told["sound"]
    lacks = {c["name"]: c["found"] for c in told["checks"] if not c["sound"]}
    programs = ["node", "npm", "ngspice", "chromium", "firefox-esr"]
    assert list(lacks) == [
        "PDF",
        "PDF check",
        "PostgreSQL",
        "site's parts",
        *programs,
    ]
    assert all("without it" in lacks[name] for name in ("PDF", "PostgreSQL", "npm"))
    assert "pip install '.[print]'" in lacks["PDF"]
    assert "pip install '.[postgres]'" in lacks["PostgreSQL"]


def test_site_that_was_built_before_is_found(monkeypatch, tmp_path):
    """The first build needs the network; doctor says whether it is done."""
    (tmp_path / "shared-0123").mkdir()
    monkeypatch.setattr("generator.week.machine.cache_folder", lambda: tmp_path)
    assert found("site's parts").found == f"built, in {tmp_path}"
