"""A shortcut on the instructor's desktop that opens the desk by a double click."""

from __future__ import annotations

import os
import shlex
import sys
from pathlib import Path

from platformdirs import user_desktop_path

from answer_keys.written_files import naming
from generator.errors import WritingError

_NAME = "Clampbook"
_PROGRAM = "clampbook-desk"
_LINUX = """\
[Desktop Entry]
Type=Application
Name=Clampbook
Comment=A week with a class: make, give out, collect, mark
Exec={command}
Terminal=false
Categories=Education;
"""
_MACOS = """\
#!/bin/sh
# Opens the desk in your browser. This window may be closed when the desk has ended.
exec {command}
"""
# The first line lets the path of the program hold letters of any language.
_WINDOWS = """\
@chcp 65001 >nul
@start "Clampbook" {command}
"""


class ShortcutError(WritingError):
    """A shortcut that cannot be written, and what to do."""


def program() -> Path:
    """Return the program that opens the desk, beside the Python that runs.

    Raises
    ------
    ShortcutError
        Where this Clampbook was not installed.
    """
    ending = ".exe" if sys.platform == "win32" else ""
    path = Path(sys.executable).with_name(f"{_PROGRAM}{ending}")
    if not path.is_file():
        raise ShortcutError(
            f"{path}: is not there, so nothing could be opened by a double click. "
            "Install Clampbook as the README says, and make the shortcut then."
        )
    return path


def shortcut_file(system: str, opens: Path, sets: Path | None) -> tuple[str, str]:
    """Return name and text of a shortcut.

    Parameters
    ----------
    system : str
        As `sys.platform` has it.
    opens : pathlib.Path
        The program.
    sets : pathlib.Path or None
        The folder of sets; None is the usual one.
    """
    words = [str(opens), *([] if sets is None else [str(sets)])]
    if system == "win32":
        # A percent sign would begin the name of a variable (cmd.exe, from memory).
        command = " ".join(f'"{word}"' for word in words).replace("%", "%%")
        return f"{_NAME}.cmd", _WINDOWS.format(command=command).replace("\n", "\r\n")
    if system == "darwin":
        return f"{_NAME}.command", _MACOS.format(command=shlex.join(words))
    command = " ".join(map(_quoted, words))
    return f"{_NAME.lower()}.desktop", _LINUX.format(command=command)


def _quoted(word: str) -> str:
    """Quote a word as the Desktop Entry Specification asks, section The Exec key."""
    for sign in ("\\", '"', "`", "$"):
        word = word.replace(sign, f"\\{sign}")
    # Backslashes are halved once more when the file is read; a percent sign stands
    # for what a file manager fills in.
    return '"' + word.replace("\\", "\\\\").replace("%", "%%") + '"'


def write_shortcut(sets: Path | None, desktop: Path | None = None) -> Path:
    """Write the shortcut of this system; an older one is replaced.

    Parameters
    ----------
    desktop : pathlib.Path or None
        Where to; None is the desktop of this user.

    Raises
    ------
    ShortcutError
        Where there is nothing to open, or the desktop cannot be written.
    """
    folder = user_desktop_path() if desktop is None else desktop
    name, text = shortcut_file(sys.platform, program(), sets and sets.resolve())
    path = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with naming(path):
            path.write_bytes(text.encode())
    except OSError as error:
        raise ShortcutError(
            f"{path}: cannot be written ({error.strerror}). Make the folder writable."
        ) from error
    if os.name == "posix":
        path.chmod(0o755)
    return path
