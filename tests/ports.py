"""Ports for servers that start somewhat later than they are given one."""

import random
import socket

# Below what Linux hands out by itself (32768 to 60999), so that no connection of
# another program takes the port before its server does.
_PORTS = range(20_000, 32_000)


def free_port():
    """A port of this machine that nobody listens on."""
    while True:
        port = random.SystemRandom().choice(_PORTS)
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
        return port
