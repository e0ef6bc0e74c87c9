"""Python reads this when it starts: notes every other computer that it looks for.

None is asked: the attempt ends in an error. The server and its kernels, all started
with this folder in PYTHONPATH, write into one file, whose name the environment gives.

References
----------
Python's table of audit events, https://docs.python.org/3/library/audit_events.html,
from memory.
"""

import ipaddress
import os
import sys
from pathlib import Path

_FILE = os.environ.get("OTHERS_ASKED")
_SEEN = {
    "socket.getaddrinfo": lambda host, *_: host,
    "socket.gethostbyname": lambda host: host,
    "socket.connect": lambda _, address: address[0],
    "socket.sendto": lambda _, address: address[0],
}


def _is_here(host):
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host in ("", "localhost")


def _note(event, given):
    host = _SEEN[event](*given) if event in _SEEN else None
    # Sockets of the file system have names of files.
    if (
        isinstance(host, str)
        and len(host) > 1
        and "/" not in host
        and not _is_here(host)
    ):
        with Path(_FILE).open("a", encoding="utf-8") as file:
            file.write(f"{host}\n")
        raise OSError(f"tests ask no other computer, such as {host}")


if _FILE:
    sys.addaudithook(_note)
