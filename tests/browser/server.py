"""A real JupyterLab on a free loopback port, with folders of its own."""

import json
import os
import secrets
import signal
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from generator.serving.jupyter import SETTINGS
from generator.site.shared import EXTENSIONS
from tests.ports import free_port

PROJECT = Path(__file__).parents[2]
START_S = 60.0
WATCHED = Path(__file__).parent / "watched"
# Kernels listen on sockets of the file system: another program may take a TCP port
# between its choice and the kernel's start, and where it is that of the outputs,
# Jupyter waits for them for ever.
OWN_SETTINGS = Path(__file__).parent / "settings"
ASKED = "others-asked.txt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A running server.

    Attributes
    ----------
    url : str
        Without a slash at its end.
    token : str
        What the server asks for.
    folder : Path
        What it serves.
    state : Path
        What it writes itself.
    """

    url: str
    token: str
    folder: Path
    state: Path

    def address(self, path, app="lab/tree"):
        """The page of one notebook below the served folder."""
        return f"{self.url}/{app}/{path}?token={self.token}&reset"

    def told_token(self):
        """The token that a running Jupyter has noted for its own user."""
        (file,) = (self.state / "runtime").glob("jpserver-*.json")
        return json.loads(file.read_text("utf-8"))["token"]

    def kernels(self):
        """The kernels of the notebooks that are open, by path."""
        request = f"{self.url}/api/sessions?token={self.token}"
        with urllib.request.urlopen(request, timeout=10) as answer:
            return {each["path"]: each["kernel"] for each in json.load(answer)}

    def is_connected(self, path):
        """Whether a page is connected to the idle kernel of a notebook."""
        kernel = self.kernels().get(str(path), {})
        is_idle = kernel.get("execution_state") == "idle"
        return is_idle and kernel["connections"] > 0

    def asked(self):
        """The other computers that the server and its kernels have looked for."""
        file = self.state / ASKED
        return set(file.read_text("utf-8").split()) if file.exists() else set()

    def signal_kernel(self, path, number):
        """Send a signal to the process of a notebook's kernel."""
        kernel = self.kernels()[str(path)]["id"]
        for process in Path("/proc").glob("[0-9]*"):
            words = _command_line(process)
            if "ipykernel_launcher" in words and kernel in words:
                os.kill(int(process.name), number)


@contextmanager
def jupyter_server(folder, state, settings=SETTINGS):
    """Run JupyterLab on `folder`, with our settings, or with none where they are "".

    Nothing of the user's own Jupyter settings is read or changed.
    """
    port, token = free_port(), secrets.token_hex(8)
    url = f"http://127.0.0.1:{port}"
    server = Server(url=url, token=token, folder=folder, state=state)
    own = {"JUPYTER_CONFIG_PATH": f"{settings}{os.pathsep}{OWN_SETTINGS}"}
    with running(server, _command(port, token, folder, state), own):
        yield server


@contextmanager
def running(server, command, own=None):
    """Run what serves, wait until it is up, and end it."""
    with _runtime(server.state), (server.state / "server.log").open("wb") as log:
        process = subprocess.Popen(
            command,
            env=_environment(server.state) | (own or {}),
            cwd=server.folder,
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        try:
            _wait_until_up(server, process)
            yield
        finally:
            _stop(process)


@contextmanager
def _runtime(state):
    """A folder for sockets, whose names may have a hundred characters at most."""
    with TemporaryDirectory(prefix="cb-") as short:
        (state / "runtime").symlink_to(short)
        yield
        (state / "runtime").unlink()


def _stop(process):
    """End the server, by force where it does not end by itself."""
    # Also what it has started: the command `serve` is not Jupyter itself.
    os.killpg(process.pid, signal.SIGTERM)
    try:
        process.wait(timeout=20)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=20)


def _command_line(process):
    """How a process was started; empty if it has just ended."""
    try:
        return (process / "cmdline").read_text()
    except OSError:
        return ""


def _command(port, token, folder, state):
    return [
        sys.executable,
        "-m",
        "jupyterlab",
        "--allow-root",
        "--no-browser",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={token}",
        f"--ServerApp.root_dir={folder}",
        f"--LabApp.app_settings_dir={state / 'lab-settings'}",
        # For tests that change the theme.
        "--LabApp.expose_app_in_browser=True",
        "--JupyterNotebookApp.expose_app_in_browser=True",
    ]


def _environment(state):
    own = {
        "JUPYTER_CONFIG_DIR": state / "config",
        "JUPYTER_DATA_DIR": state / "data",
        "JUPYTER_RUNTIME_DIR": (state / "runtime").resolve(),
        "JUPYTER_CONFIG_PATH": OWN_SETTINGS,
        "IPYTHONDIR": state / "ipython",
        "JUPYTERLAB_WORKSPACES_DIR": state / "workspaces",
        "JUPYTERLAB_SETTINGS_DIR": state / "user-settings",
        "PYTHONPATH": f"{PROJECT}{os.pathsep}{WATCHED}",
        "OTHERS_ASKED": state / ASKED,
        # A program that opens no page.
        "BROWSER": "true",
        # The page extension, as an installed wheel brings it.
        "JUPYTER_PATH": EXTENSIONS.parent,
    }
    return os.environ | {name: str(value) for name, value in own.items()}


def _wait_until_up(server, process):
    """Wait for the first answer; a server that ends instead shows its log."""
    deadline = time.monotonic() + START_S
    while time.monotonic() < deadline and process.poll() is None:
        try:
            urllib.request.urlopen(f"{server.url}/api", timeout=10).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    log = (server.state / "server.log").read_text()
    raise RuntimeError(f"JupyterLab did not start:\n{log}")
