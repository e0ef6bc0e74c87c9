"""A real JupyterLab on a free loopback port, with folders of its own."""

import json
import os
import secrets
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from generator.writing.site.shared import EXTENSIONS

PROJECT = Path(__file__).parents[2]
START_S = 60.0
NO_NEWS = {
    "@jupyterlab/apputils-extension:notification": {
        "fetchNews": "false",
        "checkForUpdates": False,
    },
}


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
    """

    url: str
    token: str
    folder: Path

    def address(self, path, app="lab/tree"):
        """The page of one notebook below the served folder."""
        return f"{self.url}/{app}/{path}?token={self.token}&reset"

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

    def signal_kernel(self, path, number):
        """Send a signal to the process of a notebook's kernel."""
        kernel = self.kernels()[str(path)]["id"]
        for process in Path("/proc").glob("[0-9]*"):
            words = _command_line(process)
            if "ipykernel_launcher" in words and kernel in words:
                os.kill(int(process.name), number)


@contextmanager
def jupyter_server(folder, state):
    """Run JupyterLab on `folder`, with its own settings under `state`.

    Nothing of the user's own Jupyter settings is read or changed.
    """
    port, token = free_port(), secrets.token_hex(8)
    server = Server(url=f"http://127.0.0.1:{port}", token=token, folder=folder)
    with (state / "server.log").open("wb") as log:
        process = subprocess.Popen(
            _command(port, token, folder, _settings(state)),
            env=_environment(state),
            cwd=folder,
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        try:
            _wait_until_up(server, process, state / "server.log")
            yield server
        finally:
            _stop(process)


def _stop(process):
    """End the server, by force where it does not end by itself."""
    process.terminate()
    try:
        process.wait(timeout=20)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait(timeout=20)


def _command_line(process):
    """How a process was started; empty if it has just ended."""
    try:
        return (process / "cmdline").read_text()
    except OSError:
        return ""


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _settings(state):
    folder = state / "lab" / "settings"
    folder.mkdir(parents=True)
    (folder / "overrides.json").write_text(json.dumps(NO_NEWS))
    return folder


def _command(port, token, folder, settings):
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
        f"--LabApp.app_settings_dir={settings}",
        "--LabApp.extension_manager=readonly",
    ]


def _environment(state):
    own = {
        "JUPYTER_CONFIG_DIR": state / "config",
        "JUPYTER_DATA_DIR": state / "data",
        "JUPYTER_RUNTIME_DIR": state / "runtime",
        "IPYTHONDIR": state / "ipython",
        "JUPYTERLAB_WORKSPACES_DIR": state / "workspaces",
        "JUPYTERLAB_SETTINGS_DIR": state / "user-settings",
        "PYTHONPATH": PROJECT,
        # The page extension, as an installed wheel brings it.
        "JUPYTER_PATH": EXTENSIONS.parent,
    }
    return os.environ | {name: str(value) for name, value in own.items()}


def _wait_until_up(server, process, log):
    """Wait for the first answer; a server that ends instead shows its log."""
    deadline = time.monotonic() + START_S
    while time.monotonic() < deadline and process.poll() is None:
        try:
            server.kernels()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise RuntimeError(f"JupyterLab did not start:\n{log.read_text()}")
