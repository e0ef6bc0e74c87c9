"""Kills a process of its own at a chosen change that it makes to a folder."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).parents[1]
# How many kills a test makes besides those at the places that it names.
KILLS = int(os.environ.get("KILLS", "2"))
_WATCH = """
import json, os, signal, sys
folder, at = sys.argv[1], int(sys.argv[2])
changes = []
def watch(event, given):
    is_change = event in {"os.rename", "os.mkdir", "os.rmdir", "os.remove"}
    is_change |= event == "open" and isinstance(given[1], str) and "r" not in given[1]
    is_change |= event == "open" and given[1] is None and bool(given[2] & os.O_CREAT)
    if is_change and str(given[0]).startswith(folder):
        if len(changes) == at:
            os.kill(os.getpid(), signal.SIGKILL)
        changes.append(event)
sys.addaudithook(watch)
"""


def changes_of(code, folder):
    """What a program changes below a folder, by name, one after the other."""
    said = _run(code, folder, -1, "\nprint(json.dumps(changes))")
    assert said.returncode == 0, said.stderr
    return json.loads(said.stdout)


def kill(code, folder, at):
    """Run it again elsewhere, and kill it right before one of these."""
    said = _run(code, folder, at)
    assert said.returncode == -signal.SIGKILL, said.stderr


def places(changes):
    """Where to kill: around every renaming, and some more, evenly spread."""
    renamed = [at for at, what in enumerate(changes) if what == "os.rename"]
    around = {each for at in renamed for each in (at, at + 1) if each < len(changes)}
    spread = {len(changes) * number // KILLS for number in range(KILLS)}
    return sorted(around | spread)


def _run(code, folder, at, end=""):
    command = [sys.executable, "-c", f"{_WATCH}\n{code}{end}", str(folder), str(at)]
    environment = os.environ | {"PYTHONPATH": str(PROJECT)}
    return subprocess.run(
        command, capture_output=True, text=True, env=environment, check=False
    )
