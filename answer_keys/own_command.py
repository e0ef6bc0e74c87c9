"""Our own commands in messages, as they can be typed where the user stands."""

from __future__ import annotations

import os
import shlex
import shutil
import sys
from pathlib import Path

_NAME = "clampbook"


def typed(arguments: str = "") -> str:
    """Give one of our commands as this user can type it in this folder.

    Parameters
    ----------
    arguments : str
        What comes behind the name of the program.

    Returns
    -------
    str
        With the bare name where the shell finds the program that runs, else with its
        path: who has not activated an environment types ``.venv/bin/clampbook``.
    """
    return f"{_program()} {arguments}".rstrip()


def extra_hint(extra: str) -> str:
    """Tell how to install an extra of this package, which no index has.

    Parameters
    ----------
    extra : str
        Its name in ``pyproject.toml``.
    """
    command = _line([sys.executable, "-m", "pip", "install", f".[{extra}]"])
    return f"in the folder that Clampbook was installed from, type: {command}"


def _program() -> str:
    running = Path(sys.argv[0])
    if running.stem != _NAME:
        # A test or a program calls us: there is no path that a user has typed.
        return _NAME
    found = shutil.which(_NAME)
    if found and _resolved(Path(found)) == _resolved(running):
        return _NAME
    return _line([str(_from_here(running))])


def _resolved(program: Path) -> Path:
    # Windows leaves out the suffix .exe of what it starts.
    return program.resolve().with_suffix("")


def _from_here(program: Path) -> Path:
    whole = Path(os.path.abspath(program))  # noqa: PTH100 - links stay as typed
    try:
        return whole.relative_to(Path.cwd())
    except ValueError:
        return whole


def _line(words: list[str]) -> str:
    if os.name == "nt":
        return " ".join(f'"{word}"' if " " in word else word for word in words)
    return shlex.join(words)
