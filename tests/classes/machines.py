"""A real dask cluster of this machine: a scheduler and workers, each a process."""

import os
import subprocess
import sys
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event

from generator.classes.keys import Pair, write_keys
from tests.ports import free_port

ROOT = Path(__file__).parents[2]
PROGRAM = "from generator.cli import main\nif __name__ == '__main__':\n    main()\n"
PATIENCE_S = 240
_TICK_S = 0.02


def until(holds, patience_s=PATIENCE_S):
    """Wait until something holds; what it gives."""
    for _ in range(int(patience_s / _TICK_S)):
        if found := holds():
            return found
        Event().wait(_TICK_S)
    raise AssertionError("it never came to hold")


@dataclass
class Machines:
    """A cluster whose machines are started and killed one by one.

    ``log`` has what they say, ``bewitched`` whether some files break their readers.
    """

    folder: Path
    bewitched: bool = False
    running: list = field(default_factory=list)
    port: int = field(default_factory=free_port)

    def __post_init__(self):
        self.keys = write_keys(self.folder / "keys")
        self.program = self.folder / "clampbook.py"
        self.program.write_text(PROGRAM)

    @property
    def host(self):
        return f"127.0.0.1:{self.port}"

    @property
    def asked(self):
        """What ``classes`` is asked so that these machines work."""
        return (
            f"--cluster={self.host}",
            f"--certificates={self.keys['client'].key.parent}",
        )

    def scheduler(self, role="scheduler"):
        """Start the scheduler."""
        return self._dask(
            role,
            "scheduler",
            "--protocol=tls",
            "--host=127.0.0.1",
            f"--port={self.port}",
        )

    def worker(self):
        """Start a worker of one thread, without a nanny that would start it again."""
        name = self.folder / f"worker-{len(self.running)}"
        return self._dask(
            "worker",
            "worker",
            f"tls://{self.host}",
            "--no-nanny",
            "--nthreads=1",
            "--host=127.0.0.1",
            f"--local-directory={name}",
        )

    def _dask(self, role, *asked):
        pair = self.keys[role]
        shown = (
            "--no-dashboard",
            f"--tls-ca-file={pair.authority}",
            f"--tls-cert={pair.certificate}",
            f"--tls-key={pair.key}",
        )
        return self._start(sys.executable, "-m", "dask", *asked, *shown)

    def client(self, folder, *asked):
        """Start ``clampbook classes`` with these machines."""
        plan = str(folder / "plan.toml")
        return self._start(
            sys.executable, self.program, "classes", plan, *self.asked, *asked
        )

    def _start(self, *command):
        paths = [str(ROOT)]
        environment = dict(os.environ)
        environment.pop("CLAMPBOOK_PASSPHRASE", None)
        if self.bewitched:
            paths.insert(0, str(ROOT / "tests" / "classes" / "bewitched"))
            environment["BEWITCHED"] = "1"
        environment["PYTHONPATH"] = os.pathsep.join(paths)
        number = len(self.running)
        with (self.folder / f"{number}.log").open("wb") as log:
            process = subprocess.Popen(
                [str(word) for word in command],
                stdout=log,
                stderr=subprocess.STDOUT,
                env=environment,
                cwd=self.folder,
            )
        process.log = self.folder / f"{number}.log"
        self.running.append(process)
        return process

    def end(self):
        """Kill what still runs."""
        for process in self.running:
            with suppress(OSError):
                process.kill()
            process.wait()


@contextmanager
def machines(folder, **how):
    """A cluster that ends with this block."""
    folder.mkdir()
    its = Machines(folder, **how)
    try:
        yield its
    finally:
        its.end()


def other_pair(folder):
    """What somebody shows who has made an authority of their own."""
    return Pair.in_folder(write_keys(folder)["client"].key.parent)
