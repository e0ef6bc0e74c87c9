"""Mark some of the hand-ins of a class, far from the folder that they lie in.

A program of its own does it (`generator.classes.work.crew`): a worker of a cluster may
start no processes, and none of it should ever read what a student has written.
"""

from __future__ import annotations

import subprocess
import sys

from msgspec import msgpack

from answer_keys.errors import AnswerKeysError
from generator.classes.shipping import Shipment
from generator.surroundings import plain_environment

# No module of the folder that a worker was started in may stand in for ours.
_PROGRAM = (sys.executable, "-P", "-m", "generator.classes.work.crew")


def do(shipment: Shipment) -> bytes:
    """Mark what was shipped; give a `Marked` for each file, in MessagePack.

    Raises
    ------
    AnswerKeysError
        Where the program does not run here.
    """
    done = subprocess.run(  # noqa: S603 - our own program, told everything by its input
        _PROGRAM,
        input=msgpack.encode(shipment),
        capture_output=True,
        check=False,
        env=plain_environment(),
    )
    if done.returncode != 0:
        last = done.stderr.decode(errors="replace").strip().splitlines()[-1:]
        raise AnswerKeysError(f"the program that marks broke down: {' '.join(last)}")
    return done.stdout
