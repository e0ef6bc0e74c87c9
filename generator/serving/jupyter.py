"""Workbooks in a Jupyter Notebook of this machine, with a kernel of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from generator.writing.site.shared import EXTENSIONS

__all__ = ["SETTINGS", "jupyter_command", "open_jupyter"]

# No news, updates or extensions are asked of other hosts, and no page lists what others
# have opened.
SETTINGS = Path(__file__).parent / "settings"
_PATH = "JUPYTER_CONFIG_PATH"


def jupyter_command(file: str = "", *options: str) -> list[str]:
    """Return the command that opens Notebook with our page extension.

    Parameters
    ----------
    file : str
        What to open; the list of files where it is empty.
    options : str
        Options of Notebook's own.
    """
    extension = f"--JupyterNotebookApp.extra_labextensions_path={EXTENSIONS}"
    files = [file] if file else []
    command = [sys.executable, "-m", "notebook", *files, extension, *options]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        # Jupyter refuses to start for root, as in a container, unless told.
        command.append("--allow-root")
    return command


def open_jupyter(folder: Path, file: str = "", *options: str) -> None:
    """Open a folder or a file of it in a local Jupyter, until it is stopped."""
    # Our own interpreter, and files that this command has written.
    subprocess.run(  # noqa: S603
        jupyter_command(file, *options), cwd=folder, env=_environment(), check=False
    )


def _environment() -> dict[str, str]:
    """Jupyter's settings: ours before those of this computer."""
    earlier = filter(None, [os.environ.get(_PATH)])
    return os.environ | {_PATH: os.pathsep.join([str(SETTINGS), *earlier])}
