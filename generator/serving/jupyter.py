"""Workbooks in a Jupyter Notebook of this machine, for the one who sits at it.

Whoever has its token runs programs as its user, so that it is no way to serve a class.
"""

from __future__ import annotations

import json
import os
import secrets
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from answer_keys.written_files import write_private
from generator.site.shared import EXTENSIONS
from generator.surroundings import plain_environment

# No news, updates or extensions are asked of other hosts.
SETTINGS = Path(__file__).parent / "settings"
_PATH = "JUPYTER_CONFIG_PATH"
# What is said here counts before all settings of this computer.
_ALONE = (
    "--ServerApp.ip=127.0.0.1",
    "--ServerApp.allow_remote_access=False",
    "--ServerApp.terminals_enabled=False",
)


def open_jupyter(folder: Path, file: str = "", *options: str) -> None:
    """Open a folder of workbooks in a Jupyter of our own, until it is stopped.

    Its token is new, and stands neither on a command line nor in an environment, where
    other users of this machine could read it. There is no terminal, lists of files end
    at the folder, and neither Jupyter nor its kernels are told our passphrase. A kernel
    is a program of the user's all the same, and reads what the user can.

    Parameters
    ----------
    folder : pathlib.Path
        The topmost folder that is shown.
    file : str
        Name of the workbook in it to open; the list of files where it is empty.
    options : str
        Options of Notebook's own.
    """
    with TemporaryDirectory(prefix="clampbook-") as own:
        token = {"IdentityProvider": {"token": secrets.token_hex(32)}}
        settings = Path(own) / "jupyter_server_config.json"
        write_private(settings, json.dumps(token).encode())
        # Our own interpreter, and files that this command has written.
        subprocess.run(  # noqa: S603
            _command(folder, file, *options),
            cwd=folder,
            env=_environment(own),
            check=False,
        )


def _command(folder: Path, file: str, *options: str) -> list[str]:
    extension = f"--JupyterNotebookApp.extra_labextensions_path={EXTENSIONS}"
    root = f"--ServerApp.root_dir={folder.resolve()}"
    files = [file] if file else []
    command = [sys.executable, "-m", "notebook", *files, extension, root, *_ALONE]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        # Jupyter refuses to start for root, as in a container, unless told.
        command.append("--allow-root")
    return [*command, *options]


def _environment(own: str) -> dict[str, str]:
    """Jupyter's settings: ours before those of this computer, and none of its user's.

    Theirs may open it to others, or take another token.
    """
    surroundings = plain_environment()
    earlier = filter(None, [surroundings.get(_PATH)])
    path = os.pathsep.join([str(SETTINGS), *earlier])
    return surroundings | {_PATH: path, "JUPYTER_CONFIG_DIR": own}
