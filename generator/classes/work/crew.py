"""The program that marks shipped hand-ins in a crew of processes with limits.

``python -m generator.classes.work.crew`` reads a `Shipment` from standard input and
writes what was marked to standard output, both in MessagePack.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from msgspec import msgpack

from generator.classes.shipping import Shipment
from generator.grading.processes import mark_in_processes


def main() -> None:
    """Mark what standard input ships."""
    shipment = msgpack.decode(sys.stdin.buffer.read(), type=Shipment)
    with TemporaryDirectory(prefix="clampbook-hand-ins-") as name:
        folder = Path(name)
        for file in shipment.files:
            path = folder / os.fsdecode(file.name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(file.data)
            os.utime(path, ns=(file.modified_ns, file.modified_ns))
        marked = list(mark_in_processes(shipment.marker, folder))
    sys.stdout.buffer.write(msgpack.encode(marked))


if __name__ == "__main__":
    main()
