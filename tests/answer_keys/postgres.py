"""A PostgreSQL server for the tests: a private one, in a folder of its own."""

import os
import shutil
import subprocess
import tempfile
from contextlib import contextmanager
from itertools import count
from pathlib import Path

FOLDERS = "/usr/lib/postgresql/*/bin"
# The server refuses to run as root: any user without rights will do.
USER = "nobody"


def programs():
    """Where the server's programs are, or None."""
    installed = sorted(Path("/").glob(FOLDERS[1:]))
    found = shutil.which("initdb")
    if found is not None:
        installed.append(Path(found).resolve().parent)
    return installed[-1] if installed else None


class Server:
    """A running server that makes databases."""

    def __init__(self, folder, run, *, is_synced=False):
        self.folder = folder
        self._run = run
        self._is_synced = is_synced
        self._numbers = count(1)

    def start(self):
        """Start it, without network."""
        options = f"-c listen_addresses='' -c unix_socket_directories={self.folder}"
        options += "" if self._is_synced else " -F"
        log = self.folder / "log"
        self._control("-o", options, "-l", log, "-w", "start")

    def stop(self):
        """Stop it as a power cut would; what it was asked to keep, it keeps."""
        self._control("-m", "immediate", "-w", "stop")

    def _control(self, *arguments):
        self._run("pg_ctl", "-D", self.folder / "data", *arguments)

    def new_database(self):
        """Address of a new, empty database."""
        name = f"book{next(self._numbers)}"
        self._run("createdb", "-h", self.folder, "-U", "postgres", name)
        return f"postgresql+psycopg://postgres@/{name}?host={self.folder}"


@contextmanager
def postgres_server(*, is_synced=False):
    """Start a server without network, and stop it at the end.

    One that is not synced is quicker: it trusts the system with what it has written.
    """
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        other = {}
        if os.geteuid() == 0:
            shutil.chown(folder, USER)
            other = {"user": USER, "group": "nogroup"}

        def run(program, *arguments):
            subprocess.run(
                [programs() / program, *map(str, arguments)],
                check=True,
                capture_output=True,
                cwd=folder,
                **other,
            )

        data = folder / "data"
        run(
            "initdb", "-D", data, "-U", "postgres", "-A", "trust", "--no-sync", "-EUTF8"
        )
        server = Server(folder, run, is_synced=is_synced)
        server.start()
        try:
            yield server
        finally:
            server.stop()
